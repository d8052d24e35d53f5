"""One fault judged: by the wiring rules, then by what breaks in one step, then by all there is."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.monitor import FormulaCompiler
from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import BoardFormula, Netlist
from breadproof.specs.netlist.rewire import rewired
from breadproof.specs.reading.diagnostics import BadInput, Problems, Severity
from breadproof.verify.faults.differ import compared
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judged import Detector, Judged, Means
from breadproof.verify.faults.sound import Sound, for_comparison
from breadproof.verify.prove.answers import Answers, Known
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.engine import Property
from breadproof.verify.prove.extract import TraceMismatch, extract
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.properties import check_property, claimed, formula_property
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.prove.witness import confirms
from breadproof.verify.wiring.registry import check_wiring

UNREADABLE = "the board with this fault cannot be read"
"""What a fault comes to that the file's names do not survive."""


class Runs:
    """All runs of a board, from power-on, and what the last step of one may break."""

    def __init__(self, machine: Machine) -> None:
        """Begin with the first quiet moment."""
        self.machine = machine
        self.frames = Frames(machine)
        self.solver = Solver(self.frames.aig)
        self.frames.first()

    @property
    def steps(self) -> int:
        """After so many steps."""
        return len(self.frames.moments) - 1

    def step(self, rounds: int) -> None:
        """One more step, of so many rounds."""
        self.frames.step(rounds)

    def broken(self, properties: Sequence[Property], seconds: float) -> list[Property]:
        """Those that the last step of one run breaks; none if there is no such run, or if it is
        not known in time."""
        moment = self.frames.moments[-1]
        bad = {one.name: one.bad(moment) for one in properties}
        anyone = self.frames.aig.or_(list(bad.values()))
        for literal in self.frames.take_constraints():
            self.solver.require(literal)
        if self.solver.check([self.frames.initial, anyone], seconds) != "sat":
            return []
        values = self.solver.values(sorted(set(bad.values())))
        return [one for one in properties if values[bad[one.name]]]

    def trace(self) -> Trace:
        """The run that was found last.

        Raises:
            TraceMismatch: it cannot be walked (our error).
        """
        return extract(self.frames, self.solver, self.frames.moments)


