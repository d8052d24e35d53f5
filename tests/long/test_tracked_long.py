"""Tracked words of memories, at length (see tests/prove/test_tracked.py)."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.verify.prove import engine
from tests.prove.boards import sketch, small
from tests.prove.directed import asserts
from tests.prove.test_brute import agree, load, random_machine
from tests.prove.test_tracked import LATER, MEMORIES, TAKEN_IN, all_settled, beside_a_memory


@pytest.fixture(autouse=True)
def directed_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever one step does not settle is left to the property-directed search."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    monkeypatch.setattr(engine, "SHALLOW", 0)


@pytest.mark.parametrize("seed", range(12))
def test_sequencers_beside_a_memory(tmp_path: Path, seed: int) -> None:
    beside_a_memory(tmp_path, seed, count=15)


@pytest.mark.parametrize("name", MEMORIES)
@pytest.mark.parametrize("seed", range(20))
def test_small_memories(tmp_path: Path, name: str, seed: int) -> None:
    all_settled(small(tmp_path, name), seed, count=20)


@pytest.mark.parametrize("seed", range(1000, 1400))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    """Those of them that have a memory that is written."""
    machine = random_machine(tmp_path, Random(seed))
    if any(unit.contents is None for unit in machine.memories):
        found = agree(machine)
        assert not found["open"], found


def test_what_was_read_before_an_edge(tmp_path: Path) -> None:
    made = sketch(tmp_path, "U1:9003 U2:9001 U3:9001 U4:9001", TAKEN_IN, "w a d c")
    found = agree(load(made, asserts(LATER)))
    assert not found["open"], found
