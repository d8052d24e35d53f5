"""What is said not to matter in a run: all runs that are otherwise like it are searched.

The search (`tests.support.brute`) knows all runs of a small board and nothing of the prover; the
formulas go forward by IEEE 1850-2010 (`finite_traces`).
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.trace import DontCare, Trace
from breadproof.verify.prove.dontcare import Lifting
from breadproof.verify.prove.prover import prove_board
from tests.prove.boards import formulas, small
from tests.prove.test_brute import load
from tests.support.brute import Explorer, Formulas, Key, Space, Step
from tests.support.finite_traces import Progress, State, Violated


def like(step: Step, trace: Trace, idle: DontCare, place: int) -> bool:
    """Whether a step is like that of the run, but for controls that do not matter."""
    controls: Mapping[str, tuple[int, ...]] = dict(step.to[0])  # type: ignore[call-overload]
    return all(
        controls[name] == bits or place in idle.controls.get(name, ())
        for name, bits in trace.steps[place].controls.items()
    )


def begins_like(step: Step, trace: Trace, idle: DontCare) -> bool:
    """Whether the storage of a first moment is that of the run, where it matters."""
    for part, units in step.to[1]:  # type: ignore[attr-defined]  # the second entry of a key
        for unit, word in units:
            for bit, level in enumerate(word):
                label = f"{part}.{unit}[{bit}]"
                if label not in idle.storage and level != trace.storage[label]:
                    return False
    return True


def escapes(space: Space, formula: s.Expr, cover: bool, trace: Trace, idle: DontCare) -> int:
    """How many runs like this one there are, by their ends; none may be without the violation."""
    target = s.Always(operand=formula, never=True, stretch=formula.stretch) if cover else formula
    search, work = Formulas(space, []), Progress(target)
    here: dict[tuple[Key, State], Step] = {}
    level = [(one, work.start()) for one in space.first if begins_like(one, trace, idle)]
    shown = 0
    for place in range(len(trace.steps)):
        here = {}
        for step, state in level:
            if not like(step, trace, idle, place):
                continue
            try:
                here[step.to, work.step(state, search.read(step, place == 0))] = step
            except Violated:
                assert place == len(trace.steps) - 1, "a shorter run breaks it"
                shown += 1
        level = [(step, state) for key, state in here for step in space.steps[key]]
    assert not here, "a run like it does not break it"
    return shown


# Boards without memories, floating readers and loops: what the run has of these is not left open.
@pytest.mark.parametrize("name", ["one flip-flop", "gated clock", "two clock gates in a row"])
def test_all_runs_like_it(tmp_path: Path, name: str) -> None:
    made = small(tmp_path, name)
    machine = load(made, formulas(made, Random(f"{name} idle"), 8))
    assert (machine.memories, machine.free, machine.loops) == ((), {}, ())
    space = Explorer(machine.netlist, []).explore()
    rounds, results = prove_board(machine, seconds=10)
    by_name = {formula.name: formula for formula in machine.netlist.formulas}
    lifting, blanked, several = Lifting(machine, rounds), 0, 0
    for result in results:
        if result.name not in by_name or result.trace is None:
            continue
        idle = lifting.of(result.name, result.trace, 5)
        assert idle is not None
        expr, cover = by_name[result.name].expr, result.kind == "cover"
        shown = escapes(space, expr, cover, result.trace, idle)
        assert shown >= 1
        blanked += bool(idle.controls) + bool(idle.storage)
        several += shown > 1
    assert blanked >= 3
    assert several >= 2
