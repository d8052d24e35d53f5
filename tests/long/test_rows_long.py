"""The rows of every chip once more, with many other ways to fill in what a row leaves open."""

import pytest

from tests.rows import chips
from tests.rows.judging import LARGE, NUMBERS, placed, run_all
from tests.rows.test_gaps import every_input_matters

SEEDS = range(11)


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("way", chips.WAYS)
def test_rows(way: str, number: str) -> None:
    ready = chips.WAYS[way](number)
    for seed in SEEDS:
        run_all(placed(number), ready, seed)


@pytest.mark.parametrize("number", NUMBERS)
def test_rows_in_icarus(number: str, iverilog: str) -> None:
    for seed in SEEDS[:1] if number in LARGE else SEEDS:
        run_all(placed(number), chips.in_icarus(number, iverilog, seed), seed)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_input_is_shown_to_matter(number: str) -> None:
    every_input_matters(number)
