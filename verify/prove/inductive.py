"""An invariant is believed only after three questions to a solver that knows nothing else.

Whoever found it, the board's step is built anew and asked: do all first quiet moments meet the
invariant (and not break the property)? Does every step from a moment that meets it end in one that
does? Does no such step break the property? Three times "no run does otherwise" is a proof for runs
of any length; anything else is none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import MonitorBit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.cubes import Step
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from breadproof.verify.prove.tracked import Tracked


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """``answer`` is "unsat" if the invariant proves the property; ``why`` tells what fails.

    ``questions`` are those asked, with their names, as SMT-LIB 2, if they are to be told.
    """

    answer: Answer
    why: str
    questions: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Inductive:
    """The three questions about one property of one board; ``rounds``, ``words``, ``checks`` as in
    `Step`.

    With tracked words the last one is about violations that count (see `tracked`).
    """

    machine: Machine
    rounds: int
    monitors: Sequence[MonitorBit]
    bad: Callable[[Moment], int]
    words: Sequence[Tracked] = ()
    checks: bool = True
    tell: bool = False
    """Whether the questions are written out."""

    def step(self) -> Step:
        """The board's step, built anew."""
        return Step(
            self.machine,
            self.rounds,
            self.monitors,
            self.words,
            self.bad,
            checks=self.checks,
        )

    def check(self, clauses: Sequence[Clause], deadline: Deadline) -> Checked:
        """Ask them, on solvers built anew.

        Raises:
            KeyError: a clause names a bit that the board has not.
        """
        step = self.step()
        # a moment from which no step leads must meet the invariant too
        start, go = Solver(step.aig), Solver(step.aig)
        for literal in (*step.here, *step.held):
            start.require(literal)
        for literal in (*step.here, *step.held, *step.there, *step.read):
            go.require(literal)
        holds = step.holds(clauses, step.now)
        lost_first = step.aig.and_(step.holds(clauses, step.now)) ^ 1
        lost_then = step.aig.and_(step.holds(clauses, step.then)) ^ 1
        initial, counted = step.frames.initial, [*holds, step.counts]
        asked: list[tuple[str, str]] = []
        for what, solver, assumptions in (
            ("no first moment breaks it", start, [initial, self.bad(step.first)]),
            ("first moments meet the invariant", start, [initial, lost_first]),
            ("steps keep the invariant", go, [*holds, lost_then]),
            ("no step from the invariant breaks it", go, [*counted, self.bad(step.second)]),
        ):
            answer = refuted(solver, assumptions, deadline.left)
            if answer != "unsat":
                why = solver.reason if answer == "unknown" else f"it is not so that {what}"
                return Checked(answer=answer, why=why, questions=())
            if self.tell and assumptions[-1] != Aig.false:
                asked.append((what, solver.question(assumptions)))
        return Checked(answer="unsat", why="", questions=tuple(asked))


def fewer(
    one: Inductive, step: Step, clauses: Sequence[Clause], deadline: Deadline
) -> list[Clause]:
    """The invariant without clauses that it can do without, as far as time allows.

    ``step`` is one of `Inductive.step`: it need not be built anew for a mere proposal.
    """
    solver = Solver(step.aig)
    for literal in (*step.here, *step.held, *step.there, *step.read):
        solver.require(literal)
    left = list(clauses)
    now = dict(zip(left, step.holds(left, step.now), strict=True))
    then = dict(zip(left, step.holds(left, step.then), strict=True))
    bad = step.aig.and2(step.counts, one.bad(step.second))
    dropped = True
    while dropped:
        dropped = False
        for clause in list(left):
            rest = [other for other in left if other != clause]
            lost = step.aig.or_([bad, *(then[other] ^ 1 for other in rest)])
            question = [*(now[other] for other in rest), lost]
            answer = solver.check(question, deadline.left)
            if answer == "unknown":
                return left
            if answer == "unsat":
                left, dropped = rest, True
    return left
