"""Of the runs of one length that break a property, a simple one: few changes, things at zero.

How many changes of controls it takes at least is found exactly, if time allows: a run with fewer is
asked for until there is none (a cardinality constraint: Sinz 2005, a sequential counter). Then each
control at the start is wished to be at rest and each bit of storage to be low, and wishes that
leave a run stand.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.solver import Deadline, Solver

FEWEST_SECONDS = 2.0
LOW_SECONDS = 0.5
"""Longer it is not asked for fewer changes, and for low levels."""


def simplest(frames: Frames, solver: Solver, bad: int, steps: int, seconds: float) -> bool | None:
    """Ask until the last model is a simple run of ``steps`` steps in which ``bad`` holds.

    Whether no run of that length changes fewer controls (False: not known); None if there is no
    model at last: the solver may run out of time or break down.
    """
    wishes = [frames.initial, bad]
    proved = _few_changes(frames, solver, wishes, steps, Deadline(min(FEWEST_SECONDS, seconds)))
    deadline = Deadline(min(LOW_SECONDS, seconds))
    chunks = [list(dict.fromkeys(literal ^ 1 for literal in _levels(frames) if literal > 1))]
    while chunks and deadline.left > 0:
        chunk = chunks.pop()
        if solver.check([*wishes, *chunk], deadline.left) == "sat":
            wishes += chunk
        elif len(chunk) > 1:
            half = len(chunk) // 2
            chunks += [chunk[half:], chunk[:half]]
    return proved if solver.check(wishes, seconds) == "sat" else None


def changes(frames: Frames, steps: int) -> list[int]:
    """The literals of "this control changes in this step"."""
    aig, controls = frames.aig, frames.machine.controls
    return [
        aig.or_([aig.xor(before.controls[n], after.controls[n]) for n in leaves])
        for before, after in itertools.pairwise(frames.moments[: steps + 1])
        for leaves in controls.values()
    ]


def at_least(aig: Aig, literals: Sequence[int], most: int) -> list[int]:
    """For k from 0 to ``most``: whether at least k of the literals hold."""
    counts = [Aig.true, *([Aig.false] * most)]
    for literal in literals:
        for k in range(most, 0, -1):
            counts[k] = aig.or_([counts[k], aig.and2(counts[k - 1], literal)])
    return counts


def _few_changes(
    frames: Frames, solver: Solver, wishes: list[int], steps: int, deadline: Deadline
) -> bool:
    """Add to the wishes that no more controls change than must; whether that is proved."""
    moves = [literal for literal in changes(frames, steps) if literal != Aig.false]
    if not moves:
        return True
    if solver.check(wishes, deadline.left) != "sat":
        return False
    number = _count(solver, moves)
    counts = at_least(frames.aig, moves, number + 1)
    proved = False
    while not proved:
        answer = "unsat"
        if number:
            answer = solver.check([*wishes, counts[number] ^ 1], deadline.left)
        if answer == "unknown":
            break
        proved = answer == "unsat"
        if not proved:
            number = _count(solver, moves)
    wishes.append(counts[number + 1] ^ 1)
    return proved


def _count(solver: Solver, literals: Sequence[int]) -> int:
    """How many of the literals hold in the last model."""
    values = solver.values(sorted(set(literals)))
    return sum(values[literal] for literal in literals)


def _levels(frames: Frames) -> Iterable[int]:
    """What is rather not so at the start: controls that are on or between positions, storage at 1.

    A change-over switch is wished to be in its first position.
    """
    start, machine = frames.moments[0].controls, frames.machine
    for control in machine.netlist.controls:
        leaves = [start[leaf] for leaf in machine.controls[control.name] if leaf in start]
        if control.exclusive and leaves:
            yield frames.aig.or_(leaves) ^ 1
            leaves = leaves[1:]
        yield from leaves
    yield from frames.moments[0].start_store.values()
