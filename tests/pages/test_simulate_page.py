"""The page of a script that was played: how it ended, and what the board does by hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.pictures.reading import of_class, parsed
from tests.stimulus.boards import SCRIPT

from .made import simulated_page
from .reading import Read, come_in_order


@pytest.fixture(scope="module")
def text(pages: dict[str, Path]) -> str:
    return pages["simulate"].read_text("utf-8")


def _svg(text: str, after: str) -> str:
    """The first drawing behind some words."""
    found = re.search(r"<svg .*?</svg>", text[text.index(after) :], re.DOTALL)
    assert found is not None
    return found[0]


def test_a_check_that_fails_comes_first(text: str) -> None:
    """The counter stands at 1 when the script's own checks are over; D1 is lit while it counts."""
    said = Read(text).words()
    order = [
        "a check fails",
        "Where it ends",
        "check at: 2, D1: 1",
        "Looked at Expected Got at 4'h2 4'h1",
        "Checks of the script",
        "It is not so",
        "1 more stands behind that in the script.",
        "Waves",
        "Steps",
        "What the memories hold at the end",
        "The board at the end",
        "What this rests on",
        "One run was played, not all",
    ]
    assert come_in_order(said, order)
    assert "D1 1" not in said[said.index("Looked at") : said.index("Checks of the script")]
    assert said.count("\N{CHECK MARK} holds") == 6
    assert said.count("\N{MULTIPLICATION X} fails") == 1


def test_the_waves_show_the_last_level_and_where_it_fails(text: str) -> None:
    halves = text[text.index('<div class="waves">') :]
    tree = parsed(_svg(halves, 'aria-label="Waves of the run"'))
    shaded = of_class(tree, "w-differs")
    assert len(shaded) == 1
    assert "fails here" in [one.text for one in of_class(tree, "w-says")]
    names = [one.text for one in parsed(_svg(halves, '<div class="waves">')).iter() if one.text]
    for name in ("MODE", "SW[4:1]", "TAKE", "CK", "at", "bus", "D1"):
        assert name in names
    row = names.index("at")
    assert float(shaded[0].get("y", "")) == 30 + 30 * (row - 1) + 1  # rows of 30 pixels


def test_a_memory_shows_the_words_that_are_others_than_at_power_on(text: str) -> None:
    """TAKE stores 1010 at 0 and, with all switches closed, 1111 at 2; bits 7 to 4 are open."""
    dump = re.search(r'<table class="dump mono">.*?</table>', text, re.DOTALL)
    assert dump is not None
    words = re.findall(r"<mark>(..)</mark>", dump[0])
    assert [word[1] for word in words] == ["A", "F"]
    assert dump[0].count("<tr>") == 1
    assert "U4.M 2048 words of 8 bits; 2 other than at power-on" in Read(text).words()


def test_lamps_that_are_lit_shine(tmp_path: Path, text: str) -> None:
    assert len(of_class(parsed(_svg(text, 'class="board"')), "b-shines")) == 1
    script = SCRIPT + "  - drive: {MODE: HOLD}\n"
    dark = simulated_page(tmp_path, script=script)
    assert of_class(parsed(_svg(dark, 'class="board"')), "b-shines") == []
    said = Read(dark).words()
    assert "the script came to its end" in said
    assert "5 checks: all hold; 111 steps" in said
    assert "Where it ends" not in said


def test_what_fails_is_marked_on_the_board(text: str) -> None:
    """Q0 and Q1 of the 163 drive the two bits of 1 and 2 that differ; all four are looked at."""
    tree = parsed(_svg(text, 'class="board"'))
    titles = [one.text or "" for one in tree.iter("{http://www.w3.org/2000/svg}title") if one.text]
    marked = [title for title in titles if "at: expected 4'h2, got 4'h1" in title]
    assert [title.partition(" ")[0] for title in marked] == ["U2.11", "U2.12", "U2.13", "U2.14"]
