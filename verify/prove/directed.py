"""A property that induction gave up: a property-directed search, and what it comes to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.cubes import Step, words_matter
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.inductive import Inductive, fewer
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.pdr import GaveUp, Reached, Search
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.solver import Deadline

FEWER = 0.25
"""The part of the time left that goes into a smaller invariant, and is kept back to check it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """``invariant`` comes with "never", and the ``questions`` that confirmed it.

    With "reached" there is a run of ``steps`` steps, not shown since a shorter one may do.
    """

    verdict: Literal["never", "reached", "undecided"]
    because: str = ""
    steps: int = 0
    invariant: tuple[Clause, ...] = ()
    questions: tuple[tuple[str, str], ...] = ()


def search_directed(
    machine: Machine,
    rounds: int,
    node: int,
    bad: Callable[[Moment], int],
    deadline: Deadline,
    progress: Callable[[str], None] = lambda text: None,
) -> Found:
    """Search for an invariant that keeps ``bad`` from any moment of any run, and check it.

    ``node`` is what ``bad`` looks at, FALSE for a standing check; ``rounds`` the proved number
    that a step takes. Nothing is searched where the words of a memory may matter.
    """
    if words_matter(machine, node):
        return Found(verdict="undecided", because="the words of a memory may matter")
    one = Inductive(machine, rounds, remembered(machine, node), bad)
    step = Step(machine, rounds, one.monitors)
    left = deadline.left
    try:
        search = Search(step, bad(step.second), Deadline(left * (1 - FEWER)), progress)
        clauses = search.run()
    except GaveUp as error:
        return Found(verdict="undecided", because=str(error))
    except Reached as error:
        return Found(verdict="reached", steps=error.steps)
    clauses = fewer(one, clauses, Deadline(deadline.left * FEWER))
    checked = one.check(clauses, deadline)
    if checked.answer != "unsat":
        return Found(verdict="undecided", because=f"its invariant is not confirmed: {checked.why}")
    return Found(verdict="never", invariant=tuple(clauses), questions=checked.questions)
