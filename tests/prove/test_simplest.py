"""The run that is shown is of the shortest one with the fewest changes: all runs are searched."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.simplest import at_least
from tests.prove.boards import formulas, small
from tests.prove.test_brute import load
from tests.support.brute import Explorer, Formulas, Key, Space, Step
from tests.support.finite_traces import Progress, State, Violated


def changes_of(trace: Trace) -> int:
    """How many times a control changes in a run."""
    pairs = zip(trace.steps, trace.steps[1:], strict=False)
    return sum(
        before.controls[name] != after.controls[name]
        for before, after in pairs
        for name in after.controls
    )


def fewest(space: Space, formula: s.Expr, cover: bool, length: int) -> int | None:
    """The fewest changes of controls in a run that breaks a formula after ``length`` steps."""
    target = s.Always(operand=formula, never=True, stretch=formula.stretch) if cover else formula
    search, work = Formulas(space, []), Progress(target)
    level: dict[tuple[Key, State], int] = {}
    here: list[tuple[Step, State, int]] = [(step, work.start(), 0) for step in space.first]
    for depth in range(length + 1):
        level, broken = {}, list[int]()
        for step, state, count in here:
            try:
                after = work.step(state, search.read(step, depth == 0))
            except Violated:
                broken.append(count)
                continue
            key = (step.to, after)
            level[key] = min(count, level.get(key, count))
        if depth == length:
            return min(broken, default=None)
        here = [
            (step, state, count + moved(key, step.to))
            for (key, state), count in level.items()
            for step in space.steps[key]
        ]
    return None


def moved(before: Key, after: Key) -> int:
    old, new = dict(before[0]), dict(after[0])  # type: ignore[call-overload]  # see `Formulas.read`
    return sum(old[name] != new[name] for name in new)


def compared(folder: Path, name: str, seed: int) -> Counter[int]:
    """Runs of random formulas against the search; how many of each number of changes."""
    made = small(folder, name)
    machine = load(made, formulas(made, Random(f"{name} {seed}"), 8))
    space = Explorer(machine.netlist, list(machine.free)).explore()
    by_name = {formula.name: formula for formula in machine.netlist.formulas}
    found: Counter[int] = Counter()
    for result in prove_board(machine, seconds=10)[1]:
        if result.name in by_name and result.trace is not None:
            assert result.trace.fewest
            expr, cover = by_name[result.name].expr, result.kind == "cover"
            count = changes_of(result.trace)
            assert count == fewest(space, expr, cover, result.steps), result
            found[count] += 1
    return found


@pytest.mark.parametrize(
    "name", ["one flip-flop", "gated clock", "memory", "preset and clear together"]
)
def test_fewest_changes(tmp_path: Path, name: str) -> None:
    found = compared(tmp_path, name, 3)
    assert sum(count for changes, count in found.items() if changes) >= 2


@pytest.mark.parametrize("most", range(5))
def test_at_least(most: int) -> None:
    """All levels of four literals, counted by hand."""
    for code in range(16):
        literals = [(code >> k) & 1 for k in range(4)]
        counts = at_least(Aig(), literals, most)
        assert counts == [int(code.bit_count() >= k) for k in range(most + 1)]
