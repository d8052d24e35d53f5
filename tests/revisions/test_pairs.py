"""The corpus of revisions: what is to be said of each pair of its `pairs.yaml`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from breadproof.verify.report.page import PLAIN
from breadproof.verify.revisions import alike
from breadproof.verify.revisions.compare import Wanted
from breadproof.verify.revisions.start import Start
from breadproof.verify.revisions.text import text
from tests.revisions.agreement import compared, different_ports
from tests.revisions.modules import MODULES

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"
PAIRS: dict[str, dict[str, Any]] = yaml.safe_load((FOLDER / "pairs.yaml").read_text("utf-8"))[
    "pairs"
]
SCREEN = 40
"""Lines of a terminal, and a few."""


def boards(name: str) -> tuple[Path, Path]:
    old, new = PAIRS[name]["boards"]
    return FOLDER / f"{old}.yaml", FOLDER / f"{new}.yaml"


def test_every_board_of_the_folder_is_compared_with_something() -> None:
    files = {path.stem for path in FOLDER.glob("*.yaml")} - {"pairs"}
    paired = {board for pair in PAIRS.values() for board in pair["boards"]}
    assert files == paired | {module.board for module in MODULES.values()}


@pytest.mark.parametrize("name", PAIRS)
def test_pair(name: str) -> None:
    pair = PAIRS[name]
    start = "reset" if pair.get("after") == "reset" else "power-up"
    found = compared(
        *boards(name),
        Wanted(start=start, periods=pair.get("latency", 0)),  # type: ignore[arg-type]
    )
    assert found.verdict == pair["verdict"]
    assert found.behaviour == pair["levels"]
    if pair["levels"] == "differs":
        assert found.answered is not None
        assert found.answered.difference is not None
        assert pair["shown"] in found.answered.difference.items
        assert found.answered.difference.steps == pair["steps"]
    screen = text(found, PLAIN, ("old", "new"))
    assert len(screen.splitlines()) <= SCREEN
    for line in pair["told"]:
        assert line in " ".join(screen.split()), line


def test_what_has_another_name_is_found_by_going_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without guesses from runs there is no proof, and nothing is claimed."""
    monkeypatch.setattr(alike, "guesses", lambda *_: ())
    monkeypatch.setattr(alike, "STROLL_SECONDS", 0.5)
    found = compared(*boards("another-register"), Wanted(start="reset", proofs=False))
    assert (found.behaviour, found.verdict) == ("undecided", "undecided")


DIFFERENT = [
    name for name, pair in PAIRS.items() if pair["levels"] == "differs" and not pair.get("latency")
]


@pytest.mark.parametrize("name", DIFFERENT)
def test_where_no_shortest_run_is_found_any_will_do(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """By chance; it is walked and replayed as the shortest is, and is no shorter."""
    pair = PAIRS[name]
    monkeypatch.setattr(alike, "MAX_STEPS", -1)
    monkeypatch.setattr(alike, "SOON", -1)
    start: Start = "reset" if pair.get("after") == "reset" else "power-up"
    found = compared(*boards(name), Wanted(start=start, proofs=False))
    assert found.answered is not None
    difference = found.answered.difference
    assert difference is not None
    assert not difference.shortest
    assert difference.steps >= pair["steps"]
    said = text(found, PLAIN, ("old", "new"))
    assert ("perhaps earlier" in said) is (difference.steps > 0)
    assert "no shorter run" not in said


@pytest.mark.parametrize(
    ("name", "content", "different"),
    [
        ("de-morgan", "", set()),
        ("clear-moved", "old.U1.R == new.U1.R", set()),  # but some content is no first moment
        ("adder-in-gates", "", set()),
        ("arithmetic-unit", "", set()),
        ("table-in-gates", "", set()),
        ("table-mended", "", {"most"}),
        ("one-hole-over", "old.U1.R == new.U1.R", {"q", "first_n"}),
        ("gray-code", "old.U1.R == new.U1.R", {"scene"}),
        ("gray-code", "old.U1.R == 0 && new.U1.R == 0", set()),
        ("counter-chip", "old.U1.R == 0 && new.U1.R == 0", set()),
        ("another-register", "old.U1.R == 0 && new.U1.R1 == 0 && new.U1.R2 == 0", set()),
        ("another-register", "old.U1.R == 0 && new.U1.R1 == 1 && new.U1.R2 == 0", {"slow"}),
    ],
)
def test_another_model_checker(
    tmp_path: Path, berkeley_abc: str, name: str, content: str, different: set[str]
) -> None:
    """ABC on both boards as one machine says of the ports what the corpus says."""
    copies = []
    for which, path in zip(("old", "new"), boards(name), strict=True):
        copies.append(tmp_path / f"{which}-board.yaml")
        copies[-1].write_text(path.read_text("utf-8"), "utf-8")
    assert different_ports(tmp_path, copies[0], copies[1], content, berkeley_abc) == different