@dataclass(frozen=True, slots=True)
class Judge:
    """Judges faults of one board. ``seconds`` is the limit of one question; if ``strict``, what
    only warns does not detect."""

    sound: Sound
    seconds: float
    strict: bool = False

    # rules ------------------------------------------------------------------------------------

    def by_rules(self, fault: Fault) -> Judged | None:
        """The answer if a wiring rule fires that is silent without the fault."""
        start = time.monotonic()
        try:
            netlist = fault.make()
        except BadInput as bad:
            return _unclassified(fault, f"{UNREADABLE}: {bad.diagnostics[0].message}")
        new = [
            finding
            for finding in check_wiring(netlist)
            if (finding.code, finding.pins) not in self.sound.told
            and not finding.accepted
            and finding.severity is not Severity.NOTE
        ]
        errors = [finding for finding in new if finding.severity is Severity.ERROR]
        if not errors and (self.strict or not new):
            return None
        first = (errors or new)[0]
        detector = Detector(means="rule", name=first.code, says=first.message, warning=not errors)
        spent = time.monotonic() - start
        return Judged(fault=fault.name, group="detected", detector=detector, seconds=spent)

    # proofs -----------------------------------------------------------------------------------

    def by_proof(self, fault: Fault) -> Judged:
        """The answer of proofs, for what no rule detects.

        Raises:
            TraceMismatch: a run that was found does not show what it is to (our error).
        """
        start = time.monotonic()
        return replace(self.proved(fault), seconds=time.monotonic() - start)

    def proved(self, fault: Fault) -> Judged:
        """As `by_proof`."""
        try:
            machine, unread = machine_of(with_lamps(fault.make(), self.sound.netlist))
        except BadInput as bad:
            return _unclassified(fault, f"{UNREADABLE}: {bad.diagnostics[0].message}")
        if any(formula.kind == "assume" for formula in unread):
            return _unclassified(fault, "an assumption means nothing with this fault")
        assumptions = check_assumptions(machine, Deadline(self.seconds))
        runs = Runs(machine)
        if assumptions.lasting:
            found = self.broken_at(fault, runs)
            if found is not None:
                return found
        quiet = find_rounds(machine, Deadline(self.seconds))
        prover = Prover(machine, seconds=self.seconds, store=self.sound.remembered)
        if quiet.verdict == "holds":
            prover.keeper.begin(quiet)
            if assumptions.lasting:
                runs.step(quiet.rounds)
                found = self.broken_at(fault, runs)
                if found is not None:
                    return found
        results = {result.name: result for result in prover.run()}
        for result in results.values():
            if failing(result) and self.sound.detects(result.name):
                return self.detected(fault, result)
        missing = {formula.name for formula in unread}
        open_ones = [
            name
            for name, result in results.items()
            if result.verdict == "undecided" and self.sound.verdicts.get(name) != "undecided"
        ]
        if open_ones:
            more = f" and {len(open_ones) - 1} more" if len(open_ones) > 1 else ""
            because = results[open_ones[0]].because
            return _unclassified(fault, f"{open_ones[0]}{more} undecided: {because}")
        return self.differing(fault, machine, results, missing)

    def broken_at(self, fault: Fault, runs: Runs) -> Judged | None:
        """The answer if the last step of some run breaks something (0: once power is on).

        Standing checks and formulas are all asked for at once, so this is soon done. A run that was
        walked shows what it shows, whether or not the board gets quiet in all others.
        """
        machine = runs.machine
        properties = [check_property(check.name) for check in standing_checks(machine)]
        properties += [formula_property(f) for f in claimed(machine) if f.kind == "assert"]
        properties = [one for one in properties if self.sound.detects(one.name)]
        broken = runs.broken(properties, self.seconds)
        if not broken:
            return None
        first = next((one for one in broken if one.node), broken[0])  # a formula says more
        if not confirms(machine, first.name, runs.trace()):
            raise TraceMismatch(f"the run for {first.name} with {fault.name} does not show it")
        detector = Detector(
            means=self.means(first.name),
            name=first.name,
            says=self.sentence(first.name, machine),
            steps=runs.steps,
        )
        return Judged(fault=fault.name, group="detected", detector=detector)

    def detected(self, fault: Fault, result: Result) -> Judged:
        """The answer that a result of the board with the fault gives."""
        detector = Detector(
            means=self.means(result.name),
            name=result.name,
            says=f"{result.says} {_why(result)}".strip(),
            steps=result.steps if result.trace is not None else None,
        )
        return Judged(fault=fault.name, group="detected", detector=detector)

    def differing(
        self, fault: Fault, machine: Machine, results: dict[str, Result], unread: set[str]
    ) -> Judged:
        """The answer for a board with the verdicts of the one without the fault."""
        found = compared(self.sound.contacts, for_comparison(machine.wired), fault, self.seconds)
        if found.apart is not None:
            return Judged(fault=fault.name, group="undetected", apart=found.apart)
        if not found.same:
            return _unclassified(fault, found.because)
        # what a part of another type does not have cannot be asked of it
        unsettled = [
            name
            for name in found.rests
            for verdict in (self.sound.verdicts.get(name, "holds"), _verdict(results, name))
            if verdict != "holds"
        ]
        if unsettled:
            because = f"the levels are the same, but {unsettled[0]} is not proved"
            return _unclassified(fault, because)
        other = [
            name
            for name, result in results.items()
            if self.sound.verdicts.get(name, result.verdict) != result.verdict
        ]
        if other:
            because = f"the behaviour is the same, but the verdict on {other[0]} is another"
            return _unclassified(fault, because)
        if unread:
            because = f"the behaviour is the same; what {sorted(unread)[0]} means is not"
            return _unclassified(fault, because)
        return Judged(fault=fault.name, group="redundant")

    # words ------------------------------------------------------------------------------------

    def means(self, name: str) -> Means:
        """Whether a name is that of a formula or of a standing check."""
        formulas = {formula.name for formula in self.sound.netlist.formulas}
        return "formula" if name in formulas else "standing"

    def sentence(self, name: str, faulty: Machine) -> str:
        """What a check claims; one that only the board with the fault has is put into words
        there."""
        for result in self.sound.results:
            if result.name == name:
                return result.says
        for formula in faulty.netlist.formulas:
            if formula.name == name:
                return formula.says or formula.text.value
        answers = Answers(faulty, Known())
        return next(answers.sentence(check) for check in answers.checks if check.name == name)


def with_lamps(netlist: Netlist, sound: Netlist) -> Netlist:
    """The board with a fault, its lamps still there that the fault takes out of any circuit: an
    open leg is on a net of its own, where nothing reaches it, and the lamp is dark."""
    there = {lamp.name for lamp in netlist.lamps}
    for lamp in sound.lamps:
        if lamp.name in there:
            continue
        own = {pin.label: pin.net for pin in netlist.pins() if pin.label in lamp.pins}
        for label, net in own.items():
            if net is None:
                netlist = rewired(netlist, {label: len(netlist.nets)})
    return netlist


def machine_of(netlist: Netlist) -> tuple[Machine, tuple[BoardFormula, ...]]:
    """The machine of a board with a fault, and the formulas that mean nothing there, which are left
    out: those of storage that a chip of another type does not have.

    Raises:
        BadInput: it is no formula that is wrong.
    """
    problems = Problems()
    machine = build_machine(netlist, problems)
    if not problems.found:
        return machine, ()
    bare = build_machine(replace(netlist, formulas=()), Problems())
    kept: list[BoardFormula] = []
    unread: list[BoardFormula] = []
    for formula in netlist.formulas:
        alone = replace(bare, netlist=replace(bare.netlist, formulas=(formula,)))
        wrong = Problems()
        FormulaCompiler(alone).compile_all(wrong)
        (unread if wrong.found else kept).append(formula)
    problems = Problems()
    machine = build_machine(replace(netlist, formulas=tuple(kept)), problems)
    problems.stop_if_any()
    return machine, tuple(unread)


def _why(result: Result) -> str:
    if result.verdict == "unreachable":
        return "With the fault that is out of reach."
    return f"But {result.because}." if result.because else ""


def _verdict(results: dict[str, Result], name: str) -> str:
    return results[name].verdict if name in results else "holds"


def _unclassified(fault: Fault, because: str) -> Judged:
    return Judged(fault=fault.name, group="unclassified", because=because)
