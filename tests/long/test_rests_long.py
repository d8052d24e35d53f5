"""What proofs rest on, and the fewest changes, on all the small boards and more formulas."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.prove.boards import SMALL
from tests.prove.test_rests import without_the_rest
from tests.prove.test_simplest import compared


@pytest.mark.parametrize("seed", range(10, 15))
def test_the_rest_may_be_anything(tmp_path: Path, seed: int) -> None:
    found: Counter[str] = Counter()
    for number, name in enumerate(SMALL):
        folder = tmp_path / str(number)
        folder.mkdir()
        found += without_the_rest(folder, name, seed)
    assert found["changed"] >= 8


@pytest.mark.parametrize("name", ["ripple", "divider beside its clock", "load at the edge"])
@pytest.mark.parametrize("seed", range(4, 7))
def test_fewest_changes(tmp_path: Path, name: str, seed: int) -> None:
    assert compared(tmp_path, name, seed)
