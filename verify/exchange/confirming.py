"""Closing questions that are confirmed before anybody gets them.

How many moments a question must look back on depends on how much of a run the proof saw: the fewest
with which it is answered are taken. A proof none of whose questions closes is our error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import z3

from breadproof.verify.exchange.closing import Closing, Question
from breadproof.verify.exchange.part import part_of
from breadproof.verify.prove.invariants import DEPTH
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.solver import Answer, Deadline
from breadproof.verify.prove.system import System


class EvidenceMismatch(Exception):
    """A proof that its closing questions refute: our fault, never shown as evidence."""


class Unconfirmed(Exception):
    """A proof may be one, but its questions do not show it; the text says why."""


APART = (
    "it takes moments to be in different states, and the questions know more of a state than the "
    "proof did"
)


@dataclass(slots=True)
class Confirmer:
    """Asks z3 the scripts as they are written; ``seconds`` are for each of them."""

    seconds: float

    def ask(self, question: Question) -> Answer:
        """Its answer."""
        return answer(question.script, self.seconds)

    def demand(self, question: Question) -> Question:
        """The question, if its answer is what it claims.

        Raises:
            EvidenceMismatch: it is the opposite.
            Unconfirmed: there is none.
        """
        found = self.ask(question)
        if found == "unknown":
            raise Unconfirmed(f"whether {question.claim} was not confirmed in time")
        if found != question.answer:
            raise EvidenceMismatch(f"it is not so that {question.claim}")
        return question

    def closes(self, question: Question) -> bool:
        """Whether the answer is what the question claims; raises `Unconfirmed`."""
        found = self.ask(question)
        if found == "unknown":
            raise Unconfirmed(f"whether {question.claim} was not confirmed in time")
        return found == question.answer

    def proof(self, part: System, proof: Proof) -> list[Question]:
        """The closing questions of a proof.

        Raises:
            EvidenceMismatch: it is none.
            Unconfirmed: that is not found out in time.
        """
        work = Closing(part, proof)
        found, back = list[Question](), 1
        if proof.clauses:
            kept, back = self.least([(work.kept(n), n) for n in looking_back(proof)])
            found.append(kept)
        tries = [(work.never(proof.steps + shift, shift), proof.steps + shift) for shift in (0, 1)]
        never, steps = self.last(tries, proof)
        first = self.demand(work.first(back, steps))
        guard = self.demand(work.guard(max(back, steps)))
        return [first, *found, never, guard]

    def quiet(self, system: System, walked: Sequence[Mapping[str, int]]) -> list[Question]:
        """The questions about quiet moments, and whether what was walked is a run; raises as
        `proof` does."""
        work = Closing(part_of(system, (), ()), Proof(kind="step"))
        kept, back = self.least([(work.quiet_kept(n), n) for n in (1, 2)])
        guards = [self.demand(work.guard(back))]
        guards += [self.demand(work.walk(walked))] if walked else []
        return [*([self.demand(work.quiet_first())] if back > 1 else []), kept, *guards]

    def last(self, tries: Sequence[tuple[Question, int]], proof: Proof) -> tuple[Question, int]:
        """As `least`. States with more bits are more easily different, so that less is demanded if
        clauses bring in bits that the proof did not look at; that alone makes no proof wrong."""
        try:
            return self.least(tries)
        except EvidenceMismatch:
            if proof.apart and proof.clauses:
                raise Unconfirmed(APART) from None
            raise

    def least(self, tries: Sequence[tuple[Question, int]]) -> tuple[Question, int]:
        """The first that closes; if none does the last one is to blame."""
        for question, number in tries[:-1]:
            if self.closes(question):
                return question, number
        question, number = tries[-1]
        return self.demand(question), number


def looking_back(proof: Proof) -> tuple[int, ...]:
    """How many moments may be looked back on for the clauses: one more than the proof did."""
    return (1, 2) if proof.kind == "invariant" else (1, 2, DEPTH + 1)


def answer(script: str, seconds: float) -> Answer:
    """z3's answer to a script; anything but a plain "sat" or "unsat" is "unknown".

    Raises:
        EvidenceMismatch: it is no script (our error).
    """
    deadline = Deadline(seconds)
    # contexts of its own, since what z3 was told before must not matter
    solver = z3.SolverFor("QF_ABV", ctx=z3.Context())
    try:
        solver.from_string(script.replace("(check-sat)", ""))
        if deadline.left <= 0:
            return "unknown"
        solver.set("timeout", max(1, int(deadline.left * 1000)))
        found = str(solver.check())
    except z3.Z3Exception as error:
        if "(error " in str(error):
            raise EvidenceMismatch(f"a script that z3 cannot read: {error}") from error
        return "unknown"
    return "sat" if found == "sat" else "unsat" if found == "unsat" else "unknown"
