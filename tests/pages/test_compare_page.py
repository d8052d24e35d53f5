"""The page of a comparison: what is on it is what the two board files and their runs say."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.verify.pages.comparepage import compare_page
from breadproof.verify.revisions.compare import Wanted, compare
from breadproof.verify.revisions.pairdiagram import pair_diagram
from breadproof.verify.revisions.verdicts import Means

from .made import CHASE, compared
from .reading import Read, come_in_order


@pytest.fixture(scope="module")
def text(pages: dict[str, Path]) -> str:
    return pages["compare"].read_text("utf-8")


def test_the_verdict_comes_first_and_all_sections_follow(text: str) -> None:
    said = Read(text).words()
    order = [
        "not the same machine",
        "What changed on the board",
        "What it does",
        "DIFFERENT: q, 1 step after power-up",
        "The run that tells them apart",
        "What is proved",
        "1 worse",
        "The old board: chase.yaml",
        "The new board: chase-moved.yaml",
        "What this rests on",
        "A proof about the logic is no safety case.",
    ]
    assert come_in_order(said, order)


def test_a_change_has_the_lines_of_both_files(text: str) -> None:
    """Line 21 of the one file and line 20 of the other, as an editor counts them."""
    change = re.search(r'<article class="card" id="change-1">.*?</article>', text, re.DOTALL)
    assert change is not None
    said = Read(change[0]).words()
    assert "the cause U1.12 (D2) moved from q[1] to q[0]." in said
    assert "chase.yaml:21 21 - U1.12 to q[1]" in said
    assert "chase-moved.yaml:20 20 - U1.12 to q[0]" in said
    assert '<a href="#old-pin-U1.12">' in change[0]
    assert '<a href="#new-pin-U1.12">' in change[0]


def test_how_the_difference_spreads(tmp_path: Path) -> None:
    """By hand: the third flip-flop of the 175 (D pin 12, Q pin 10) takes in another bit at the
    beat, and what it shows is q[2]; data book, connection diagram, from memory."""
    found = compared(tmp_path)
    assert found.answered is not None
    assert found.answered.difference is not None
    drawn = pair_diagram(found, found.answered.difference)
    (passed,) = drawn.way
    assert (passed.into, passed.out) == ("U1.12", "U1.10")
    assert found.old.nets[passed.net].name == "q[2]"
    assert passed.at[0] == 1
    assert passed.levels == (1, 0)
    rows = {row.label: row.values for row in drawn.picture.rows}
    assert (rows["q[3:0] old"][-1], rows["q[3:0] new"][-1]) == ("5", "1")
    assert (rows["U1.12 old"][0], rows["U1.12 new"][0]) == ("1", "0")
    assert "beat" in rows  # one row: it goes alike on both
    for label, place in drawn.different:
        which = "new" if label.endswith(" old") else "old"
        other = label.rpartition(" ")[0] + f" {which}"
        assert rows[label][place] != rows[other][place]
    for label, values in rows.items():
        other = label.replace(" old", " new")
        if other != label:
            pairs = enumerate(zip(values, rows[other], strict=True))
            apart = {place for place, (a, b) in pairs if a != b}
            assert apart == {place for row, place in drawn.different if row == label}


def test_what_got_worse_has_its_run(text: str) -> None:
    said = Read(text).words()
    assert "follows The light goes on by one. \N{CHECK MARK} holds" in said
    assert "worse , " in said
    assert 'href="#run-follows"' in text
    assert '<details class="run" id="run-follows" open>' in text


def test_a_board_that_is_later_shows_the_two_moments_that_are_not_alike() -> None:
    """Two beats are up, down, up, down: after step 4 the new board shows what the old one did
    before the first of them, at the start; it is one beat later only (pairs.yaml)."""
    boards = [CHASE / f"{name}.yaml" for name in ("crossfade", "crossfade-piped")]
    found = compare(boards[0], boards[1], Wanted(proofs=False, periods=2), Means())
    assert found.answered is not None
    assert found.answered.difference is not None
    drawn = pair_diagram(found, found.answered.difference)
    assert drawn.different == {("s[2:0] old", 0), ("s[2:0] new", 4)}
    rows = {row.label: row.values for row in drawn.picture.rows}
    assert rows["s[2:0] old"][0] != rows["s[2:0] new"][4]
    said = Read(compare_page(found, ("a", "b"))).words()
    assert "was to be alike, the start of the old board and step 4 of the new one." in said


def test_the_wiring_alone(tmp_path: Path) -> None:
    found = compared(tmp_path)
    alone = replace(
        found, wanted=replace(found.wanted, wiring=True), answered=None, parting=None,
        proved=None, runs=None, behaviour="undecided",
    )  # fmt: skip
    said = Read(compare_page(alone, ("a/b.yaml", "c/b.yaml"))).words()
    assert "a/b.yaml and c/b.yaml" in said
    assert "the wiring is not the same" in said
    assert "What it does" not in said


def test_the_same_comparison_gives_the_same_bytes(tmp_path: Path) -> None:
    found = compared(tmp_path)
    assert compare_page(found, ("a", "b")) == compare_page(found, ("a", "b"))


HOLES = """\
board: gate
breadboards: {b1: {tie-points: 400}}
parts:
  U1: {part: 74LS00, at: b1.e3}
wires:
  - VCC to b1.j3
  - GND to b1.a9
  - b1.a3 to b1.a4
  - b1.b5 to b1.a6
names: {in: U1.1, out: U1.3}
ports: {in: in}
"""


def test_a_wire_in_another_hole_is_not_said_to_change_nothing(tmp_path: Path) -> None:
    """Column 4 is pin 2 of a DIP-14 whose pin 1 is in column 3; column 7 is pin 5."""
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    old.write_text(HOLES, "utf-8")
    new.write_text(HOLES.replace("b1.a3 to b1.a4", "b1.a3 to b1.a7"), "utf-8")
    found = compare(old, new, Wanted(), Means())
    said = Read(compare_page(found, paths=("old.yaml", "new.yaml"))).words()
    assert "What changes nothing" not in said
    assert "b1.a3 to b1.a4 is gone b1.a3 to b1.a7 is new" in said
