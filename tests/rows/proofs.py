"""The fourth way: rows as questions to the solver, in the encoding that proofs use.

A table of combinational rows is one question: can a quiet moment with the inputs of some row show
anything but the row's outputs? Its inputs are variables. A table with storage is a chain of steps
for each run, the inputs constants and the content of registers, latches and words at the start
variables: can any content make any row come out otherwise? "unsat" is the only good answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from breadproof.specs.catalogue.rows import Stimulus, is_sequential, start_bits
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Solver
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.judging import Trial, idle, told
from breadproof.verify.rows.ways import controls_of, word_bit
from tests.rows.judging import WrongRow

ROUNDS = 3
"""Rounds a step: an edge, what it sets, and one that shows that nothing more changes."""
SECONDS = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a pin or bit shows, as literals: whether it drives, its level, and its net's."""

    drives: int
    level: int
    net: int
    outside: int | None = None

    def unlike(self, aig: Aig, says: str, before: Shown | None) -> int:
        """Whether it is anything but what a row says."""
        level, net = self.level, self.net
        match says:
            case "H":
                return aig.and_((self.drives, level, net)) ^ 1
            case "L":
                return aig.and_((self.drives, level ^ 1, net ^ 1)) ^ 1
            case "Z":
                follows = Aig.true if self.outside is None else net ^ 1 ^ self.outside
                return aig.and2(self.drives ^ 1, follows) ^ 1
        assert before is not None, "no row is before"
        apart = aig.xor(level, before.level)
        on_net = aig.xor(level, net) ^ 1
        if says == "!":
            return aig.and_((self.drives, before.drives, apart, on_net)) ^ 1
        both = aig.and_((self.drives, before.drives, apart ^ 1, on_net))
        neither = aig.and2(self.drives ^ 1, before.drives ^ 1)
        return aig.or_((both, neither)) ^ 1


class FixedFrames(Frames):
    """`Frames` whose controls are constants, ``controls`` by leaf."""

    def __init__(self, machine: Machine) -> None:
        """Leave out what watches for pulses and races, which no row speaks of."""
        super().__init__(replace(machine, strobes=()))
        self.controls: dict[int, int] = {}

    def inputs(self, kind: str) -> dict[int, int]:
        if kind == "control" and self.controls:
            return dict(self.controls)
        return super().inputs(kind)

    def fix(self, levels: Mapping[str, tuple[int, ...]]) -> None:
        """Set controls by name. Only leaves that anybody reads exist."""
        for name, bits in levels.items():
            for leaf, level in zip(self.machine.controls[name], bits, strict=True):
                self.controls[leaf] = Aig.true if level else Aig.false


@dataclass(slots=True)
class Question:
    """All that may go wrong in a run: the literal, the step, and what it means.

    ``cases`` must all be possible, or nothing would be asked. ``given`` is what a table tells of
    the start.
    """

    frames: FixedFrames
    cases: list[int] = field(default_factory=lambda: [Aig.true])
    given: int = Aig.true
    wrong: list[tuple[int, Stimulus, str]] = field(default_factory=list)
    compared: set[Span] = field(default_factory=set)

    def ask(self, trial: Trial) -> None:
        """Raise `WrongRow` unless nothing can go wrong."""
        aig = self.frames.aig
        solver = Solver(aig)
        for literal in self.frames.take_constraints():
            solver.require(literal)
        solver.require(self.given)
        for case in self.cases:
            assert solver.check([case], SECONDS) == "sat", "the encoding contradicts itself"
        answer = solver.check([aig.or_([literal for literal, _, _ in self.wrong])], SECONDS)
        if answer == "unsat":
            return
        if answer == "sat":
            levels = solver.values([literal for literal, _, _ in self.wrong])
            for literal, stimulus, what in self.wrong:
                if levels[literal]:
                    raise WrongRow(told(trial, stimulus, what))
        raise WrongRow(f"{trial.table.origin}: {answer} {solver.reason}")


