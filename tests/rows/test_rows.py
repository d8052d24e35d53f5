"""Every chip that ships does what the rows of its data sheet say, whichever way it is run.

Source: the data-book tables that each table of rows in specs/parts names.
"""

import pytest

from tests.rows import chips
from tests.rows.judging import NUMBERS, placed, run_all

SHIPPED = (
    "00", "02", "04", "08", "10", "11", "14", "20", "21", "27", "30", "32", "74", "86", "125",
    "126", "138", "139", "151", "153", "157", "158", "161", "163", "164", "165", "173", "174",
    "175", "189", "240", "241", "244", "245", "257", "273", "283", "373", "374", "377", "541",
    "573", "574", "6116", "28C16",
)  # fmt: skip
"""The chips that have to be there."""


def test_every_chip_is_there() -> None:
    assert set(NUMBERS) >= set(SHIPPED)


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("way", chips.WAYS)
def test_rows(way: str, number: str) -> None:
    """The proofs, in which any content is tried, get fewer ways to fill X cells here; the long
    tests run them all."""
    run_all(placed(number), chips.WAYS[way](number), fewer=way == "proofs")


@pytest.mark.parametrize("number", NUMBERS)
def test_rows_in_icarus(number: str, iverilog: str) -> None:
    run_all(placed(number), chips.in_icarus(number, iverilog))
