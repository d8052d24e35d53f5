"""Verdicts and shortest runs against two model checkers that read what is exported."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.exchange.agreement import agree
from tests.prove.boards import formulas, small
from tests.prove.test_brute import load, random_machine

FEW = (
    "ripple",
    "latch of two NANDs",
    "bus of two",
    "memory with a moving address",
    "selector with a hazard",
)


@pytest.mark.parametrize("name", FEW)
def test_small_boards(tmp_path: Path, berkeley_abc: str, name: str) -> None:
    made = small(tmp_path, name)
    assert agree(load(made, formulas(made, Random(name), 8)), tmp_path, berkeley_abc) >= 10


def test_random_boards(tmp_path: Path, berkeley_abc: str) -> None:
    """Memories, assumptions and feedback among them; see `tests.long` for five hundred."""
    compared = 0
    for seed in range(25):
        machine = random_machine(tmp_path, Random(40_000 + seed))
        compared += agree(machine, tmp_path, berkeley_abc)
    assert compared >= 200
