"""Chips with storage against Python models, one input at a time, under seeded chance.

Source: the words and function tables of the data books, from memory, as the models say them.
"""

import pytest

from tests.against import (
    buses,
    counters,
    counters_more,
    fifos,
    kin,
    memories,
    pulses,
    registers,
    registers_more,
    shifts,
)
from tests.against.model import Model, follow

MODELS: dict[str, type[Model]] = {
    **registers.CHIPS,
    **registers_more.CHIPS,
    **counters.CHIPS,
    **counters_more.CHIPS,
    **shifts.CHIPS,
    **buses.CHIPS,
    **memories.CHIPS,
    **pulses.CHIPS,
    **kin.CHIPS,
}
LANES = 32
LANES_OF_BUSES = 12
"""They have no content that takes long to reach, and many pins."""
STEPS = 300


@pytest.mark.parametrize("number", MODELS)
def test_model(number: str) -> None:
    lanes = LANES_OF_BUSES if number in buses.CHIPS else LANES
    follow(number, MODELS[number], lanes, STEPS, 0)


KIN = {"161": "160", "163": "161", "323": "299", "374": "564", "191": "190", "645": "640"}
"""A chip, and one with the same pins that does something else."""


@pytest.mark.parametrize("number", KIN)
def test_another_chip_is_not_taken_for_it(number: str) -> None:
    with pytest.raises(AssertionError):
        follow(number, MODELS[KIN[number]], LANES, STEPS, 0)


def test_a_first_in_first_out_memory() -> None:
    """Long enough that lanes are full, and that words wait for room."""
    chip = fifos.Fifo40105
    chip.most = chip.late = 0
    follow("40105", chip, 16, 1500, 0)
    assert chip.most == fifos.DEPTH
    assert chip.late > 10
