"""The exported obligations of 500 random boards and of the workshop's boards, run by name."""

from __future__ import annotations

from collections import Counter
from importlib.resources import as_file, files
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from tests.exchange.agreement import agree
from tests.exchange.test_justice import compare
from tests.exchange.test_system import stays_quiet
from tests.exchange.test_three_ways import compared
from tests.prove.boards import SMALL, formulas, small
from tests.prove.test_brute import load, random_machine
from tests.prove.test_endless import random_machine as strong_machine
from tests.support.cut_memories import cut_memories

BOARDS = (
    "light-store.yaml",
    "sequencer.yaml",
    "tempo.yaml",
    "twins/address-crossed.yaml",
    "twins/clear-on-ground.yaml",
    "twins/enable-open.yaml",
    "twins/mode-direct.yaml",
    "twins/strobe-late.yaml",
    "twins/two-enables.yaml",
    "twins/wrong-family.yaml",
)


@pytest.mark.parametrize("seed", range(41_000, 41_500))
def test_random_boards(tmp_path: Path, berkeley_abc: str, seed: int) -> None:
    """As `tests.exchange.test_agreement`."""
    machine = random_machine(tmp_path, Random(seed))
    if agree(machine, tmp_path, berkeley_abc):
        assert stays_quiet(machine, tmp_path, berkeley_abc)


@pytest.mark.parametrize("part", range(20))
def test_three_ways(tmp_path: Path, berkeley_abc: str, part: int) -> None:
    """Five hundred boards, as `tests.exchange.test_three_ways`."""
    first = 44_000 + 25 * part
    assert compared(tmp_path, berkeley_abc, range(first, first + 25))


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, berkeley_abc: str, name: str) -> None:
    """As above, all boards that were made by hand."""
    made = small(tmp_path, name)
    agree(load(made, formulas(made, Random(name), 8)), tmp_path, berkeley_abc)


@pytest.mark.parametrize("seed", range(42_000, 42_100))
def test_strong_formulas(tmp_path: Path, berkeley_abc: str, seed: int) -> None:
    """As `tests.exchange.test_justice`."""
    compare(strong_machine(tmp_path, Random(seed)), tmp_path, berkeley_abc, Counter())


@pytest.mark.parametrize("board", BOARDS)
def test_workshop(tmp_path: Path, berkeley_abc: str, board: str) -> None:
    """The workshop's boards, with at most 16 words in each memory, on both sides."""
    with as_file(files("breadproof.specs.boards")) as folder:
        machine = cut_memories(load_machine(folder / board))
    assert agree(machine, tmp_path, berkeley_abc, 120.0) >= 7
