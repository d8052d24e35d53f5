"""Random pairs of boards against ABC; see `tests.long` for three hundred."""

from __future__ import annotations

from pathlib import Path
from random import Random

from tests.revisions.agreement import agree
from tests.revisions.pairs import miswired, rewritten, sketch

SAME_CONTENT = "old.U1.R == new.U1.R"
SAME_WORDS = " && ".join([SAME_CONTENT, *(f"old.U2.M[{k}] == new.U2.M[{k}]" for k in range(4))])


def check(folder: Path, seed: int, abc: str) -> tuple[bool, bool]:
    """One board rewritten by a law of algebra, which must not differ, and one miswired."""
    random = Random(seed)
    first = sketch(random)
    old = folder / "old.yaml"
    old.write_text(first.text("old"), "utf-8")
    found: list[bool] = []
    for name, second in (("same", rewritten(first, random)), ("other", miswired(first, random))):
        new = folder / f"{name}.yaml"
        new.write_text(second.text("new"), "utf-8")
        content = SAME_WORDS if first.memory else SAME_CONTENT
        found.append(agree(folder, old, new, content, abc))
    return found[0], found[1]


def test_random_pairs(tmp_path: Path, berkeley_abc: str) -> None:
    differ = 0
    for seed in range(3):
        same, other = check(tmp_path, 7_000 + seed, berkeley_abc)
        assert not same
        differ += other
    assert differ >= 1
