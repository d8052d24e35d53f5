"""Chips against Python at length, and how much of a part's formulas its rows notice."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from breadproof.verify.rows.ways import machine_of
from tests.against.faults import Rows, node_faults
from tests.against.model import follow
from tests.against.test_models import MODELS
from tests.rows.judging import LARGE, NUMBERS, placed


@pytest.mark.parametrize("number", MODELS)
def test_models_at_length(number: str) -> None:
    """As `tests.against.test_models`, with other seeds and longer runs."""
    for seed in (1, 2, 3):
        follow(number, MODELS[number], 64, 500, seed)


LEAST = 0.9
"""Of the nodes of a part's formulas, stuck low or high, its rows notice so many. What they do not
is hold conditions of single bits, which the seeds of a run happen to miss, and terms that are drawn
for their delay alone."""


def formulas() -> Iterator[str]:
    """Chips whose formulas are not too many for one run."""
    return (number for number in NUMBERS if number not in LARGE)


@pytest.mark.parametrize("number", formulas())
def test_rows_notice_wrong_formulas(number: str) -> None:
    chip = placed(number)
    machine = machine_of([chip])
    rows = Rows(chip=chip, machine=machine, nodes=tuple(node_faults(machine)))
    rows.run()
    assert len(rows.missed_nodes()) <= (1 - LEAST) * len(rows.nodes)
