"""The prover's tests at length: 300 random boards, 6,000 formulas, light-store's questions."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from tests.prove.test_brute import agree, random_machine
from tests.prove.test_formulas import compare
from tests.prove.test_questions import confirmed


@pytest.mark.parametrize("seed", range(5_000, 5_300))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    """As `tests.prove.test_brute`: the source is the search of all quiet moments."""
    agree(random_machine(tmp_path, Random(seed)))


@pytest.mark.parametrize("seed", range(7_000, 7_200))
def test_random_formulas(tmp_path: Path, seed: int) -> None:
    """As `tests.prove.test_formulas`: the source is IEEE 1850-2010's weak view."""
    assert compare(tmp_path, seed, 30, 8, 9) > 0


def test_light_store() -> None:
    """bitwuzla says "unsat" to each of the light store's proofs."""
    with as_file(files("breadproof.specs.boards")) as folder:
        assert confirmed(load_machine(folder / "light-store.yaml"), 60.0) >= 3
