"""Waves as drawn show the levels that the diagram has."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from breadproof.verify.pictures.waves import Mark, Waves, wave_file
from breadproof.verify.report.timing import Diagram, Row

from .reading import SVG, corners, height_at, of_class, parsed, texts


def _diagram(*rows: Row, wrong: int = -1) -> Diagram:
    columns = len(rows[0].values)
    return Diagram(
        titles=("start", *(str(k) for k in range(1, columns))),
        rounds=tuple(range(columns)),
        rows=rows,
        wrong=wrong,
        left_out=0,
    )


def _wave(label: str, values: str) -> Row:
    return Row(label=label, nets=(0,), wave=True, values=tuple(values))


@settings(max_examples=40)
@given(st.lists(st.text("01XZ-", min_size=6, max_size=6), min_size=1, max_size=4))
def test_levels_can_be_read_off_the_lines(rows: list[str]) -> None:
    picture = _diagram(*(_wave(f"n{k}", values) for k, values in enumerate(rows)))
    tree = parsed(wave_file(picture, "a run"))
    column = Waves(picture).column
    lines = [one.get("d", "") for one in of_class(tree, "w-wave")]
    dashes = [one.get("d", "") for one in of_class(tree, "w-float") + of_class(tree, "w-idle")]
    zigzag = [one.get("d", "") for one in of_class(tree, "w-fight")]
    for place, values in enumerate(rows):
        middle = 30 + 30 * place + 15  # a head of 30 pixels, rows of 30
        for at, value in enumerate(values):
            x = 8 + column * (at + 0.5)  # a lead of 8 pixels
            here = [y for d in lines if (y := height_at(d, x)) and abs(y - middle) < 15]
            flat = [y for d in dashes if (y := height_at(d, x)) and abs(y - middle) < 15]
            wild = [y for d in zigzag if (y := height_at(d, x)) and abs(y - middle) < 15]
            shown = {
                "0": (len(here), len(flat), len(wild)) == (1, 0, 0) and here[0] > middle,
                "1": (len(here), len(flat), len(wild)) == (1, 0, 0) and here[0] < middle,
                "Z": (len(here), len(flat), len(wild)) == (0, 1, 0),
                "-": (len(here), len(flat), len(wild)) == (0, 1, 0),
                "X": (len(here), len(flat), len(wild)) == (0, 0, 1),
            }
            assert shown[value], (values, at)


def test_what_is_no_level_is_said_in_words_too() -> None:
    tree = parsed(wave_file(_diagram(_wave("bus", "0XZ-")), "a run"))
    titles = [one.text for one in tree.iter(f"{SVG}title")]
    assert titles == ["a run", "fought over", "floats", "does not matter"]


def test_a_word_is_written_once_a_stretch() -> None:
    row = Row(label="MODE", nets=(), wave=False, values=("SET", "SET", "SHOW"))
    tree = parsed(wave_file(_diagram(row), "a run"))
    assert texts(tree) == ["step", "MODE", "start", "1", "2", "SET", "SHOW"]
    first, second = of_class(tree, "w-word")
    ends = [max(x for x, _ in corners(one.get("d", ""))) for one in (first, second)]
    assert (ends[0] - 8) * 3 == (ends[1] - 8) * 2


def test_marks_are_numbered_and_joined_by_arrows() -> None:
    picture = _diagram(_wave("a", "01"), _wave("b", "10"), wrong=1)
    marks = (Mark(number=1, row="a", at=1), Mark(number=2, row="b", at=1, source=1))
    tree = parsed(wave_file(picture, "a run", marks))
    assert [one.text for one in of_class(tree, "w-number")] == ["1", "2"]
    assert len(of_class(tree, "w-link")) == 1
    assert len(of_class(tree, "w-wrong")) == 1
    assert "here" in texts(tree)


def test_what_a_name_holds_cannot_break_the_file() -> None:
    row = Row(label='<a&"b>', nets=(), wave=False, values=("\x1b[31m",))
    tree = parsed(wave_file(_diagram(row), "</title><script>\x00"))
    assert '<a&"b>' in texts(tree)
    assert not list(tree.iter(f"{SVG}script"))


def test_the_same_run_gives_the_same_bytes() -> None:
    picture = _diagram(_wave("a", "0110"))
    assert wave_file(picture, "a") == wave_file(picture, "a")


def test_words_beside_numbers_stay_in_their_column() -> None:
    """Two numbers of 16 pixels stand before the word; letters are 7.2 pixels wide (12 px
    monospaced, common practice)."""
    rows = (
        _wave("a", "01"),
        Row(label="bus", nets=(0,), wave=False, values=("00", "b01ZZ01ZZ")),
    )
    picture = _diagram(*rows)
    marks = [Mark(number=k, row="bus", at=1, source=0, start="") for k in (1, 2)]
    drawn = Waves(picture, marks)
    tree = parsed(wave_file(picture, "a run", marks))
    (word,) = (one for one in tree.iter(f"{SVG}text") if one.text == "b01ZZ01ZZ")
    assert float(word.get("x", "")) + 9 * 7.2 <= 8 + 2 * drawn.column
    assert {"b01ZZ01ZZ"} <= set(texts(tree))
