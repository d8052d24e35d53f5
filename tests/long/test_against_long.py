"""Chips against Python at length, and how much of a part's formulas its rows notice."""

from __future__ import annotations

import pytest

from tests.against.faults import rows_of
from tests.against.model import follow
from tests.against.test_models import MODELS
from tests.rows.judging import LARGE, NUMBERS, placed


@pytest.mark.parametrize("number", MODELS)
def test_models_at_length(number: str) -> None:
    """As `tests.against.test_models`, with other seeds and longer runs."""
    for seed in (1, 2, 3):
        follow(number, MODELS[number], 64, 500, seed)


STUCK = 0.92
"""So many of the nodes of a part's formulas, stuck low or high, its rows notice. What they do not
are terms that make no difference once the chip is quiet (an output that is cleared beside its
register), and single bits that hold, where the X cells of the rows have too few values."""
TURNED = 0.96
"""So many of the operands of its formulas, each taken for its inverse."""


DEEP = {"40105"}
"""What no few rows can walk through: its rows notice six of ten. The whole of it is followed by a
model for 1,500 steps (`tests.against.test_models.test_a_first_in_first_out_memory`)."""


@pytest.mark.parametrize("number", [one for one in NUMBERS if one not in {*LARGE, *DEEP}])
def test_rows_notice_wrong_formulas(number: str) -> None:
    rows = rows_of(placed(number), formulas=True)
    assert len(rows.missed_nodes()) <= (1 - STUCK) * len(rows.nodes)
    assert len(rows.missed_edges()) <= (1 - TURNED) * len(rows.edges)
