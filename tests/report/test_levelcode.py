"""Levels as lines of code are the levels that the settler gives, which other evaluators check."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import TraceRound
from breadproof.specs.machine.walk import Walker
from breadproof.verify.report.levelcode import LevelCode

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"


class _Kept(Walker):
    levels: list[list[int]]

    def record(self, now: Round[int]) -> TraceRound:
        self.levels.append([now.levels[node] for node in self.machine.order if node >= 0])
        return super().record(now)


def _walked(machine: Machine, quick: bool, seed: int) -> list[list[int]]:
    chosen = random.Random(seed)
    walker = _Kept(machine, free=lambda reader: len(reader) % 2)
    # What is chosen for a loop changes all the time: it must not matter while the loop is decided.
    walker.choice = lambda loop, cut: len(walker.levels) % 2
    walker.levels = []
    if quick:
        walker.settler = LevelCode(machine)
    walker.storage = {store.label: chosen.randint(0, 1) for store in machine.stores}
    walker.power_up(8)
    for _ in range(8):
        control = chosen.choice(machine.netlist.controls)
        bits = [0] * len(control.bits)
        bits[chosen.randrange(len(bits))] = chosen.randint(0, 1)
        walker.step({control.name: tuple(bits)}, 6)
    return walker.levels


@pytest.mark.parametrize("board", ["light-store", "sequencer", "twins/enable-open", "quick-store"])
def test_levels_are_those_of_the_settler(board: str) -> None:
    machine = load_machine(BOARDS / f"{board}.yaml")
    quick = _walked(machine, True, 1)
    assert quick == _walked(machine, False, 1)
    assert len({tuple(levels) for levels in quick}) > 8
