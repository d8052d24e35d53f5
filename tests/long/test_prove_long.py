"""The prover's tests at length: 600 random boards, 6,000 formulas, light-store's questions."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.prove import engine
from tests.prove.boards import SMALL, formulas, small
from tests.prove.test_brute import agree, load, random_machine
from tests.prove.test_directed import all_settled, sequencer_settled
from tests.prove.test_formulas import compare
from tests.prove.test_questions import confirmed


@pytest.mark.parametrize("seed", range(5_000, 5_300))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    """As `tests.prove.test_brute`: the source is the search of all quiet moments."""
    agree(random_machine(tmp_path, Random(seed)))


@pytest.mark.parametrize("seed", range(8_000, 8_300))
def test_random_boards_directed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """As `tests.prove.test_directed`: the same search, with the property-directed prover alone."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    machine = random_machine(tmp_path, Random(seed))
    all_settled(machine, agree(machine))


@pytest.mark.parametrize("name", SMALL)
def test_small_boards_directed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """As above, all boards that were made by hand."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    made = small(tmp_path, name)
    machine = load(made, formulas(made, Random(f"{name}, long"), 12))
    all_settled(machine, agree(machine))


@pytest.mark.parametrize("seed", range(100, 140))
def test_sequencers(tmp_path: Path, seed: int) -> None:
    """As `tests.prove.test_directed`, with 64 states: the source is a search of the table."""
    sequencer_settled(tmp_path, seed, 6, 20)


@pytest.mark.parametrize("seed", range(7_000, 7_200))
def test_random_formulas(tmp_path: Path, seed: int) -> None:
    """As `tests.prove.test_formulas`: the source is IEEE 1850-2010's weak view."""
    assert compare(tmp_path, seed, 30, 8, 9) > 0


def test_light_store() -> None:
    """bitwuzla says "unsat" to each of the light store's proofs."""
    with as_file(files("breadproof.specs.boards")) as folder:
        assert confirmed(load_machine(folder / "light-store.yaml"), 60.0) >= 3