class InProofs:
    """A chip in the encoding of proofs."""

    def __init__(self, chip: Placed, machine: Machine) -> None:
        self.chip = chip
        self.machine = machine
        self.labels = {
            pin.name: f"{chip.name}.{pin.number}"
            for pin in chip.part.pins
            if pin.kind.drives or pin.name in chip.part.switch_pins
        }

    def judge(self, trial: Trial) -> set[Span]:
        """One run of a table; returns the rows that were compared.

        Raises:
            WrongRow: naming the row.
        """
        sequential = is_sequential(self.chip.part, trial.table)
        return self.chain(trial) if sequential else self.moment(trial)

    def controls(
        self, levels: Mapping[str, int | None], trial: Trial
    ) -> dict[str, tuple[int, ...]]:
        return controls_of(self.chip, self.machine.netlist, levels, trial.dice())

    # combinational ----------------------------------------------------------------------------

    def moment(self, trial: Trial) -> set[Span]:
        """One quiet moment with variables for inputs, and all rows as cases of it."""
        question = Question(FixedFrames(self.machine))
        frames = question.frames
        aig, moment = frames.aig, frames.first()
        levels = idle(self.chip, trial.dice())
        for stimulus in trial.run:
            levels |= dict(stimulus.inputs)
            case = []
            for name, bits in self.controls(levels, trial).items():
                undriven = len(bits) > 1 and not bits[0]  # a port's level is anything then
                for leaf, bit in zip(self.machine.controls[name], bits, strict=True):
                    case.append(moment.controls[leaf] ^ 1 ^ bit)
                    if undriven:
                        break
            case_literal = aig.and_(case)
            question.cases.append(case_literal)
            for name, says in stimulus.expect:
                shown = self.shown(frames, moment, name, levels.get(name))
                wrong = aig.and2(case_literal, shown.unlike(aig, says, None))
                question.wrong.append((wrong, stimulus, f"{name} is to be {says}"))
                question.compared.add(stimulus.span)
        question.ask(trial)
        return question.compared

    # sequential -------------------------------------------------------------------------------

    def chain(self, trial: Trial) -> set[Span]:
        """Steps from any quiet moment with the first inputs."""
        question = Question(FixedFrames(self.machine))
        frames = question.frames
        frames.fix(self.controls(trial.idle(trial.dice()), trial))
        first = frames.first()
        told_bits = start_bits(trial.table)
        start = [
            first.store[store.leaf] ^ 1 ^ told_bits[f"{store.storage}[{store.bit}]"]
            for store in self.machine.stores
            if f"{store.storage}[{store.bit}]" in told_bits
        ]
        question.given = frames.aig.and_(start)
        watched = trial.watched()
        levels: dict[str, int | None] = {}
        before: dict[str, Shown] = {}
        for stimulus, ends in trial.ends():
            levels |= dict(stimulus.inputs)
            frames.fix(self.controls(dict(stimulus.inputs), trial))
            moment = frames.step(ROUNDS)
            question.wrong.append((moment.quiet ^ 1, stimulus, "the chip is to become quiet"))
            shown = {name: self.shown(frames, moment, name, levels.get(name)) for name in watched}
            for name, says in stimulus.expect:
                wrong = shown[name].unlike(frames.aig, says, before.get(name))
                question.wrong.append((wrong, stimulus, f"{name} is to be {says}"))
                question.compared.add(stimulus.span)
            if ends:
                before = shown
        question.ask(trial)
        return question.compared

    # looking ----------------------------------------------------------------------------------

    def shown(self, frames: Frames, moment: Moment, name: str, outside: int | None) -> Shown:
        """A pin, or a bit of storage or of a word, at the quiet moment."""
        if name not in self.labels:
            bit = self.bit(frames, moment, name)
            return Shown(drives=Aig.true, level=bit, net=bit)
        net = self.machine.netlist.net(self.chip.net(name))
        assert net is not None
        levels = moment.rounds[-1].levels
        if name in self.chip.part.switch_pins:
            found = self.machine.nets[net.index]
            level = levels[found.level]
            return Shown(drives=levels[found.driven], level=level, net=level, outside=outside)
        drive = self.machine.drives[self.labels[name]]
        return Shown(
            drives=levels[drive.when],
            level=levels[drive.level],
            net=levels[self.machine.nets[net.index].level],
            outside=outside,
        )

    def bit(self, frames: Frames, moment: Moment, name: str) -> int:
        """A bit after the last round."""
        word = word_bit(name)
        if word is None:
            label = f"{self.chip.name}.{name}"
            return next(moment.store[s.leaf] for s in self.machine.stores if s.label == label)
        place = [memory.storage for memory in self.machine.memories].index(word[0])
        log = frames.memories[place]
        width = len(log.unit.address)
        address = [Aig.true if word[1] >> k & 1 else Aig.false for k in reversed(range(width))]
        return log.read(address, moment.until[place])[word[2]]
