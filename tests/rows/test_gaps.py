"""The rows of every chip look at all of it: no input that could stand still, no output unexercised.

An input whose level could be held low or high all the time without any row coming out otherwise is
not known to be an input at all, whatever the equations say.
"""

import dataclasses

import pytest

from breadproof.specs.catalogue.part import PinKind
from breadproof.verify.rows.gaps import Gap, inputs, unexercised, unnoticed
from breadproof.verify.rows.judging import trials
from breadproof.verify.rows.ways import OnMachine
from tests.catalogue.support import PART, changed, read
from tests.rows.chips import machine
from tests.rows.judging import NUMBERS, placed

NOT_KNOWN = {("4060", "X"): "a moment for a level that the book does not tell"}
"""Inputs of which no row can say anything."""


@pytest.mark.parametrize("number", NUMBERS)
def test_no_output_is_left_unexercised(number: str) -> None:
    assert unexercised(placed(number).part) == ()


@pytest.mark.parametrize("number", NUMBERS[::10])
def test_every_input_is_shown_to_matter(number: str) -> None:
    """Of some chips; `tests.against.test_rows_tell` has it of all, with other means, and the long
    tests have it of all with these."""
    every_input_matters(number)


def every_input_matters(number: str) -> None:
    """Each input, held at each level, makes some row come out otherwise."""
    chip = placed(number)
    subject = OnMachine(chip, machine(number))
    found = list(unnoticed(inputs(chip.part), trials(chip), subject))
    assert [gap for gap in found if (number, gap.pin) not in NOT_KNOWN] == []


def test_an_output_that_is_never_off() -> None:
    """Q1 of the small part is three-state; its one row that has it off is taken away."""
    part = read(changed("      - H X H | L Z =\n", ""))
    found = {gap.pin: gap.what for gap in unexercised(part)}
    assert found == {"Q1": "no row expects it low or off", "Q0": "no row expects it low"}
    assert {gap.pin for gap in unexercised(read(PART))} == {"Q1"}


def test_an_input_that_no_row_shows() -> None:
    """A gate's rows without the one in which B decides: B could be high all the time."""
    chip = placed("00")
    table = chip.part.rows[0]
    keep = [k for k, (left, _) in enumerate(table.table) if left != ("X", "L")]
    assert len(keep) == len(table.table) - 1
    fewer = dataclasses.replace(
        table,
        table=tuple(table.table[k] for k in keep),
        spans=tuple(table.spans[k] for k in keep),
    )
    part = dataclasses.replace(chip.part, rows=(fewer,))
    less = dataclasses.replace(chip, part=part)
    subject = OnMachine(less, machine("00"))
    found = list(unnoticed(inputs(part), trials(less), subject))
    assert found == [
        Gap(pin=f"B{gate}", what="no row comes out otherwise while it is held high")
        for gate in (1, 2, 3, 4)
    ]


def test_inputs_are_what_can_be_set() -> None:
    assert "WE_n" in inputs(placed("6116").part)
    assert "WE_n" not in inputs(placed("28C16").part)
    assert inputs(placed("00").part) == tuple(
        pin.name for pin in placed("00").part.pins if pin.kind is PinKind.IN
    )
