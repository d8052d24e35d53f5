"""From what was found out about a board to its results, in the order in which they are listed.

What was not found out, for want of time or since somebody pressed Ctrl-C, is undecided.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from breadproof.specs.formula.syntax import goes_on
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.assumptions import AssumptionAnswer
from breadproof.verify.prove.checks import Check, standing_checks
from breadproof.verify.prove.engine import Outcome
from breadproof.verify.prove.floating import looking
from breadproof.verify.prove.lively import unsettled_lively
from breadproof.verify.prove.properties import claimed
from breadproof.verify.prove.quiet import QuietAnswer
from breadproof.verify.prove.reset import reset_units, unit_says
from breadproof.verify.prove.resting import Cones, Resting
from breadproof.verify.prove.verdict import Kind, Result, Verdict

SAYS = {
    "fights": "No two outputs drive {what} at once.",
    "floats": "Nothing is read from {what} while it floats.",
    "glitch": "{what} never pulses: it changes once or not at all when others change.",
    "race:clock": "What {what} takes in at its edge stands still then.",
    "race:clear": "{what} is not released at an edge that matters.",
    "race:preset": "{what} is not released at an edge that matters.",
    "race:load": "{what} is not released at an edge that matters, nor while its data move.",
    "race:latch": "What {what} keeps stands still when it closes.",
    "race:write": "Address and data stand still while {what} writes.",
    "float": "{what} never reads a floating net.",
    "program": "{what} never programs its chip: the contents stay as they are given.",
}

WIDE = (
    "'{text}' is worked out in 32 bits, since {number} has no width (IEEE 1364): it does not wrap "
    "at {width} bits. Write {width}'d{number} if it is to."
)
AT_FIRST = (
    "Says less than it seems: without 'always' or 'never' it speaks of the first moments after "
    "power-up alone."
)
IN_PASSING = "while changing, between two rounds of a step, two may drive it for a moment"
INTERRUPTED = "interrupted before it was finished"
RESTLESS = "the board is not proved to get quiet"


@dataclass(slots=True)
class Known:
    """What was found out so far; what is missing was not finished.

    ``passing`` are the checks of fights that are broken between rounds; ``lively`` the results of
    `lively` by name, ``lost`` why there is none of others; ``reset`` the results of `reset`;
    ``vacuous`` by formula the conditions that never come true.
    """

    quiet: QuietAnswer | None = None
    quiet_trace: Trace | None = None
    quiet_seconds: float = 0.0
    assumptions: AssumptionAnswer = field(
        default_factory=lambda: AssumptionAnswer(
            verdict="undecided", because=INTERRUPTED, lasting=False
        )
    )
    outcomes: dict[str, Outcome] = field(default_factory=dict)
    passing: set[str] = field(default_factory=set)
    lively: dict[str, Result] = field(default_factory=dict)
    lost: dict[str, str] = field(default_factory=dict)
    reset: list[Result] | None = None
    vacuous: dict[str, tuple[str, ...] | None] = field(default_factory=dict)

    @property
    def because(self) -> str:
        """Why there is no answer where there is none."""
        return INTERRUPTED if self.quiet is None or self.quiet.verdict == "holds" else RESTLESS


class Answers:
    """The results of a board, from what is known of it."""

    def __init__(self, machine: Machine, known: Known) -> None:
        """``known`` may grow while this is used."""
        self.machine = machine
        self.known = known
        self.checks = standing_checks(machine)
        self.cones = Cones(machine, self.checks)
        self.assumed = tuple(f.formula.name for f in machine.logic.formulas if f.kind == "assume")

    def results(self) -> list[Result]:
        """All of them."""
        assumptions = self.known.assumptions
        results = [founded(self.quiet_result(), assumptions), *self.assumption_results()]
        results += [founded(self.check_result(check), assumptions) for check in self.checks]
        results += [*self.lively_results(), *self.reset_results()]
        results += [self.formula_result(formula) for formula in claimed(self.machine)]
        return results

    def quiet_result(self) -> Result:
        """Whether the board gets quiet."""
        says = "After every change the board gets quiet."
        quiet = self.known.quiet
        if quiet is None:
            return unsettled("quiet", "standing", says, INTERRUPTED)
        rounds = f"{quiet.rounds} round{'s' if quiet.rounds > 1 else ''}"
        return Result(
            name="quiet",
            kind="standing",
            verdict=quiet.verdict,
            says=says,
            method=f"every step is over in {rounds}" if quiet.verdict == "holds" else "",
            steps=1,
            seconds=self.known.quiet_seconds,
            assumes=self.assumed,
            because=quiet.because,
            trace=self.known.quiet_trace,
        )

    def assumption_results(self) -> list[Result]:
        """One if the assumptions may leave no next step."""
        answer = self.known.assumptions
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

    def lively_results(self) -> list[Result]:
        """Whether anything is dead."""
        known, found = self.known, list[Result]()
        for name, says in unsettled_lively(self.machine):
            one = known.lively.get(name)
            if one is None:
                because = known.lost.get(name, known.because)
                found.append(unsettled(name, "standing", says, because))
            else:
                found.append(founded_at_all(one, known.assumptions))
        return found

    def reset_results(self) -> list[Result]:
        """Whether storage is known after the reset."""
        found: list[Result] = []
        known = {result.name: result for result in self.known.reset or ()}
        for unit in reset_units(self.machine):
            if unit.name not in known:
                says = unit_says(self.machine, unit)
                found.append(unsettled(unit.name, "standing", says, self.known.because))
                continue
            resting = self.cones.resting([leaf for _, leaf in unit.bits])
            result = founded_at_all(known[unit.name], self.known.assumptions)
            result = replace(result, assumes=(*result.assumes, *resting.open_high))
            found.append(self.with_resting(result, resting))
        return found

    # checks -----------------------------------------------------------------------------------

    def what(self, check: Check) -> str:
        """The net, or the pin with its name: ``U7.21 (WE_n)``."""
        if check.kind in ("fights", "floats"):
            return f"net {check.name.partition(':')[2]}"
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

    def check_result(self, check: Check) -> Result:
        """A standing check."""
        outcome = self.known.outcomes.get(check.name)
        if outcome is None:
            return unsettled(check.name, "standing", self.sentence(check), self.known.because)
        roots = [self.machine.nets[index].fights for index in check.nets]
        if check.kind == "floats":
            roots += [node for net in check.nets for node in looking(self.machine, net)]
        roots += [self.machine.strobes[number].condition for number in check.strobes]
        return Result(
            name=check.name,
            kind="standing",
            verdict=_asserted(outcome),
            says=self.sentence(check),
            method=outcome.method,
            steps=outcome.steps,
            seconds=outcome.seconds,
            assumes=(*self.assumed, *self.cones.resting(roots).open_high),
            because=outcome.because,
            notes=(IN_PASSING,) if check.name in self.known.passing else (),
            trace=outcome.trace,
            invariant=outcome.invariant,
            proof=outcome.proof,
            engines=outcome.engines,
        )

    # formulas ---------------------------------------------------------------------------------

    def formula_result(self, formula: CompiledFormula) -> Result:
        """A formula, with what it rests on, and its conditions that never come true."""
        name, kind = formula.formula.name, formula.kind
        says = formula.formula.says or formula.formula.text.value
        outcome = self.known.outcomes.get(name)
        if outcome is None:
            return unsettled(
                name, "cover" if kind == "cover" else "assert", says, self.known.because
            )
        resting = self.cones.resting([formula.bad, *(one.node for one in formula.awaited)])
        result = Result(
            name=name,
            kind="cover" if kind == "cover" else "assert",
            verdict=_covered(outcome) if kind == "cover" else _asserted(outcome),
            says=says,
            method=outcome.method,
            steps=outcome.steps,
            seconds=outcome.seconds,
            assumes=(*self.assumed, *resting.open_high),
            because=outcome.because,
            notes=tuple(_readings(formula)),
            trace=outcome.trace,
            invariant=outcome.invariant,
            proof=outcome.proof,
            engines=outcome.engines,
        )
        result = self.with_resting(result, resting)
        if kind == "assert" and result.verdict == "holds":
            result = replace(result, vacuous=self.known.vacuous.get(name))
        return result

    def with_resting(self, result: Result, resting: Resting) -> Result:
        """A proof over levels is worth nothing if a pin below it can pulse, race or float."""
        result = founded(result, self.known.assumptions)
        if result.verdict not in ("holds", "unreachable"):
            return result
        outcomes = self.known.outcomes
        missing = [name for name in resting.checks if name not in outcomes]
        unclean = [
            name
            for name in resting.checks
            if name in outcomes and outcomes[name].verdict != "never"
        ]
        because = f"it rests on pins that are not clean: {', '.join(unclean)}"
        if missing and not unclean:
            because = f"{INTERRUPTED}: it rests on {', '.join(missing)}"
        if not missing and not unclean:
            return result
        return replace(result, verdict="undecided", because=because)


def _readings(formula: CompiledFormula) -> Iterator[str]:
    """In what a formula hardly says what was meant."""
    if formula.kind == "assert" and not goes_on(formula.formula.expr):
        yield AT_FIRST
    for one in formula.wide:
        text = formula.formula.text.value[one.stretch.start : one.stretch.end].strip()
        yield WIDE.format(text=" ".join(text.split()), number=one.number, width=one.width)


def unsettled(name: str, kind: Kind, says: str, because: str) -> Result:
    """The result of what was not looked at to the end."""
    return Result(
        name=name,
        kind=kind,
        verdict="undecided",
        says=says,
        method="",
        steps=0,
        seconds=0.0,
        because=because,
    )


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
