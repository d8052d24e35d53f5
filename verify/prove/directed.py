"""A property that induction gave up: a property-directed search, and what it comes to.

What memories hold is left open at first, and tracked word by word where that is not enough (see
`tracked`). A run that the search finds is then one of the board only if unrolling says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.narrow import narrowed
from breadproof.verify.prove.cubes import words_matter
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.inductive import Inductive, fewer
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.pdr import GaveUp, Reached, Search
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from breadproof.verify.prove.tracked import LEVELS, Tracked, tracked_words

FEWER = 0.25
"""The part of the time left that goes into a smaller invariant, and is kept back to check it."""

BEYOND = 8
"""Where the search has no answer, so many steps more than its last run has are looked at."""

MAX_UNROLLED = 60
"""A longer run of the search is not looked for on the board."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """``invariant`` comes with "never", and the ``questions`` that confirmed it.

    With "reached" there is a run of ``steps`` steps, not shown since a shorter one may do.
    ``words`` are the tracked words that the invariant speaks of.
    """

    verdict: Literal["never", "reached", "undecided"]
    because: str = ""
    steps: int = 0
    invariant: tuple[Clause, ...] = ()
    questions: tuple[tuple[str, str], ...] = ()
    words: tuple[Tracked, ...] = ()


def search_directed(
    machine: Machine,
    rounds: int,
    node: int,
    bad: Callable[[Moment], int],
    deadline: Deadline,
    progress: Callable[[str], None] = lambda text: None,
    lemmas: Sequence[tuple[Clause, ...]] = (),
    *,
    tell: bool = False,
) -> Found:
    """Search for an invariant that keeps ``bad`` from any moment of any run, and check it.

    ``node`` is what ``bad`` looks at, FALSE for a standing check; ``rounds`` the proved number
    that a step takes. ``lemmas`` are invariants of the board, none of them about tracked words:
    what of them is needed becomes part of the one that is found. ``tell`` has the questions that
    confirm it written out.
    """
    words_count = words_matter(machine, node)
    part = narrowed(machine, [node]) if node and not words_count else machine
    one = Inductive(part, rounds, remembered(part, node), bad, checks=not node, tell=tell)
    if not words_count:
        return _searched(one, False, deadline, progress, lemmas)
    chain = _Chain(one)
    last: tuple[Tracked, ...] | None = None
    for kinds in LEVELS:
        words = tracked_words(machine, node, kinds)
        if words == last or (kinds and not words):
            continue
        last, one.words = words, words
        found = _searched(one, True, deadline, progress, lemmas)
        if found.verdict != "reached":
            return found
        answer = chain.breaks(found.steps, deadline)
        if answer == "sat":
            return replace(found, steps=chain.looked)
        if answer == "unknown":
            because = f"a run of {found.steps} steps may break it: {chain.because}"
            return Found(verdict="undecided", because=because)
        progress("words of memories are tracked")
    if chain.breaks(min(chain.looked + BEYOND, MAX_UNROLLED), deadline) == "sat":
        return Found(verdict="reached", steps=chain.looked)
    because = "no invariant over the words of memories that were tracked"
    return Found(verdict="undecided", because=because)


def _searched(
    one: Inductive,
    memories: bool,
    deadline: Deadline,
    progress: Callable[[str], None],
    lemmas: Sequence[tuple[Clause, ...]],
) -> Found:
    """One search, and its answer checked."""
    step = one.step()
    known = list(dict.fromkeys(clause for some in lemmas if step.has(some) for clause in some))
    share = Deadline(deadline.left * (1 - FEWER))
    try:
        search = Search(step, one.bad(step.second), share, progress, memories=memories)
        search.know(known)
        clauses: Sequence[Clause] = [*search.run(), *known]
    except GaveUp as error:
        return Found(verdict="undecided", because=str(error))
    except Reached as error:
        return Found(verdict="reached", steps=error.steps)
    clauses = fewer(one, step, clauses, Deadline(deadline.left * FEWER))
    checked = one.check(clauses, deadline)
    if checked.answer != "unsat":
        return Found(verdict="undecided", because=f"its invariant is not confirmed: {checked.why}")
    return Found(
        verdict="never",
        invariant=tuple(clauses),
        questions=checked.questions,
        words=tuple(one.words),
    )


class _Chain:
    """The board's runs with all that memories hold. None of ``looked`` steps or fewer breaks it,
    or one of just so many does."""

    def __init__(self, one: Inductive) -> None:
        self.one = one
        self.because = ""
        self.looked = 0
        self.frames: Frames | None = None
        self.solver: Solver | None = None

    def breaks(self, steps: int, deadline: Deadline) -> Answer:
        """Whether a run of the board breaks it in at most so many steps."""
        if steps > MAX_UNROLLED:
            self.because = f"it is longer than {MAX_UNROLLED} steps"
            return "unknown"
        if self.frames is None or self.solver is None:
            self.frames = Frames(self.one.machine, checks=self.one.checks)
            self.solver = Solver(self.frames.aig)
            self.frames.first()
        while self.looked < steps:
            self.looked += 1
            answer = self._breaks(self.frames, self.solver, deadline)
            if answer != "unsat":
                return answer
        return "unsat"

    def _breaks(self, frames: Frames, solver: Solver, deadline: Deadline) -> Answer:
        """Whether a run of one step more does."""
        frames.step(self.one.rounds)
        for literal in frames.take_constraints():
            solver.require(literal)
        bad = self.one.bad(frames.moments[self.looked])
        answer = solver.check([frames.initial, bad], deadline.left)
        self.because = solver.reason
        return answer
