"""Known after reset against a search of all states: all small boards, and many random ones."""

from pathlib import Path
from random import Random

import pytest

from tests.prove.boards import SMALL, small
from tests.prove.test_reset import agree, boards, load


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, name: str) -> None:
    agree(load(small(tmp_path, name)))


@pytest.mark.parametrize("seed", range(20))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    assert all(agree(machine) >= 0 for machine in boards(tmp_path, Random(seed), 20))
