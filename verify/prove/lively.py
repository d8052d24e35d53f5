"""The standing checks that nothing is dead, as results (design.md section 8)."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeGuard

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Control
from breadproof.verify.prove.blocking import Blocking, same_number, side_pins
from breadproof.verify.prove.dead import Happening, happenings
from breadproof.verify.prove.ends import Ends, find_ends, plain
from breadproof.verify.prove.engine import Engine, Property
from breadproof.verify.prove.hoped import hoped
from breadproof.verify.prove.longwalk import seen_on_a_walk
from breadproof.verify.prove.matter import Answer, controls_wired, what_matters
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.verdict import Result, Verdict

Half = Literal["pins", "controls"]
HALVES: tuple[Half, ...] = ("pins", "controls")
"""What can be looked at beside each other: each has a chain of its own."""
MAX_STEPS = 80
"""What no single step brings about is looked for in runs of up to this many: once through four
shift registers of eight bits."""
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


def half_names(machine: Machine, half: Half) -> tuple[str, ...]:
    """The names of one half of the results."""
    controls = {f"dead:{c.name}" for c in controls_wired(machine.netlist)}
    wanted = half == "controls"
    return tuple(name for name in lively_names(machine) if (name in controls) == wanted)


def are_lively(answer: object, machine: Machine, names: Sequence[str]) -> TypeGuard[list[Result]]:
    """Whether what a worker sent can be the results of these names, all and no others."""
    return (
        isinstance(answer, list)
        and all(isinstance(one, Result) and one.kind == "standing" for one in answer)
        and all(one.verdict in ("holds", "fails", "undecided") for one in answer)
        and all(one.trace is None for one in answer)
        and {one.name for one in answer} == {*names} <= {*lively_names(machine)}
        and len(answer) == len(names)
    )


def lively_results(
    engine: Engine,
    seconds: float,
    assumes: tuple[str, ...],
    found: dict[str, Result],
    halves: Sequence[Half] = HALVES,
) -> None:
    """Add all results to what is ``found``, each as soon as it is there; a proof that nothing
    happens names what the board assumes. Those that are there already are not looked at."""
    work = _Work(engine, find_ends(engine.machine), min(seconds, 20.0), assumes, found)
    for half in halves:
        work.pins() if half == "pins" else work.matter()


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
    found: dict[str, Result]
    _blocking: Blocking | None = None

    @property
    def blocking(self) -> Blocking:
        """What blocks things, built when first asked for."""
        if self._blocking is None:
            self.engine.reach(1)
            self._blocking = Blocking(self.engine, self.seconds)
        return self._blocking

    def pins(self) -> None:
        """Outputs, strobes and storage."""
        self.engine.reach(1)
        self.engine.progress("is anything dead?")
        items = happenings(self.engine.machine, self.ends)
        start = time.monotonic()
        for one, settled in self.settle([one for one in items if one.name not in self.found]):
            seconds = time.monotonic() - start
            self.found[one.name] = self.happening(one, settled, seconds)
            start = time.monotonic()

    def matter(self) -> None:
        """Controls."""
        self.engine.progress("does every control matter?")
        start, engine = time.monotonic(), self.engine
        answers = what_matters(engine.machine, engine.rounds, self.ends, self.seconds)
        each = (time.monotonic() - start) / max(1, len(answers))
        for control in controls_wired(engine.machine.netlist):
            self.found[f"dead:{control.name}"] = self.control(control, answers[control.name], each)

    # happenings -------------------------------------------------------------------------------

    def settle(self, items: Sequence[Happening]) -> Iterator[tuple[Happening, _Settled]]:
        """What is known of each, as it is found out; what needs long runs comes last."""
        engine, aig = self.engine, self.engine.frames.aig
        moments = engine.frames.moments[:2]
        literal = {one.name: aig.or_([one.literal(aig, m) for m in moments]) for one in items}
        by_name = {one.name: one for one in items}
        waiting = [list(literal)] if literal else []
        hard: list[Happening] = []
        while waiting:
            chunk = waiting.pop()
            wanted = [literal[name] for name in chunk]
            answer = engine.solver.check([engine.frames.initial, *wanted], self.seconds)
            if answer == "sat":
                yield from ((by_name[name], _Settled("holds", 1)) for name in chunk)
            elif len(chunk) > 1:
                half = len(chunk) // 2
                waiting += [chunk[half:], chunk[:half]]
            else:
                one = by_name[chunk[0]]
                if refuted(engine.solver, [literal[one.name]], self.seconds) == "unsat":
                    proof = Proof(kind="step", clauses=engine.named_clauses)
                    yield one, _Settled("fails", 1, proof=proof)
                else:
                    hard.append(one)
        yield from self.long_runs(hard)

    def long_runs(self, items: Sequence[Happening]) -> Iterator[tuple[Happening, _Settled]]:
        """What no first step of a run brings about, but some step perhaps."""
        engine, aig = self.engine, self.engine.frames.aig

        def wanted(one: Happening) -> Property:
            return Property(name=one.name, bad=lambda moment: one.literal(aig, moment))

        outcomes = hoped(engine, [wanted(one) for one in items], MAX_STEPS, self.seconds)
        left = [one for one in items if outcomes[one.name].verdict == "undecided"]
        walked = seen_on_a_walk(engine.machine, left, self.seconds)
        for one in items:
            outcome = outcomes[one.name]
            match outcome.verdict:
                case _ if one.name in walked:
                    yield one, _Settled("holds", walked[one.name])
                case "reached":
                    yield one, _Settled("holds", outcome.steps)
                case "never":
                    steps, clauses = outcome.steps, engine.named_clauses
                    proof = Proof(kind="induction", steps=steps, clauses=clauses)
                    yield one, _Settled("fails", steps, proof=proof)
                case "undecided":
                    yield one, _Settled("undecided", outcome.steps, outcome.because)

    def happening(
        self,
        one: Happening,
        settled: _Settled,
        seconds: float,
    ) -> Result:
        verdict, because = settled.verdict, settled.because
        if verdict == "fails":
            why = self.blocking.told(one.pins)
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

    def control(self, control: Control, answer: Answer, seconds: float) -> Result:
        verdict: Verdict = "holds"
        because = method = ""
        match answer[0]:
            case "yes":
                method = CARRIED
            case "held":
                method = STANDS_STILL
            case "no":
                verdict, because = "fails", self.cut_off(control, answer[1])
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

    def cut_off(self, control: Control, reached: tuple[str, ...]) -> str:
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
        why = self.blocking.told([label for label in dict.fromkeys(sides) if label not in reached])
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
