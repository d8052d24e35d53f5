"""Running random boards through all witnesses, and keeping count of what was run."""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from tests.random_boards.boards import boards, stimuli
from tests.support.witnesses import Start, Witness, compare

STEPS = 50
Call = Callable[[Machine, Start], Sequence[Witness]]
"""The other witnesses of one board."""


def machine_of(text: str) -> Machine:
    """The machine of a board file's text, through the reader."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text(text, "utf-8")
        return load_machine(path)


def run_one(text: str, seed: int, call: Call, count: Counter[str]) -> None:
    """One board, one run of `STEPS` steps after power-up; raises where two witnesses differ."""
    machine = machine_of(text)
    drawn = stimuli(machine, Random(seed), STEPS)
    seen = compare(machine, drawn, call(machine, drawn.start))
    count["boards"] += 1
    count["chips"] += sum(part.device == "chip" for part in machine.netlist.parts)
    count["whole runs"] += sum(step.quiet is True for step in seen) == STEPS + 1
    count["not quiet"] += sum(step.quiet is False for step in seen)
    count["rounds"] += sum(len(step.rounds) for step in seen if step.quiet)
    count["steps of several rounds"] += sum(len(step.rounds) > 1 for step in seen)
    count["writes"] += sum(bool(step.writes) for step in seen)


def run_many(examples: int, call: Call) -> Counter[str]:
    """That many boards, drawn by Hypothesis."""
    count: Counter[str] = Counter()

    @settings(
        max_examples=examples,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(boards(), st.integers(0, 2**32))
    def run(text: str, seed: int) -> None:
        run_one(text, seed, call, count)

    run()
    return count
