"""What formulas' memories imply about the board: clauses found by guessing and proving.

Storage alone needs no invariant (it powers up holding anything), but what a formula remembers is
tied to the board ("after the write the done flag is set"). All clauses "remembered bit is set ->
bit of storage, control or memory of another formula is so" are guessed; those that one step does
not keep are dropped until the rest keep each other (Flanagan and Leino 2001). Sound: what remains
holds in the first `DEPTH` moments of every run, and after any `DEPTH` moments in which it holds it
holds in the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.narrow import narrowed
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.cubes import bit_name
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.proof import Clause as NamedClause
from breadproof.verify.prove.second import asked_again
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
    machine: Machine,
    rounds: int,
    wanted: Sequence[int],
    deadline: Deadline,
    *,
    tell: bool = False,
) -> Invariants:
    """The clauses over what the nodes ``wanted`` rest on that hold at every moment.

    None if time runs out. Their questions are written out only with ``tell``.
    """
    machine = narrowed(machine, wanted)
    frames = Frames(machine, checks=False)
    frames.first()
    for _ in range(DEPTH):
        frames.step(rounds)
    clauses = guesses(machine, wanted, {*_levels(frames, 0)})
    if not 0 < len(clauses) <= MAX_CLAUSES:
        return NOTHING
    work = _Dropping(frames, clauses, deadline)
    for number in range(DEPTH):
        work.drop(number, [frames.initial])
    work.keep()
    if not work.clauses:
        return NOTHING
    if not work.confirmed():
        return NOTHING
    questions = map(work.solver.question, work.questions) if tell else ()
    return Invariants(clauses=tuple(work.clauses), questions=tuple(questions))


def clause_literals(frames: Frames, clauses: Sequence[Clause], moment: int) -> list[int]:
    """The clauses as literals of one moment of a chain."""
    levels = _levels(frames, moment)
    return [_literal(frames, clause, levels) for clause in clauses]


def named(machine: Machine, clauses: Sequence[Clause]) -> tuple[NamedClause, ...]:
    """The clauses over the names of bits of the state."""
    graph = machine.graph
    return tuple(
        ((bit_name(graph, left), 1 - left_level), (bit_name(graph, right), right_level))
        for (left, left_level), (right, right_level) in clauses
    )


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


def guesses(machine: Machine, wanted: Sequence[int], known: set[int]) -> list[Clause]:
    """For each node of ``wanted``: its memories against all leaves behind it."""
    found: dict[Clause, None] = {}
    for node in wanted:
        leaves = [leaf for leaf in _behind(machine, node) if leaf in known]
        for memory in leaves:
            leaf = machine.graph.leaf_of(memory)
            if leaf is None or leaf.kind != "monitor":
                continue
            for other in leaves:
                if other != memory:
                    found[(memory, 1), (other, 0)] = None
                    found[(memory, 1), (other, 1)] = None
    return list(found)


def _behind(machine: Machine, root: int) -> list[int]:
    """Storage, loops, controls and memories behind a node, but for what memories of chips hold.

    Levels of the step before are left out: they are no history, and the chain has them anyway.
    """
    graph = machine.graph
    sources: dict[int, tuple[int, ...]] = {store.leaf: (store.next,) for store in machine.stores}
    for loop in machine.loops:
        sources |= dict.fromkeys(loop.leaves, loop.functions)
    sources |= {monitor.leaf: (monitor.next,) for monitor in machine.logic.monitors}
    sources |= {one.leaf: (one.node,) for one in machine.logic.gathered}
    seen: set[int] = set()
    stack = [root]
    while stack:
        node = stack.pop()
        if node in seen:
            continue
        seen.add(node)
        stack.extend(sources.get(node, ()))
        if graph.kinds[node] is not Kind.READ:
            stack.extend(graph.operands(node))
    found: list[int] = []
    for node in sorted(seen):
        leaf = graph.leaf_of(node)
        if leaf is None or (leaf.kind == "monitor" and leaf.name in STEP_BEFORE):
            continue
        if leaf.kind in ("store", "loop", "control", "monitor"):
            found.append(node)
    return found


def _literal(frames: Frames, clause: Clause, levels: dict[int, int]) -> int:
    (left, left_level), (right, right_level) = clause
    if left not in levels or right not in levels:
        return Aig.true
    first = levels[left] ^ 1 ^ left_level
    second = levels[right] ^ 1 ^ right_level
    return frames.aig.or_([first ^ 1, second])


class _Dropping:
    """Clauses that are dropped until the rest is proved; none are left if time runs out.

    Each clause has a switch, so that a question needs no new gates, only other assumptions.
    """

    def __init__(self, frames: Frames, clauses: list[Clause], deadline: Deadline) -> None:
        self.frames = frames
        self.clauses = clauses
        self.deadline = deadline
        self.solver = Solver(frames.aig)
        for literal in frames.take_constraints():
            self.solver.require(literal)
        self.switch = {clause: frames.aig.input() for clause in clauses}
        self.levels = [_levels(frames, moment) for moment in range(DEPTH + 1)]
        self.questions: list[list[int]] = []

    def literals(self, moment: int) -> list[int]:
        """What the clauses that are left say at a moment."""
        return [_literal(self.frames, clause, self.levels[moment]) for clause in self.clauses]

    def drop(self, moment: int, assumptions: list[int]) -> None:
        """Drop what need not hold at a moment under the assumptions."""
        aig, levels = self.frames.aig, self.levels[moment]
        everyone = list(self.clauses)
        broken = aig.or_(
            [
                aig.and2(self.switch[clause], _literal(self.frames, clause, levels) ^ 1)
                for clause in everyone
            ]
        )
        while self.clauses:
            left = set(self.clauses)
            off = [self.switch[clause] ^ 1 for clause in everyone if clause not in left]
            question = [*assumptions, broken, *off]
            answer = self.solver.check(question, self.deadline.left)
            if answer == "unsat":
                self.questions.append(question)
                return
            if answer == "unknown":
                self.clauses = []
                return
            needed = {levels[leaf] for clause in left for leaf, _ in clause if leaf in levels}
            values = self.solver.values(sorted(needed))
            self.clauses = [one for one in self.clauses if _holds(one, levels, values)]

    def keep(self) -> None:
        """Drop until what held in the `DEPTH` moments before holds in the next."""
        while self.clauses:
            count = len(self.clauses)
            assumed = [literal for moment in range(DEPTH) for literal in self.literals(moment)]
            self.drop(DEPTH, list(dict.fromkeys(assumed)))
            if len(self.clauses) == count:
                return
            if self.clauses:
                self.questions.pop()

    def confirmed(self) -> bool:
        """Whether the second solver agrees: a run begins with `DEPTH` moments at which what is left
        holds, and it holds after as many."""
        lost = [self.frames.aig.and_(self.literals(moment)) ^ 1 for moment in range(DEPTH + 1)]
        begin = [self.frames.initial, self.frames.aig.or_(lost[:DEPTH])]
        step = [*(one ^ 1 for one in lost[:DEPTH]), lost[DEPTH]]
        either = self.frames.aig.or_([self.frames.aig.and_(begin), self.frames.aig.and_(step)])
        return asked_again(self.solver, [either], self.deadline.left) == "unsat"


def _holds(clause: Clause, levels: dict[int, int], values: dict[int, int]) -> bool:
    (left, left_level), (right, right_level) = clause
    if left not in levels or right not in levels:
        return True
    return values[levels[left]] != left_level or values[levels[right]] == right_level
