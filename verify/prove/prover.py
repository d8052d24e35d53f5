"""All results of a board, in the order in which they are listed."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.assumptions import AssumptionAnswer, check_assumptions
from breadproof.verify.prove.checks import Check, standing_checks
from breadproof.verify.prove.endless import settle_strong
from breadproof.verify.prove.engine import Engine, Outcome, Property
from breadproof.verify.prove.extract import TraceMismatch, extract
from breadproof.verify.prove.lively import lively_names, lively_results, unsettled_lively
from breadproof.verify.prove.quiet import QuietAnswer, find_rounds
from breadproof.verify.prove.resting import Cones, Resting
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.verdict import Result, Verdict
from breadproof.verify.prove.witness import confirms

SAYS = {
    "fights": "No two outputs drive {what} at once.",
    "glitch": "{what} never pulses while its level should stay.",
    "race:clock": "What {what} takes in at its edge stands still then.",
    "race:clear": "{what} is not released at an edge that matters.",
    "race:preset": "{what} is not released at an edge that matters.",
    "race:load": "{what} is not released at an edge that matters, nor while its data move.",
    "race:latch": "What {what} keeps stands still when it closes.",
    "race:write": "Address and data stand still while {what} writes.",
    "float": "{what} never reads a floating net.",
    "program": "{what} never programs its chip: the contents stay as they are given.",
}


IN_PASSING = "while changing, between two rounds of a step, two may drive it for a moment"


def result_names(machine: Machine) -> tuple[str, ...]:
    """All results that a board has, by name, in order."""
    formulas = [f.formula.name for f in machine.logic.formulas if f.kind != "assume"]
    checks = (check.name for check in standing_checks(machine))
    return ("quiet", *checks, *lively_names(machine), *formulas)


def prove_board(
    machine: Machine,
    *,
    only: tuple[str, ...] = (),
    seconds: float = 60.0,
    progress: Callable[[str], None] = lambda text: None,
    questions: list[tuple[str, str]] | None = None,
) -> tuple[int, tuple[Result, ...]]:
    """The proved number of rounds a step takes (0 if not proved), and all results.

    ``questions`` collects the proofs' last questions as SMT-LIB 2, all of which must be "unsat".

    Raises:
        KeyError: ``only`` names what the board does not have.
        TraceMismatch: a trace does not show what it was found for (our error).
    """
    for name in only:
        if name not in result_names(machine):
            raise KeyError(name)
    work = _Work(machine, seconds, progress, questions)
    results = work.run(only)
    return work.rounds, tuple(r for r in results if not only or r.name in only)


@dataclass(slots=True)
class _Work:
    machine: Machine
    seconds: float
    progress: Callable[[str], None]
    questions: list[tuple[str, str]] | None
    rounds: int = 0
    outcomes: dict[str, Outcome] = field(default_factory=dict)
    passing: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def run(self, only: tuple[str, ...]) -> list[Result]:
        start = time.monotonic()
        self.progress("does the board get quiet?")
        quiet = find_rounds(self.machine, Deadline(self.seconds))
        if self.questions is not None and quiet.question:
            self.questions.append(("quiet", quiet.question))
            self.questions.append(("quiet at power-up", quiet.power_up_question))
        quiet_result = self.quiet_result(quiet, time.monotonic() - start)
        assumptions = check_assumptions(self.machine, Deadline(self.seconds))
        results = [founded(quiet_result, assumptions), *self.assumption_results(assumptions)]
        checks = standing_checks(self.machine)
        formulas = [f for f in self.machine.logic.formulas if f.kind != "assume"]
        formulas = [f for f in formulas if not only or f.formula.name in only]
        if quiet.verdict != "holds":
            because = "the board is not proved to get quiet"
            results += [
                self.unsettled(check.name, "standing", self.sentence(check), because)
                for check in checks
            ]
            results += [
                self.unsettled(name, "standing", says, because)
                for name, says in unsettled_lively(self.machine)
            ]
            results += [
                self.unsettled(f.formula.name, f.kind, f.formula.says, because) for f in formulas
            ]
            return results
        self.rounds = quiet.rounds
        engine = Engine(self.machine, quiet.rounds, self.seconds, self.progress, self.questions)
        cones = Cones(self.machine, checks)
        self.settle(engine, checks, formulas)
        results += [founded(self.check_result(check, cones), assumptions) for check in checks]
        if not only or any(name.startswith("dead:") for name in only):
            lively = lively_results(engine, self.seconds, self.assumed())
            results += [founded_at_all(result, assumptions) for result in lively]
        results += [self.formula_result(engine, f, cones, assumptions) for f in formulas]
        return results

    def settle(
        self, engine: Engine, checks: tuple[Check, ...], formulas: list[CompiledFormula]
    ) -> None:
        properties = [check_property(check.name) for check in checks]
        properties += [self._property(f) for f in formulas if f.kind == "assert"]
        covers = [self._property(f) for f in formulas if f.kind == "cover"]
        self.progress(f"proving {len(properties)} properties")
        self.outcomes = engine.settle(properties, covers)
        for formula in formulas:
            if formula.liveness and formula.kind == "assert":
                name = formula.formula.name
                self.progress(f"{name}: does what it waits for come?")
                self.outcomes[name] = settle_strong(engine, formula, self.outcomes[name])
        for name, outcome in self.outcomes.items():
            if outcome.trace is not None:
                self.confirm(name, outcome.trace)
        for check in checks:
            if check.kind == "fights" and engine.in_passing(check.name):
                self.passing[check.name] = (IN_PASSING,)

    def confirm(self, name: str, trace: Trace) -> None:
        if not confirms(self.machine, name, trace):
            raise TraceMismatch(f"the run that was found for {name} does not show it")

    def _property(self, formula: CompiledFormula) -> Property:
        return self._node_property(formula.formula.name, formula.bad)

    def _node_property(self, name: str, node: int) -> Property:
        return Property(name=name, bad=lambda moment: moment.values[node], node=node, anywhere=True)

    # results ----------------------------------------------------------------------------------

    def assumed(self) -> tuple[str, ...]:
        return tuple(f.formula.name for f in self.machine.logic.formulas if f.kind == "assume")

    def quiet_result(self, quiet: QuietAnswer, seconds: float) -> Result:
        trace = None
        if quiet.verdict == "fails" and quiet.frames and quiet.solver and quiet.moments:
            trace = extract(quiet.frames, quiet.solver, list(quiet.moments), quiet=False)
            self.confirm("quiet", trace)
        return Result(
            name="quiet",
            kind="standing",
            verdict=quiet.verdict,
            says="After every change the board gets quiet.",
            method=f"every step is over in {quiet.rounds} round{'s' if quiet.rounds > 1 else ''}"
            if quiet.question
            else "",
            steps=1,
            seconds=seconds,
            assumes=self.assumed(),
            because=quiet.because,
            trace=trace,
        )

    def assumption_results(self, answer: AssumptionAnswer) -> list[Result]:
        if answer.verdict == "holds":
            return []
        return [
            Result(
                name="assumptions",
                kind="standing",
                verdict=answer.verdict,
                says="The assumptions always leave a next step.",
                method="",
                steps=0,
                seconds=0.0,
                because=answer.because,
            )
        ]

    def unsettled(self, name: str, kind: str, says: str, because: str) -> Result:
        return Result(
            name=name,
            kind="cover" if kind == "cover" else "assert" if kind == "assert" else "standing",
            verdict="undecided",
            says=says,
            method="",
            steps=0,
            seconds=0.0,
            because=because,
        )

    def what(self, check: Check) -> str:
        """The net, or the pin with its name: ``U7.21 (WE_n)``."""
        if check.kind == "fights":
            return f"net {check.name.removeprefix('fights:')}"
        part_name, _, number = check.pin.partition(".")
        part = self.machine.netlist.part(part_name)
        pin = part.pin(number) if part else None
        return f"{check.pin} ({pin.name})" if pin else check.pin

    def sentence(self, check: Check) -> str:
        """What the check claims, in words that fit what its pin is for."""
        kind: str = check.kind
        if kind == "race":
            kind = f"race:{self.machine.strobes[check.strobes[0]].kind}"
        return SAYS[kind].format(what=self.what(check))

    def check_result(self, check: Check, cones: Cones) -> Result:
        outcome = self.outcomes[check.name]
        roots = [self.machine.nets[index].fights for index in check.nets]
        roots += [self.machine.strobes[number].condition for number in check.strobes]
        return Result(
            name=check.name,
            kind="standing",
            verdict=_asserted(outcome),
            says=self.sentence(check),
            method=outcome.method,
            steps=outcome.steps,
            seconds=outcome.seconds,
            assumes=(*self.assumed(), *cones.resting(roots).open_high),
            because=outcome.because,
            notes=self.passing.get(check.name, ()),
            trace=outcome.trace,
            invariant=outcome.invariant,
        )

    def formula_result(
        self,
        engine: Engine,
        formula: CompiledFormula,
        cones: Cones,
        assumptions: AssumptionAnswer,
    ) -> Result:
        outcome = self.outcomes[formula.formula.name]
        resting = cones.resting([formula.bad, *(one.node for one in formula.awaited)])
        verdict: Verdict = _asserted(outcome)
        if formula.kind == "cover":
            verdict = _covered(outcome)
        result = Result(
            name=formula.formula.name,
            kind="cover" if formula.kind == "cover" else "assert",
            verdict=verdict,
            says=formula.formula.says or formula.formula.text.value,
            method=outcome.method,
            steps=outcome.steps,
            seconds=outcome.seconds,
            assumes=(*self.assumed(), *resting.open_high),
            because=outcome.because,
            trace=outcome.trace,
            invariant=outcome.invariant,
        )
        result = self.with_resting(result, resting, assumptions)
        if formula.kind == "assert" and result.verdict == "holds":
            result = replace(result, vacuous=self.vacuous(engine, formula))
        return result

    def with_resting(
        self, result: Result, resting: Resting, assumptions: AssumptionAnswer
    ) -> Result:
        """A proof over levels is worth nothing if a pin below it can pulse, race or float."""
        result = founded(result, assumptions)
        if result.verdict not in ("holds", "unreachable"):
            return result
        unclean = [name for name in resting.checks if self.outcomes[name].verdict != "never"]
        if not unclean:
            return result
        return replace(
            result,
            verdict="undecided",
            because=f"it rests on pins that are not clean: {', '.join(unclean)}",
        )

    def vacuous(self, engine: Engine, formula: CompiledFormula) -> tuple[str, ...] | None:
        """The conditions of a formula that never come true; None where one is not known."""
        never: list[str] = []
        unknown = False
        for antecedent in formula.antecedents:
            wanted = self._node_property(antecedent.text, antecedent.node)
            outcome = engine.reachable(wanted, 3, min(5.0, self.seconds))
            if outcome.verdict == "never":
                never.append(antecedent.text)
            unknown = unknown or outcome.verdict == "undecided"
        return None if unknown and not never else tuple(never)


def check_property(name: str) -> Property:
    """A standing check as a property."""
    return Property(name=name, bad=lambda moment: moment.broken[name], anywhere=True)


def founded(result: Result, assumptions: AssumptionAnswer) -> Result:
    """A proof is worth nothing if its assumptions run into a dead end: it may speak of no run.

    Nor is a run of some steps, if it is not sure to go on in a way that the strong ones allow.
    """
    if not assumptions.lasting and result.trace is not None and result.trace.loop is None:
        return replace(
            result,
            verdict="undecided",
            method="",
            steps=0,
            trace=None,
            because=assumptions.because,
        )
    if assumptions.verdict == "holds" or result.verdict not in ("holds", "unreachable"):
        return result
    return replace(result, verdict="undecided", because=assumptions.because)


def founded_at_all(result: Result, assumptions: AssumptionAnswer) -> Result:
    """As `founded`; that something never happens is worth as little as that it always does."""
    if assumptions.verdict == "holds":
        return result
    return replace(result, verdict="undecided", because=assumptions.because)


def _asserted(outcome: Outcome) -> Verdict:
    match outcome.verdict:
        case "never":
            return "holds"
        case "reached":
            return "fails"
        case "undecided":
            return "undecided"


def _covered(outcome: Outcome) -> Verdict:
    match outcome.verdict:
        case "never":
            return "unreachable"
        case "reached":
            return "covered"
        case "undecided":
            return "undecided"
