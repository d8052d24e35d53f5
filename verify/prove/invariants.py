"""What formulas' memories imply about the board: clauses found by guessing and proving.

Storage alone needs no invariant (it powers up holding anything), but what a formula remembers is
tied to the board ("after the write the done flag is set"). All clauses "remembered bit is set ->
bit of storage, control or memory of another formula is so" are guessed; those that one step does
not keep are dropped until the rest keep each other (Flanagan and Leino 2001). Sound: what remains
holds in the first `DEPTH` moments of every run, and after any `DEPTH` moments in which it holds it
holds in the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Deadline, Solver

MAX_CLAUSES = 40_000
STEP_BEFORE = ("prev", "first", "seen")
DEPTH = 3
"""Moments that are looked back on: what is gathered in a step is exact from the second on, what was
so in the step before from the third."""


Clause = tuple[tuple[int, int], tuple[int, int]]
"""Two (leaf, level): if the first leaf has its level, so has the second."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Invariants:
    """Clauses that hold at every moment of every run, and the questions that proved them."""

    clauses: tuple[Clause, ...]
    questions: tuple[str, ...]


NOTHING = Invariants(clauses=(), questions=())


def find_invariants(
    machine: Machine, rounds: int, wanted: Sequence[int], deadline: Deadline
) -> Invariants:
    """The clauses over what the nodes ``wanted`` rest on that hold at every moment.

    None if time runs out.
    """
    frames = Frames(machine)
    solver = Solver(frames.aig)
    frames.first()
    for _ in range(DEPTH):
        frames.step(rounds)
    for literal in frames.take_constraints():
        solver.require(literal)
    clauses = list(_guesses(machine, frames.moments[0], wanted))
    if len(clauses) > MAX_CLAUSES:
        return NOTHING
    questions: list[str] = []
    for number in range(DEPTH):
        clauses, question = _drop(frames, solver, clauses, number, [frames.initial], deadline)
        questions.append(question)
    clauses, question = _keep(frames, solver, clauses, deadline)
    if not clauses:
        return NOTHING
    return Invariants(clauses=tuple(clauses), questions=(*questions, question))


def clause_literals(frames: Frames, clauses: Sequence[Clause], moment: int) -> list[int]:
    """The clauses as literals of one moment of a chain."""
    levels = _levels(frames, moment)
    return [_literal(frames, clause, levels) for clause in clauses]


def _levels(frames: Frames, number: int) -> dict[int, int]:
    """The literals of storage, loops, controls and memories of formulas after a moment.

    A memory counts as what it hands on to the next step: an obligation that ends in this step
    says nothing of it any more.
    """
    moment = frames.moments[number]
    levels = {**moment.store, **moment.loops, **moment.controls}
    levels |= {m.leaf: moment.values[m.next] for m in frames.machine.logic.monitors}
    last = moment.rounds[-1].levels
    for loop in frames.machine.loops:
        if loop.holds and number:
            levels.update({leaf: last[leaf] for leaf in loop.leaves})
    return levels


def _guesses(machine: Machine, first: Moment, wanted: Sequence[int]) -> Iterator[Clause]:
    memories = remembered(machine, wanted)
    others = [*first.store, *first.loops, *first.controls, *memories]
    for monitor in memories:
        for other in others:
            if other != monitor:
                yield ((monitor, 1), (other, 0))
                yield ((monitor, 1), (other, 1))


def remembered(machine: Machine, wanted: Sequence[int]) -> list[int]:
    """The remembered bits behind the nodes ``wanted`` and behind all assumptions.

    Levels of the step before are left out: they are no history, and the chain has them anyway.
    """
    graph, nexts = machine.graph, {m.leaf: m.next for m in machine.logic.monitors}
    stack = [*wanted, *(f.bad for f in machine.logic.formulas if f.kind == "assume")]
    seen: set[int] = set()
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            stack.extend(graph.operands(node))
            if node in nexts:
                stack.append(nexts[node])
    names = {leaf: graph.leaf_of(leaf) for leaf in nexts if leaf in seen}
    return [n for n, leaf in names.items() if leaf is not None and leaf.name not in STEP_BEFORE]


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
    levels = _levels(frames, moment)
    while clauses:
        literals = {_literal(frames, clause, levels) for clause in clauses}
        broken = frames.aig.and_(sorted(literals)) ^ 1
        answer = solver.check([*assumptions, broken], deadline.left)
        if answer == "unsat":
            return clauses, solver.question([*assumptions, broken])
        if answer == "unknown":
            return [], ""
        values = solver.values(sorted(set(levels.values())))
        clauses = [clause for clause in clauses if _holds(clause, levels, values)]
    return [], ""


def _holds(clause: Clause, levels: dict[int, int], values: dict[int, int]) -> bool:
    (left, left_level), (right, right_level) = clause
    if left not in levels or right not in levels:
        return True
    return values[levels[left]] != left_level or values[levels[right]] == right_level


def _keep(
    frames: Frames, solver: Solver, clauses: list[Clause], deadline: Deadline
) -> tuple[list[Clause], str]:
    """The largest set of clauses that hold wherever they held in the `DEPTH` moments before."""
    while clauses:
        assumed = sorted(
            {
                literal
                for moment in range(DEPTH)
                for literal in clause_literals(frames, clauses, moment)
            }
        )
        count = len(clauses)
        together = frames.aig.and_(assumed)
        clauses, proof = _drop(frames, solver, clauses, DEPTH, [together], deadline)
        if len(clauses) == count:
            return clauses, proof
    return [], ""
