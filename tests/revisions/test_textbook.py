"""What textbooks call equal is proved to be the same; with one mistake in it, it is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.verify.revisions.compare import Wanted
from tests.revisions.agreement import compared
from tests.revisions.textbook import LAWS


def fates(folder: Path, one: str, two: str, *, reset: bool) -> set[str]:
    """What becomes of the outputs, levels alone."""
    paths = [folder / "one.yaml", folder / "two.yaml"]
    for path, text in zip(paths, (one, two), strict=True):
        path.write_text(text, "utf-8")
    wanted = Wanted(proofs=False, outside=True, start="reset" if reset else "power-up")
    found = compared(paths[0], paths[1], wanted)
    assert found.answered is not None
    return set(found.answered.fates.values())


@pytest.mark.parametrize("name", LAWS)
def test_laws(tmp_path: Path, name: str) -> None:
    law = LAWS[name]
    assert fates(tmp_path, law.one, law.two, reset=law.reset) == {"same"}
    assert fates(tmp_path, law.two, law.one, reset=law.reset) == {"same"}
    assert "differs" in fates(tmp_path, law.one, law.wrong, reset=law.reset)
