"""Settling strong operators: whether what a formula waits for comes in every endless run.

An endless run violates a formula of the simple subset if some step is bad, or if something that it
waits for stays away for ever (IEEE 1850-2010, annex B). Runs of a board never end: a step in which
nothing changes is always possible, unless an assumption forbids it.
"""

from __future__ import annotations

import time
from dataclasses import replace

from breadproof.specs.machine.influence import Influence, assumed, influence, near_assumptions
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import BETWEEN, written
from breadproof.verify.prove.engine import Engine, Outcome, Property
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.lasso import Lassos
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.statesearch import Searched, TooLarge, search_states
from breadproof.verify.prove.witness import coming_again

SOON = 3
"""Runs of so many steps are tried before all states are searched."""
MAX_STEPS = 16
"""Longer ones are tried only if the search of the states names their length."""
MAX_NAMED = 64
_PLAIN = str.maketrans({"[": "-", ":": "-", BETWEEN: "-", "]": None})


def settle_strong(engine: Engine, formula: CompiledFormula, safe: Outcome) -> Outcome:
    """The outcome of a strong formula; ``safe`` is that of its part that a finite run can break."""
    if safe.verdict == "reached":
        return safe
    if formula.nested:
        return _open(safe, "a strong operator under a clock within another clock is not settled")
    return _Work(engine, formula, safe).settle()


def _open(safe: Outcome, because: str) -> Outcome:
    if safe.verdict == "undecided":
        return safe
    return replace(safe, verdict="undecided", method="", steps=0, because=because)


class _Work:
    def __init__(self, engine: Engine, formula: CompiledFormula, safe: Outcome) -> None:
        self.engine = engine
        self.formula = formula
        self.safe = safe
        self.start = time.monotonic()
        self.deadline = Deadline(engine.seconds)
        self.part = influence(engine.machine, [formula, *assumed(engine.machine)])
        lassos = Lassos(engine.frames, formula, self.part)
        self.property = Property(name=formula.formula.name, bad=lassos.bad)
        self.searched = 0

    def settle(self) -> Outcome:
        found = self.look(1, SOON)
        if found is not None:
            return self.timed(found)
        try:
            answer = self.search()
        except TooLarge as why:
            found = self.look(SOON + 1, MAX_STEPS)
            return self.timed(found or self.open(f"its states are not searched: {why}"))
        if answer.verdict == "lasso":
            found = None
            if answer.steps <= MAX_NAMED:
                found = self.look(answer.steps, answer.steps)
            return self.timed(found or self.open(self.not_drawn(answer.steps)))
        if self.safe.verdict != "never":
            return self.safe
        method = f"search of all {answer.states} states that matter to what it waits for"
        proof = None
        if self.safe.proof is not None and answer.ranking is not None:
            proof = replace(self.safe.proof, ranking=answer.ranking)
        return self.timed(
            Outcome(
                verdict="never",
                method=f"{self.safe.method}, and {method}",
                steps=self.safe.steps,
                seconds=0.0,
                proof=proof,
            )
        )

    def search(self) -> Searched:
        """With few assumptions first: if nothing goes round then, nothing does."""
        machine, rounds, formula = self.engine.machine, self.engine.rounds, self.formula
        near = near_assumptions(machine, formula)
        answer = search_states(machine, rounds, formula, near, self.deadline)
        if answer.verdict == "none" or near == assumed(machine):
            return answer
        return search_states(machine, rounds, formula, assumed(machine), self.deadline)

    def timed(self, outcome: Outcome) -> Outcome:
        return replace(outcome, seconds=self.safe.seconds + time.monotonic() - self.start)

    def open(self, because: str) -> Outcome:
        waits = ", ".join(dict.fromkeys(self.formula.liveness))
        return _open(
            self.safe,
            f"whether {waits} is met is open: no run of up to {self.searched} steps goes round "
            f"without it; {because}",
        )

    def not_drawn(self, steps: int) -> str:
        """Why a run of so many steps that goes round by itself is none of the board."""
        if self.engine.machine.netlist.bounces:
            return (
                f"a run of {steps} steps goes round if a contact bounces for ever, which none does"
            )
        return f"a run of {steps} steps that goes round is not drawn"

    def look(self, least: int, most: int) -> Outcome | None:
        """The shortest run of so many steps that goes round; None if none is found."""
        engine = self.engine
        for steps in range(least, most + 1):
            engine.reach(steps)
            bad = self.property.bad(engine.frames.moments[steps])
            answer = engine.solver.check([engine.frames.initial, bad], self.deadline.left)
            if answer == "unknown":
                return None
            if answer == "sat":
                outcome = engine.reached(self.property, steps, model=True)
                return outcome if outcome.trace is None else self.round_(outcome, outcome.trace)
            self.searched = steps
        return None

    def round_(self, outcome: Outcome, trace: Trace) -> Outcome:
        machine, name = self.engine.machine, self.formula.formula.name
        loop = coming_again(machine, name, trace)
        if loop is None:
            raise TraceMismatch(f"the run that was found for {name} does not go round")
        same = [s.label for s in machine.stores if s.leaf in self.part.leaves]
        trace = replace(trace, loop=loop, same=tuple(same))
        return replace(
            outcome, trace=trace, because=because(machine, self.formula, self.part, trace)
        )


def because(machine: Machine, formula: CompiledFormula, part: Influence, trace: Trace) -> str:
    """How a run that goes round violates the formula, and which assumption would forbid it."""
    assert trace.loop is not None, "only a run that goes round"
    awaited = " or ".join(f"'{text}'" for text in dict.fromkeys(a.text for a in formula.awaited))
    again = trace.steps[trace.loop :]
    controls = trace.steps[-1].controls
    if any(step.controls != controls for step in again):
        return f"{awaited} never comes if all goes on as in the steps after step {trace.loop}"
    says = f"{awaited} never comes if nothing more happens after step {trace.loop}"
    clock = clock_name(machine, part)
    if not clock:
        return says
    return (
        f"{says}. If {clock} goes on for ever, assume it: "
        f'{{{plain_name(clock)}-goes-on: "always eventually! rose({written(clock)})"}}'
    )


def plain_name(name: str) -> str:
    """A control's name as part of an assumption's: ``SW1[3]`` as ``SW1-3``."""
    return name.translate(_PLAIN)


def clock_name(machine: Machine, part: Influence) -> str:
    """An oscillator or port of one bit that has influence, clocks of storage first; "" if none."""
    clocks = machine.graph.cone([s.clock for s in machine.stores if s.leaf in part.leaves])
    names = [
        control.name
        for control in machine.netlist.controls
        if control.kind in ("oscillator", "in")
        and len(control.bits) == 1
        and machine.controls[control.name][0] in part.leaves
    ]
    ranked = sorted(names, key=lambda name: machine.controls[name][0] not in clocks)
    return ranked[0] if ranked else ""
