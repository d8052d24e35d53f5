"""The standing checks that nothing is dead, as results (design.md section 8)."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeGuard

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Control
from breadproof.verify.prove.blocking import Blocking, same_number, side_pins
from breadproof.verify.prove.dead import Happening, happenings
from breadproof.verify.prove.ends import Ends, find_ends, plain
from breadproof.verify.prove.engine import Engine, Property
from breadproof.verify.prove.matter import Answer, controls_wired, what_matters
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.verdict import Result, Verdict

MAX_STEPS = 6
"""What no single step brings about is looked for in runs of up to this many."""
STANDS_STILL = "the assumptions never let it move"
LOOSE = "only over nets that float or fight, or loops that choose, it may get anywhere"
CARRIED = "step by step, what it moves moves on to what shows"


def lively_names(machine: Machine) -> tuple[str, ...]:
    """The names of these results, in order."""
    ends = find_ends(machine)
    names = [one.name for one in happenings(machine, ends)]
    return (*names, *(f"dead:{c.name}" for c in controls_wired(machine.netlist)))


def control_says(control: Control) -> str:
    """The claim about a control."""
    return f"{control.name} is not cut off from what the board shows and what memories take in."


def unsettled_lively(machine: Machine) -> list[tuple[str, str]]:
    """(name, sentence) of each, where nothing can be said."""
    found = [(one.name, one.says) for one in happenings(machine, find_ends(machine))]
    return found + [(f"dead:{c.name}", control_says(c)) for c in controls_wired(machine.netlist)]


def are_lively(answer: object, machine: Machine) -> TypeGuard[list[Result]]:
    """Whether what a worker sent can be these results, all and no others."""
    return (
        isinstance(answer, list)
        and all(isinstance(one, Result) and one.kind == "standing" for one in answer)
        and all(one.verdict in ("holds", "fails", "undecided") for one in answer)
        and all(one.trace is None for one in answer)
        and tuple(one.name for one in answer) == lively_names(machine)
    )


def lively_results(engine: Engine, seconds: float, assumes: tuple[str, ...]) -> list[Result]:
    """All results; a proof that nothing happens names what the board assumes."""
    return _Work(engine, find_ends(engine.machine), min(seconds, 20.0), assumes).run()


@dataclass(frozen=True, slots=True)
class _Settled:
    """What is known of something that should happen; ``proof`` shows that it never does."""

    verdict: Verdict
    steps: int
    because: str = ""
    proof: Proof | None = None


@dataclass(slots=True)
class _Work:
    engine: Engine
    ends: Ends
    seconds: float
    assumes: tuple[str, ...]

    def run(self) -> list[Result]:
        start = time.monotonic()
        self.engine.reach(1)
        self.engine.progress("is anything dead?")
        items = happenings(self.engine.machine, self.ends)
        verdicts = self.settle(items)
        middle = time.monotonic()
        blocking = Blocking(self.engine, self.seconds)
        each = (middle - start) / max(1, len(items))
        results = [self.happening(one, verdicts[one.name], blocking, each) for one in items]
        self.engine.progress("does every control matter?")
        middle = time.monotonic()
        answers = what_matters(self.engine.machine, self.engine.rounds, self.ends, self.seconds)
        each = (time.monotonic() - middle) / max(1, len(answers))
        for control in controls_wired(self.engine.machine.netlist):
            results.append(self.control(control, answers[control.name], blocking, each))
        return results

    # happenings -------------------------------------------------------------------------------

    def settle(self, items: Sequence[Happening]) -> dict[str, _Settled]:
        """What is known of each."""
        engine, aig = self.engine, self.engine.frames.aig
        moments = engine.frames.moments[:2]
        literal = {one.name: aig.or_([one.literal(aig, m) for m in moments]) for one in items}
        found: dict[str, _Settled] = {}
        waiting = [list(literal)] if literal else []
        while waiting:
            chunk = waiting.pop()
            wanted = [literal[name] for name in chunk]
            answer = engine.solver.check([engine.frames.initial, *wanted], self.seconds)
            if answer == "sat":
                found |= dict.fromkeys(chunk, _Settled("holds", 1))
            elif len(chunk) > 1:
                half = len(chunk) // 2
                waiting += [chunk[half:], chunk[:half]]
        for one in items:
            if one.name not in found:
                found[one.name] = self.hard(one, literal[one.name])
        return found

    def hard(self, one: Happening, literal: int) -> _Settled:
        """What no first step of a run brings about."""
        clauses = self.engine.named_clauses
        if refuted(self.engine.solver, [literal], self.seconds) == "unsat":
            return _Settled("fails", 1, proof=Proof(kind="step", clauses=clauses))
        aig = self.engine.frames.aig
        wanted = Property(name=one.name, bad=lambda moment: one.literal(aig, moment))
        outcome = self.engine.reachable(wanted, MAX_STEPS, self.seconds)
        match outcome.verdict:
            case "reached":
                return _Settled("holds", outcome.steps)
            case "never":
                steps = outcome.steps
                proof = Proof(kind="induction", steps=steps, clauses=clauses)
                return _Settled("fails", steps, proof=proof)
            case "undecided":
                return _Settled("undecided", outcome.steps, outcome.because)

    def happening(
        self,
        one: Happening,
        settled: _Settled,
        blocking: Blocking,
        seconds: float,
    ) -> Result:
        verdict, because = settled.verdict, settled.because
        if verdict == "fails":
            why = blocking.told(one.pins)
            because = f"{one.never}: {why}" if why else one.never
        return Result(
            name=one.name,
            kind="standing",
            verdict=verdict,
            says=one.says,
            method="a run was found in which it does" if verdict == "holds" else "",
            steps=settled.steps,
            seconds=seconds,
            assumes=self.assumes if verdict == "fails" else (),
            because=because,
            proof=settled.proof,
        )

    # controls ---------------------------------------------------------------------------------

    def control(
        self, control: Control, answer: Answer, blocking: Blocking, seconds: float
    ) -> Result:
        verdict: Verdict = "holds"
        because = method = ""
        match answer[0]:
            case "yes":
                method = CARRIED
            case "held":
                method = STANDS_STILL
            case "no":
                verdict, because = "fails", self.cut_off(control, answer[1], blocking)
            case "loose":
                verdict, because = "undecided", LOOSE
            case "unknown":
                verdict, because = "undecided", "no answer in time"
        return Result(
            name=f"dead:{control.name}",
            kind="standing",
            verdict=verdict,
            says=control_says(control),
            method=method,
            steps=0 if verdict == "undecided" else 1,
            seconds=seconds,
            assumes=self.assumes if verdict == "fails" else (),
            because=because,
        )

    def cut_off(self, control: Control, reached: tuple[str, ...], blocking: Blocking) -> str:
        """Where the way of a dead control ends."""
        if not reached:
            return f"{control.name} does nothing: it moves no pin that reads"
        shown = ", ".join(reached[:8]) + (" and more" if len(reached) > 8 else "")
        text = f"{control.name} does nothing that is ever seen: it moves {shown}, no more"
        netlist = self.engine.machine.netlist
        sides: list[str] = []
        for name in dict.fromkeys(label.partition(".")[0] for label in reached):
            part = netlist.part(name)
            if part is None:
                continue
            if part.type.storage or part.type.memories:
                sides += side_pins(part)
                continue
            for pin in part.pins:
                if pin.label in reached and pin.kind.reads:
                    sides += self.beside(name, pin.label)
                    sides += [p.label for p in part.pins if p.kind.reads and same_number(p, pin)]
        why = blocking.told([label for label in dict.fromkeys(sides) if label not in reached])
        return f"{text}; {why}" if why else text

    def beside(self, part: str, label: str) -> list[str]:
        """The other inputs of the gates that read a pin."""
        machine, found = self.engine.machine, list[str]()
        for output, drive in machine.drives.items():
            if output.partition(".")[0] != part:
                continue
            cone = set(machine.graph.cone([drive.level, drive.when], through_was=False))
            if plain(machine, machine.pins[label].level) in cone:
                found += [
                    other
                    for other, pin in machine.pins.items()
                    if other.partition(".")[0] == part
                    and plain(machine, pin.level) in cone
                    and other != label
                ]
        return found
