"""Runs in which things are seen not to be dead, as few as are found by asking for many at once.

Each was found by the solver, is walked with numbers, and is replayed through the Amaranth modules
before anybody sees it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.dead import Happening, happenings
from breadproof.verify.prove.ends import find_ends
from breadproof.verify.prove.engine import Engine
from breadproof.verify.prove.extract import TraceMismatch, extract
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.lively import MAX_STEPS
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.witness import rounds_of


@dataclass(frozen=True, slots=True)
class Shown:
    """A run, and the names of what happens in it."""

    names: tuple[str, ...]
    trace: Trace


def named_happenings(machine: Machine, names: Sequence[str]) -> dict[str, Happening]:
    """Those that have these names."""
    wanted = set(names)
    return {one.name: one for one in happenings(machine, find_ends(machine)) if one.name in wanted}


def violations(found: dict[str, Happening]) -> dict[str, Callable[[Aig, Moment], int]]:
    """That something happens at a moment or in the rounds before it, as a property's violation."""
    return {name: one.literal for name, one in found.items()}


def shown_in_runs(
    machine: Machine, rounds: int, names: Sequence[str], seconds: float
) -> Iterator[Shown]:
    """Runs that show what happens of these, in so much time; each thing is in one of them.

    Raises:
        TraceMismatch: a run does not show what it was found for (our error).
    """
    left = named_happenings(machine, names)
    engine = Engine(machine, rounds, seconds)
    deadline = Deadline(seconds)
    for steps in range(1, MAX_STEPS + 1):
        if not left or deadline.left <= 0:
            return
        engine.reach(steps)
        while left and deadline.left > 0:
            found = _one_run(engine, left, steps, deadline)
            if found is None:
                break
            for name in found.names:
                del left[name]
            yield found


def _one_run(
    engine: Engine, left: dict[str, Happening], steps: int, deadline: Deadline
) -> Shown | None:
    """A run of so many steps in which as many things happen as one after the other allows."""
    aig, moments = engine.frames.aig, engine.frames.moments[: steps + 1]
    happens = {n: aig.or_([one.literal(aig, m) for m in moments]) for n, one in left.items()}
    taken: dict[str, int] = {}
    while len(taken) < len(happens):
        rest = {name: literal for name, literal in happens.items() if name not in taken}
        wanted = [engine.frames.initial, *taken.values(), aig.or_([*rest.values()])]
        if engine.solver.check(wanted, deadline.left) != "sat":
            break
        values = engine.solver.values(sorted(set(rest.values())))
        taken |= {name: literal for name, literal in rest.items() if values[literal]}
    if not taken:
        return None
    again = [engine.frames.initial, *taken.values()]
    if engine.solver.check(again, deadline.left) != "sat":
        return None
    trace = extract(engine.frames, engine.solver, moments)
    walked = rounds_of(engine.machine, trace)
    for name in taken:
        if walked is None or not happened(left[name], walked):
            raise TraceMismatch(f"the run that was found for {name} does not show it")
    return Shown(tuple(taken), trace)


def happened(one: Happening, walked: Sequence[Sequence[Round[int]]]) -> bool:
    """Whether it happens in the rounds of a run that was walked with numbers."""
    for rounds in walked:
        for now in rounds:
            levels = now.levels
            if any(levels[node] for node in one.nodes):
                return True
            if any(levels[bit.leaf] != levels[bit.next] for bit in one.bits):
                return True
    return False
