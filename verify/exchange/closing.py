"""The closing questions about a proof, as SMT-LIB 2: what is left to believe if all are answered.

Moments are states of `smtlib.Definitions`, counted from 0. With ``back`` = B and ``steps`` = K:

- first: no run that begins at moment 0 violates the property in its first K - 1 steps, nor leaves
  the invariant in its first B - 1.
- kept: from any moments in which the invariant held B times in a row, a step leads to one in which
  it holds. Left out where there are no clauses.
- never: no K steps, from any moment, lead to a violation while all moments meet the invariant. For
  an induction the steps before the last may be taken not to violate, and some moments to be in
  different states (a shortest run to a violation is in no state twice: Sheeran, Singh and Stålmarck
  2000).

The answer to each is "unsat". All moments may be taken to be quiet: that steps lead from quiet
ones to quiet ones alone is a question of its own (`quiet_kept`). A guard is a run as the others
speak of, and its answer is "sat": from a contradiction all of them would follow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.smtlib import LOGIC, Constant, Definitions, quoted
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.system import System

ALLOWED, NEXT, INVARIANT = "allowed", "next", "invariant"
FIRST, AFTER = "violated at first", "violated after"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """``what`` names it; ``claim`` is what ``answer`` means; ``script`` ends in a check-sat."""

    what: str
    claim: str
    answer: Literal["sat", "unsat"]
    script: str


class Closing:
    """The questions about one proof, over the part of the system that it speaks of."""

    def __init__(self, part: System, proof: Proof) -> None:
        """``part`` has the properties that are proved, together."""
        self.system = part
        self.proof = proof
        self.work = Definitions(part)
        self.logic = LOGIC if part.arrays else "QF_UF"
        self.more: dict[str, Callable[[], str]] = {}
        """Further functions that scripts may use, by name."""

    @cached_property
    def counts(self) -> frozenset[str]:
        """The state that decides about the properties: names of bits and memories."""
        part = part_of(self.system, [goal.name for goal in self.system.safety], ())
        return frozenset(bit.name for bit in part.bits) | {array.name for array in part.arrays}

    # definitions ------------------------------------------------------------------------------

    def definitions(self, names: Sequence[str]) -> list[str]:
        """Those of the named functions, in this order."""
        work, system = self.work, self.system
        make: dict[str, Callable[[], str]] = {
            "here": work.here,
            "init": work.init,
            NEXT: lambda: work.step(NEXT, ()),
            ALLOWED: lambda: work.after(ALLOWED, system.there),
            INVARIANT: self.invariant,
            FIRST: lambda: work.predicate(
                FIRST, [self.anyone([s.at_first for s in system.safety])]
            ),
            AFTER: lambda: work.after(AFTER, [self.anyone([s.after for s in system.safety])]),
            **self.more,
        }
        return [make[name]() for name in make if name in names]

    def anyone(self, literals: Sequence[int]) -> int:
        """That one of the properties is violated."""
        return self.system.aig.or_(literals)

    def invariant(self) -> str:
        """All clauses, at one moment."""
        work, names = self.work, self.system.names
        roots = [names[name][0] for clause in self.proof.clauses for name, _ in clause]
        clauses = []
        for clause in self.proof.clauses:
            terms = [work.term(names[name][0] ^ 1 ^ level) for name, level in clause]
            clauses.append(f"(or false {' '.join(terms)})")
        body = "\n    ".join(["(and true", *clauses]) + ")"
        return work.function(INVARIANT, work.state, roots, body)

    # runs -------------------------------------------------------------------------------------

    def state(self, number: int) -> list[Constant]:
        """The constants of a moment's state."""
        return self.work.moment(number, self.work.state)

    def inputs(self, number: int) -> list[Constant]:
        """Those of the inputs of the step to it."""
        return self.work.moment(number, self.work.inputs)

    def declared(self, steps: int, *, where: bool = True) -> list[str]:
        """So many steps from moment 0; whether they are allowed is not said, nor, unless ``where``,
        what state the last of them leads to."""
        lines = self.work.declared(self.state(0))
        for k in range(1, steps + 1):
            lines += self.work.declared(self.inputs(k))
            if k == steps and not where:
                break
            lines += self.work.declared(self.state(k))
            step = self.work.applied(NEXT, self.state(k - 1), self.inputs(k), self.state(k))
            lines.append(asserted(step))
        return lines

    def allowed(self, k: int) -> str:
        """That the step to moment ``k`` may be chosen."""
        return self.work.applied(ALLOWED, self.state(k - 1), self.inputs(k))

    def here(self, k: int) -> str:
        """That moment ``k`` is quiet."""
        return self.work.applied("here", self.state(k))

    def meets(self, k: int) -> str:
        """That moment ``k`` meets the invariant."""
        return self.work.applied(INVARIANT, self.state(k))

    def violated(self, k: int) -> str:
        """That a property is violated at moment ``k``."""
        if k == 0:
            return self.work.applied(FIRST, self.state(0))
        return self.work.applied(AFTER, self.state(k - 1), self.inputs(k))

    def apart(self, earlier: int, later: int) -> str:
        """That two moments are in different states.

        Bits that the clauses alone bring in, such as what other formulas remember, do not count:
        a detour of all the rest can be left out of a run, and clauses hold in what is left, too.
        """
        counts = self.counts
        pairs = zip(self.work.state, self.state(earlier), self.state(later), strict=True)
        equal = [f"(= {quoted(a.name)} {quoted(b.name)})" for c, a, b in pairs if c.name in counts]
        return f"(not (and true {' '.join(equal)}))"

    def asked(self, what: str, lines: Sequence[str]) -> str:
        """The script of a question, with what it needs."""
        names = ["here", "init", NEXT, ALLOWED, INVARIANT, FIRST, AFTER, *self.more]
        text = "\n".join(lines)
        used = [name for name in names if quoted(name) in text]
        head = [f"(set-info :status {what})", f"(set-logic {self.logic})"]
        return "\n".join([*head, *self.definitions(used), *lines, "(check-sat)", ""])

    # questions --------------------------------------------------------------------------------

    def first(self, back: int, steps: int) -> Question:
        """Runs from power-up. Where they are violated they need not go on."""
        clauses = bool(self.proof.clauses)
        last = max(back if clauses else 1, steps) - 1
        term = "false"
        for k in range(last, -1, -1):
            lost = [self.violated(k)] if k < steps else []
            lost += [f"(not {self.meets(k)})"] if clauses and k < back else []
            term = f"(or {' '.join([*lost, term])})"
            term = f"(and {self.allowed(k)} {term})" if k else term
        lines = self.declared(last, where=clauses and last < back)
        lines.append(asserted(self.work.applied("init", self.state(0))))
        claim = f"no run violates it before step {steps}"
        claim += f", nor leaves the invariant before step {back}" if clauses else ""
        return Question(
            what="first",
            claim=claim,
            answer="unsat",
            script=self.asked("unsat", [*lines, asserted(term)]),
        )

    def kept(self, back: int) -> Question:
        """Steps that leave the invariant."""
        lines = self.declared(back)
        lines += [asserted(self.here(k)) for k in range(back)]
        lines += [asserted(self.allowed(k)) for k in range(1, back + 1)]
        lines += [asserted(self.meets(k)) for k in range(back)]
        lines.append(asserted(f"(not {self.meets(back)})"))
        after = f"{back} moments that meet" if back > 1 else "a moment that meets"
        return Question(
            what="kept",
            claim=f"after {after} the invariant the next one does",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def never(self, steps: int, shift: int) -> Question:
        """Steps to a violation; moment 0 of the proof's pairs is moment ``shift``."""
        lines = self.declared(steps, where=bool(self.proof.clauses))
        lines += [asserted(self.here(k)) for k in range(steps)]
        lines += [asserted(self.allowed(k)) for k in range(1, steps + 1)]
        if self.proof.clauses:
            lines += [asserted(self.meets(k)) for k in range(steps + 1)]
        if self.proof.kind == "induction":
            lines += [asserted(f"(not {self.violated(k)})") for k in range(1, steps)]
        lines += [asserted(self.apart(a + shift, b + shift)) for a, b in self.proof.apart]
        lines.append(asserted(self.violated(steps)))
        told = f"no {steps} steps lead" if steps > 1 else "no step leads"
        return Question(
            what="never",
            claim=f"{told} to a violation{self.which()}",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def which(self) -> str:
        """Which violations the last question is about."""
        if self.proof.words:
            return " that counts"
        return " for the first time" if self.proof.kind == "induction" else ""

    def guard(self, steps: int) -> Question:
        """A run on which all that the questions take for granted is so."""
        lines = [*self.declared(steps), asserted(self.work.applied("init", self.state(0)))]
        lines += [asserted(self.here(k)) for k in range(steps)]
        lines += [asserted(self.allowed(k)) for k in range(1, steps + 1)]
        if self.proof.clauses:
            lines += [asserted(self.meets(k)) for k in range(steps + 1)]
        lines += [asserted(f"(not {self.violated(k)})") for k in range(steps + 1)]
        return Question(
            what="guard",
            claim=f"a run of {steps} step{'s' * (steps > 1)} meets all that the others ask for",
            answer="sat",
            script=self.asked("sat", lines),
        )

    # the board --------------------------------------------------------------------------------

    def quiet_kept(self, back: int) -> Question:
        """Steps from quiet moments that lead to one that is not quiet."""
        lines = self.declared(back)
        lines += [asserted(self.here(k)) for k in range(back)]
        lines += [asserted(self.allowed(k)) for k in range(1, back + 1)]
        lines.append(asserted(f"(not {self.here(back)})"))
        return Question(
            what="quiet",
            claim="every step from a quiet moment ends in a quiet moment",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def quiet_first(self) -> Question:
        """First steps that lead to a moment that is not quiet."""
        lines = [*self.declared(1), asserted(self.work.applied("init", self.state(0)))]
        lines += [asserted(self.allowed(1)), asserted(f"(not {self.here(1)})")]
        return Question(
            what="quiet-first",
            claim="the first step of a run ends in a quiet moment",
            answer="unsat",
            script=self.asked("unsat", lines),
        )

    def walk(self, moments: Sequence[Mapping[str, int]]) -> Question:
        """A run of which the levels of some bits are known."""
        steps = len(moments) - 1
        lines = [*self.declared(steps), asserted(self.work.applied("init", self.state(0)))]
        lines += [asserted(self.allowed(k)) for k in range(1, steps + 1)]
        for k, levels in enumerate(moments):
            for bit in self.system.bits:
                if bit.name in levels:
                    term = quoted(f"{bit.name}@{k}")
                    lines.append(asserted(term if levels[bit.name] else f"(not {term})"))
        return Question(
            what="walk",
            claim=f"a run of {steps} steps that was walked with numbers is one of these",
            answer="sat",
            script=self.asked("sat", lines),
        )


def asserted(term: str) -> str:
    """An assertion."""
    return f"(assert {term})"
