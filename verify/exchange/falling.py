"""That a strong operator does not wait for ever, as questions: its ranks fall while it waits.

- begins: every run begins in a state that has a rank.
- stays: from such a state no step leads to one that has none.
- falls: in no step in which the operator waits does the rank rise; and it stays the same only where
  an assumption, the one that this rank counts on, waits in that step too.

A run in which the operator waits in every step from some step on would have the same rank for ever
from some step on, for it cannot fall for ever; so that assumption would wait for ever, and this is
what it excludes.
"""

from __future__ import annotations

from functools import partial

from breadproof.verify.exchange.closing import Closing, Question, asserted
from breadproof.verify.exchange.confirming import Confirmer, Unconfirmed
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.smtlib import LOGIC, quoted
from breadproof.verify.prove.proof import Proof, Ranking
from breadproof.verify.prove.ranking import rank_bits, within
from breadproof.verify.prove.system import System

RANKED = "ranked"


def falling_questions(
    system: System, name: str, ranking: Ranking, confirmer: Confirmer
) -> list[Question]:
    """All questions about the strong operators of a formula.

    Raises:
        EvidenceMismatch: something may wait for ever.
        Unconfirmed: that is not found out in time.
    """
    work = _Ranks(system, name, ranking)
    asked = [work.begins(), work.stays()]
    asked += [work.falls(number) for number in range(len(ranking.falling))]
    return [confirmer.demand(question) for question in (*asked, work.runs())]


class _Ranks(Closing):
    """The functions: which states are ranked, their ranks, and what waits in a step."""

    def __init__(self, system: System, name: str, ranking: Ranking) -> None:
        self.ranking = ranking
        self.waiting = system.only([name]).waiting
        if len(self.waiting) != len(ranking.falling):
            raise Unconfirmed("what it waits for on this board is not written as questions")
        aig = system.aig
        bits = [system.names[bit][0] for bit in ranking.bits]
        self.inside = within(aig, bits, ranking.states)
        self.ranks = [rank_bits(aig, bits, ranking, one) for one in ranking.falling]
        self.fair = [goal.after for goal in system.fair]
        roots = [self.inside, *(bit for word in self.ranks for bit in word), *self.fair]
        roots += [goal.after for goal in self.waiting]
        super().__init__(part_of(system, (), (), roots), Proof(kind="step"))
        self.logic = LOGIC
        work = self.work
        self.more[RANKED] = partial(work.predicate, RANKED, [self.inside])
        for number, goal in enumerate(self.waiting):
            self.more[waits(number)] = partial(work.after, waits(number), [goal.after])
            self.more[rank(number)] = partial(self.rank_function, number)
        for number, literal in enumerate(self.fair):
            self.more[fair(number)] = partial(work.after, fair(number), [literal])

    def rank_function(self, number: int) -> str:
        """A state's rank, as a bit vector."""
        work, bits = self.work, self.ranks[number]
        takes = " ".join(f"({quoted(one.name)} {one.sort})" for one in work.state)
        body = work.bound(bits, work.vector(bits))
        return f"(define-fun {quoted(rank(number))} ({takes}) (_ BitVec {len(bits)})\n{body})"

    def ranked(self, k: int) -> str:
        """That moment ``k`` has a rank."""
        return self.work.applied(RANKED, self.state(k))

    def a_step(self) -> list[str]:
        """A step from a ranked moment."""
        lines = [*self.declared(1), asserted(self.here(0)), asserted(self.allowed(1))]
        return [*lines, asserted(self.ranked(0))]

    def begins(self) -> Question:
        """A first moment that has no rank."""
        lines = [*self.declared(0), asserted(self.work.applied("init", self.state(0)))]
        lines.append(asserted(f"(not {self.ranked(0)})"))
        return Question(
            what="begins",
            claim="every run begins in a state that has a rank",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def stays(self) -> Question:
        """A step to a moment that has no rank."""
        lines = [*self.a_step(), asserted(f"(not {self.ranked(1)})")]
        return Question(
            what="stays",
            claim="no step leads from a state that has a rank to one that has none",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def falls(self, number: int) -> Question:
        """A step in which the operator waits and its rank does not fall, nor stays for a reason."""
        work, falling = self.work, self.ranking.falling[number]
        before, after = (work.applied(rank(number), self.state(k)) for k in (0, 1))
        inputs = (self.state(0), self.inputs(1))
        width = len(self.ranks[number])
        reasons = [
            f"(and (= before (_ bv{one} {width})) {work.applied(fair(k), *inputs)})"
            for one, k in enumerate(falling.counts_on)
            if k >= 0
        ]
        reason = " ".join(["(or false", *(reasons or ["false"])]) + ")"
        may = f"(or (bvult after before) (and (= after before) {reason}))"
        lines = [*self.a_step(), asserted(work.applied(waits(number), *inputs))]
        lines.append(asserted(f"(not (let ((before {before}) (after {after})) {may}))"))
        counted = " or an assumption that it counts on waits too" if reasons else ""
        return Question(
            what=f"falls-{number + 1}",
            claim=f"in every step in which it still waits for '{self.waiting[number].text}', "
            f"its rank falls{counted}",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def runs(self) -> Question:
        """A run of one step on which all that is taken for granted is so."""
        lines = [*self.a_step(), asserted(self.work.applied("init", self.state(0)))]
        return Question(
            what="ranked-guard",
            claim="a run of 1 step meets all that the questions about ranks ask for",
            answer="sat",
            script=self.asked("sat", lines),
        )


def waits(number: int) -> str:
    """The function that tells whether a strong operator waits in a step."""
    return f"waits {number + 1}"


def rank(number: int) -> str:
    """The function of a state's rank, for a strong operator."""
    return f"rank {number + 1}"


def fair(number: int) -> str:
    """The function that tells whether a strong assumption waits in a step."""
    return f"assumption {number + 1} waits"
