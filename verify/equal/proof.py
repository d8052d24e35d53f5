"""Whether hardware does what the board does: proved, or the first round in which it does not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from breadproof.export.lowering.board import Lowered
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.difference import Difference, difference
from breadproof.verify.equal.matching import Matched, Unmatched, matched
from breadproof.verify.equal.miter import Compared, Miter, State, Target
from breadproof.verify.equal.readback import Circuit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.second import asked_again
from breadproof.verify.prove.solver import Deadline, Solver

ROUNDS = 4
"""So many rounds from power-up are searched for what the induction stumbles over."""

Tell = Callable[[str], None]
"""Told what is being done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Equality:
    """``because`` says why the verdict is not "equal"; ``compared`` counts the levels that are.

    ``questions`` are the last questions, which have no answer if the two are equal: SMT-LIB 2
    scripts for any solver, the first rounds' and the induction's.
    """

    verdict: Literal["equal", "differs", "undecided"]
    because: str = ""
    difference: Difference | None = None
    compared: int = 0
    questions: tuple[str, ...] = ()
    unmatched: bool = False
    """Nothing was asked, since the hardware lacks something of the board: no time helps."""


def equal_circuit(
    machine: Machine,
    lowered: Lowered,
    circuit: Circuit,
    names: Mapping[str, str],
    seconds: float,
    tell: Tell = lambda text: None,
    fixed: Mapping[int, int] = MappingProxyType({}),
) -> Equality:
    """Whether a circuit does what the board does (see `miter`).

    ``names`` are the attributes of ``lowered`` that are called otherwise in the circuit. Controls
    whose leaves have a ``fixed`` level have it in all runs that are spoken of.

    Raises:
        SolversDisagree: two solvers disagree; no verdict is given.
    """
    try:
        match = matched(machine, lowered, circuit, names, fixed=fixed)
    except Unmatched as error:
        return Equality(verdict="undecided", because=str(error), unmatched=True)
    wrong = wrong_word(machine, circuit, match) or _wrong_start(machine, circuit, match)
    if wrong:
        return Equality(verdict="differs", because=wrong)
    return _Proof(machine, circuit, match, Deadline(seconds), tell).run()


def wrong_word(machine: Machine, circuit: Circuit, match: Matched) -> str:
    """The first word of a ROM that the hardware has otherwise, in words; empty: there is none."""
    for unit, name in zip(machine.memories, match.memories, strict=True):
        if unit.contents is None:
            continue
        there = circuit.memories[name].words
        if there is None:
            return f"{unit.label} does not have all of its words in the hardware"
        here = (*unit.contents, *[0] * (unit.words - len(unit.contents)))[: unit.words]
        for address, (word, other) in enumerate(zip(here, there, strict=True)):
            if word != other:
                return f"{unit.label}[{address}] is {word} on the board, {other} in the hardware"
    return ""


def _wrong_start(machine: Machine, circuit: Circuit, match: Matched) -> str:
    """The first storage bit that comes up otherwise than it must on the board, in words."""
    labels = {store.leaf: store.label for store in machine.stores}
    for leaf, level in machine.first:
        there = circuit.registers[match.stores[leaf]].initial
        if there != level:
            return f"{labels[leaf]} powers up as {level} on the board, {there} in the hardware"
    return ""


class _Proof:
    def __init__(
        self, machine: Machine, circuit: Circuit, match: Matched, deadline: Deadline, tell: Tell
    ) -> None:
        self.machine = machine
        self.circuit = circuit
        self.match = match
        self.deadline = deadline
        self.tell = tell
        self.required: list[int] = []
        """What must hold in the round that was compared last, before anything was found out."""
        self.questions: list[str] = []
        self.compared = 0

    def run(self) -> Equality:
        self.tell("comparing the round at power-up")
        first = self.first_rounds(1)
        if first is not None:
            return first
        self.tell("comparing any other round")
        miter = Miter(self.machine, self.circuit, self.match)
        solver = Solver(miter.aig)
        answer, _ = self.refuted(miter, solver, miter.round(miter.between()))
        if not self.possible(miter):
            return self.undecided(
                "the board's loops never settle, so that no round follows another"
            )
        if answer == "unsat":
            return Equality(
                verdict="equal", compared=self.compared, questions=tuple(self.questions)
            )
        if answer == "sat":
            self.tell("looking for the first round that differs")
            found = self.first_rounds(ROUNDS)
            if found is not None:
                return found
            return self.undecided(
                f"the proof does not close, and the first {ROUNDS} rounds are the same"
            )
        return self.undecided(solver.reason)

    def possible(self, miter: Miter) -> bool:
        """Whether there is any round before: nothing may be proved of what cannot be."""
        solver = Solver(miter.aig)
        for literal in self.required:
            solver.require(literal)
        return solver.check([], self.deadline.left) == "sat"

    def undecided(self, because: str) -> Equality:
        return Equality(verdict="undecided", because=because or "out of time")

    def first_rounds(self, rounds: int) -> Equality | None:
        """What differs in the first rounds, or why that is not known; None: nothing does."""
        miter = Miter(self.machine, self.circuit, self.match)
        solver = Solver(miter.aig)
        state: State = miter.power_up()
        store, run = state.store, list[Compared]()
        for _ in range(rounds):
            run.append(miter.round(state))
            answer, wrong = self.refuted(miter, solver, run[-1])
            if wrong is not None:
                found = difference(self.machine, solver, store, run, wrong)
                return Equality(verdict="differs", because=found.told(), difference=found)
            if answer != "unsat":
                return self.undecided(solver.reason)
            solver.require(run[-1].settled)
            state = run[-1].following
        return None

    def refuted(
        self, miter: Miter, solver: Solver, compared: Compared
    ) -> tuple[Literal["sat", "unsat", "unknown"], Target | None]:
        """Whether nothing differs in a round, to two solvers; if something does, the first.

        What is equal is required while what comes after it is asked: nets stand in the order in
        which they depend on each other.
        """
        for literal in miter.take_constraints():
            solver.require(literal)
        self.required = [*solver.asserted]
        self.compared = len(compared.targets)
        for target in compared.targets:
            if target.differs == Aig.false:
                continue
            answer = solver.check([target.differs], self.deadline.left)
            if answer == "sat":
                return "sat", target
            if answer == "unknown":
                return "unknown", None
            solver.require(target.differs ^ 1)
        return self.confirmed(miter, compared.targets), None

    def confirmed(
        self, miter: Miter, targets: Sequence[Target]
    ) -> Literal["sat", "unsat", "unknown"]:
        """What z3 says to the whole question, asked without anything that was found on the way.

        Raises:
            SolversDisagree: that something differs after all.
        """
        fresh = Solver(miter.aig)
        for literal in self.required:
            fresh.require(literal)
        differs = miter.aig.or_([target.differs for target in targets])
        self.questions.append(fresh.question([differs]))
        return asked_again(fresh, [differs], self.deadline.left)
