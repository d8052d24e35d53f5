"""What formulas' memories imply about the board: clauses found by guessing and proving.

Storage alone needs no invariant (it powers up holding anything), but what a formula remembers is
tied to the board ("after the write the done flag is set"). All clauses "remembered bit is so ->
bit of storage, control or memory of another formula is so" are guessed; those that one step does
not keep are dropped until the rest keep each other (Flanagan and Leino 2001). Sound: what remains
holds at the first step and is kept by every step.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Deadline, Solver

MAX_CLAUSES = 40_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Invariants:
    """Literals on the first moment of the chain that may be assumed there."""

    literals: tuple[int, ...]
    questions: tuple[str, ...]


Clause = tuple[tuple[int, int], tuple[int, int]]
"""Two (leaf, level): if the first leaf has its level, so has the second."""


def find_invariants(machine: Machine, rounds: int, chain: Frames, deadline: Deadline) -> Invariants:
    """The clauses that hold in every run, as literals of the first moment of ``chain``."""
    frames = Frames(machine)
    solver = Solver(frames.aig)
    first = frames.first()
    frames.step(rounds)
    for literal in frames.take_constraints():
        solver.require(literal)
    clauses = list(_guesses(machine, first))
    if len(clauses) > MAX_CLAUSES:
        return Invariants(literals=(), questions=())
    clauses, base = _drop(frames, solver, clauses, 0, [frames.initial], deadline)
    kept, proof = _keep(frames, solver, clauses, deadline)
    moment = chain.moments[0]
    return Invariants(
        literals=tuple(_literal(chain, clause, _levels(moment)) for clause in kept),
        questions=(base, proof) if kept else (),
    )


def _levels(moment: Moment) -> dict[int, int]:
    """The literals of storage, loops, controls and memories of formulas at a moment."""
    return {**moment.store, **moment.loops, **moment.controls, **moment.monitors}


def _guesses(machine: Machine, first: Moment) -> Iterator[Clause]:
    others = [*first.store, *first.loops, *first.controls, *first.monitors]
    for monitor in machine.logic.monitors:
        for level in (0, 1):
            for other in others:
                if other != monitor.leaf:
                    yield ((monitor.leaf, level), (other, 0))
                    yield ((monitor.leaf, level), (other, 1))


def _literal(frames: Frames, clause: Clause, levels: dict[int, int]) -> int:
    (left, left_level), (right, right_level) = clause
    if left not in levels or right not in levels:
        return Aig.true
    first = levels[left] ^ 1 ^ left_level
    second = levels[right] ^ 1 ^ right_level
    return frames.aig.or_([first ^ 1, second])


def _drop(
    frames: Frames,
    solver: Solver,
    clauses: list[Clause],
    moment: int,
    assumptions: list[int],
    deadline: Deadline,
) -> tuple[list[Clause], str]:
    """The clauses that hold at a moment under the assumptions; all are dropped if undecided."""
    levels = _moment_levels(frames, moment)
    while clauses:
        literals = {clause: _literal(frames, clause, levels) for clause in clauses}
        broken = frames.aig.and_(sorted(set(literals.values()))) ^ 1
        answer = solver.check([*assumptions, broken], deadline.left)
        if answer == "unsat":
            return clauses, solver.question([*assumptions, broken])
        if answer == "unknown":
            return [], ""
        values = solver.values(sorted(set(levels.values())))
        clauses = [clause for clause in clauses if _holds(clause, levels, values)]
    return [], ""


def _moment_levels(frames: Frames, number: int) -> dict[int, int]:
    moment = frames.moments[number]
    levels = _levels(moment)
    if number:
        last = moment.rounds[-1].levels
        levels.update(
            {
                leaf: last[leaf]
                for loop in frames.machine.loops
                if loop.holds
                for leaf in loop.leaves
            }
        )
    return levels


def _holds(clause: Clause, levels: dict[int, int], values: dict[int, int]) -> bool:
    (left, left_level), (right, right_level) = clause
    return values[levels[left]] != left_level or values[levels[right]] == right_level


def _keep(
    frames: Frames, solver: Solver, clauses: list[Clause], deadline: Deadline
) -> tuple[list[Clause], str]:
    """The largest set of clauses that one step keeps."""
    while clauses:
        levels = _moment_levels(frames, 0)
        assumed = frames.aig.and_(sorted({_literal(frames, clause, levels) for clause in clauses}))
        count = len(clauses)
        clauses, proof = _drop(frames, solver, clauses, 1, [assumed], deadline)
        if len(clauses) == count:
            return clauses, proof
    return [], ""
