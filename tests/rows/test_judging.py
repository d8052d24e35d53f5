"""The rows' tests can fail: a cell that is changed is found in every way, and nothing is left out.

The changes are made to the expectations, so that the chips stay as they are.
"""

import dataclasses
from random import Random

import pytest

from breadproof.specs.catalogue.part import RowTable
from breadproof.verify.rows.judging import PinSeen, Trial, trials
from tests.rows import chips
from tests.rows.judging import CATALOGUE, Way, WrongRow, every_row, looked_at, placed

NUMBERS = ("157", "151", "245", "173", "74", "373", "189", "6116", "28C16", "4053")
"""Chips of every kind: gates, three-state, both ways, register, latch, memory, ROM, switches."""
OTHER = {"H": "L", "L": "H", "Z": "H", "=": "!", "!": "="}


def changed(trial: Trial, dice: Random) -> tuple[Trial, int]:
    """The run with one cell's bit changed, and the line of its row."""
    places = [n for n, stimulus in enumerate(trial.run) if stimulus.expect]
    place = dice.choice(places)
    stimulus = trial.run[place]
    expect = list(stimulus.expect)
    bit = dice.randrange(len(expect))
    name, says = expect[bit]
    expect[bit] = (name, OTHER[says])
    run = list(trial.run)
    run[place] = dataclasses.replace(stimulus, expect=tuple(expect))
    return dataclasses.replace(trial, run=tuple(run)), stimulus.span.line


def finds_every_change(number: str, way: Way) -> None:
    dice = Random(number)
    tried = 0
    for trial in trials(placed(number)):
        wrong, line = changed(trial, dice)
        with pytest.raises(WrongRow, match=rf"{number}\.yaml:{line}: "):
            way(wrong)
        tried += 1
    assert tried > 0


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("way", chips.WAYS)
def test_changed_cell_is_found(way: str, number: str) -> None:
    finds_every_change(number, chips.WAYS[way](number))


@pytest.mark.parametrize("number", NUMBERS)
def test_changed_cell_is_found_in_icarus(number: str, iverilog: str) -> None:
    finds_every_change(number, chips.in_icarus(number, iverilog))


def test_message_shows_the_row() -> None:
    trial = trials(placed("00"))[0]
    first = trial.run[0]
    wrong = dataclasses.replace(first, expect=(("Y1", "H"),))
    assert first.expect == (("Y1", "L"),)
    with pytest.raises(WrongRow) as found:
        chips.in_machine("00")(dataclasses.replace(trial, run=(wrong,)))
    place, columns, row, made = str(found.value).splitlines()
    assert place.endswith(f"00.yaml:{first.span.line}: Y1 is to be H: L")
    assert columns.split() == ["columns", "A#", "B#", "|", "Y#"]
    assert row.split() == ["row", "H", "H", "|", "L"]
    assert made.split() == ["run", "0,", "set", "A1=1", "B1=1"]


def test_part_without_rows_fails() -> None:
    part = dataclasses.replace(CATALOGUE.part("00"), rows=())
    with pytest.raises(AssertionError, match="00 has no rows"):
        every_row(part, set())


def test_way_that_runs_nothing_fails() -> None:
    part = CATALOGUE.part("00")
    with pytest.raises(AssertionError, match="00: no row was run"):
        every_row(part, set())


def test_row_that_is_left_out_is_named() -> None:
    part = CATALOGUE.part("00")
    first, *others = sorted(looked_at(part), key=lambda span: span.line)
    with pytest.raises(AssertionError, match=rf"the rows of lines \[{first.line}\] were not run"):
        every_row(part, set(others))


def test_row_of_which_nothing_is_looked_at_does_not_count() -> None:
    """The first row of a table whose outputs are all X says nothing."""
    part = CATALOGUE.part("00")
    table: RowTable = part.rows[0]
    left, _ = table.table[0]
    silent = dataclasses.replace(table, table=((left, ("X",)), *table.table[1:]))
    assert looked_at(dataclasses.replace(part, rows=(silent,))) == set(table.spans[1:])


@pytest.mark.parametrize(
    ("seen", "letter"),
    [
        (PinSeen(drives=True, level=1, net=1, outside=None), "H"),
        (PinSeen(drives=True, level=0, net=0, outside=None), "L"),
        (PinSeen(drives=False, level=1, net=0, outside=None), "Z"),
        (PinSeen(drives=False, level=1, net=0, outside=0), "Z"),
        (PinSeen(drives=False, level=1, net=1, outside=1), "Z"),
    ],
)
def test_letters_of_pins(seen: PinSeen, letter: str) -> None:
    assert seen.letter() == letter


@pytest.mark.parametrize(
    "seen",
    [
        PinSeen(drives=True, level=1, net=0, outside=None),
        PinSeen(drives=True, level=1, net=1, outside=1),
        PinSeen(drives=False, level=1, net=1, outside=0),
    ],
)
def test_pin_that_does_not_go_with_its_net_is_no_letter(seen: PinSeen) -> None:
    assert len(seen.letter()) > 1
