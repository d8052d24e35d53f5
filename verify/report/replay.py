"""A run walked once more, with every level of the machine kept: what pictures are drawn from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.machine.trace import DontCare, Trace, TraceRound, TraceStep
from breadproof.specs.machine.walk import Numbers, Walker
from breadproof.verify.prove.checks import RoundChecks, count_roots, standing_checks, swing_roots
from breadproof.verify.prove.once import once
from breadproof.verify.report.levelcode import LevelCode

FIGHT = "X"
FLOAT = "Z"
DONT_CARE = "-"


class ReplayMismatch(Exception):
    """A run that does something else when it is walked again: our fault, never the board's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instant:
    """One round of a run."""

    step: int
    round: int
    levels: Round[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """What is between two rounds: their swings and changes, and the checks that are broken."""

    levels: Round[int]
    broken: frozenset[str]


class Replay:
    """All rounds of a run in order; ``first[k]`` and ``last[k]`` are the rounds of step ``k``."""

    def __init__(
        self,
        machine: Machine,
        instants: tuple[Instant, ...],
        passing: Callable[[], tuple[Passing, ...]],
        dont_care: DontCare | None = None,
    ) -> None:
        """Take the rounds that were walked, and what does not matter in them.

        ``passing`` walks once more, for what is between the rounds; few stories ask for it.
        """
        self.machine = machine
        self.instants = instants
        self._walk_passing = passing
        self._passing: tuple[Passing, ...] = ()
        self.dont_care = dont_care or DontCare(controls={}, storage=())
        steps = instants[-1].step + 1
        self.first = [next(k for k, i in enumerate(instants) if i.step == s) for s in range(steps)]
        self.last = [next_first - 1 for next_first in [*self.first[1:], len(instants)]]

    @property
    def passing(self) -> tuple[Passing, ...]:
        """What is between each round and the one before."""
        if not self._passing:
            self._passing = self._walk_passing()
        return self._passing

    def level(self, node: int, at: int) -> int:
        """The level of a node in round ``at`` of the whole run."""
        return self.instants[at].levels.levels[node]

    def net(self, index: int, at: int) -> str:
        """What a probe on a net shows: "0", "1", `FIGHT` or `FLOAT`."""
        net = self.machine.nets[index]
        if self.machine.netlist.nets[index].rail is None and net.level != Graph.TRUE:
            if self.level(net.fights, at):
                return FIGHT
            if not self.level(net.known, at):
                return FLOAT
        return str(self.level(net.level, at))

    def moved(self, index: int, at: int) -> bool:
        """Whether a net shows something else than in the round before."""
        return at > 0 and self.net(index, at) != self.net(index, at - 1)

    def idle(self, control: str, step: int) -> bool:
        """Whether the level of a control in a step does not matter."""
        return step in self.dont_care.controls.get(control, ())

    def swings(self, node: int, at: int) -> bool:
        """Whether a node may pulse in a round, its level settling or not."""
        return at > 0 and self.passing[at].levels.swings[node] == (1, 1)

    def pulses(self, node: int, at: int) -> bool:
        """Whether a node may change more often in a round than it must."""
        return at > 0 and bool(self.passing[at].levels.extra[node])

    def broken_at(self, check: str) -> int:
        """The round of the last step in which a standing check is broken first; else the last."""
        for at in range(self.first[-1], len(self.instants)):
            if self.broken(check, at):
                return at
        return len(self.instants) - 1

    def broken(self, check: str, at: int) -> bool:
        """Whether a standing check is broken in a round."""
        return check in self.passing[at].broken


def replay(machine: Machine, trace: Trace) -> Replay:
    """Walk a run again.

    Raises:
        ReplayMismatch: it goes another way than the trace says.
    """
    walker = _Recorder(machine)
    walker.settler = _level_code(machine)
    _walk(walker, trace)
    return Replay(machine, tuple(walker.kept), lambda: _passing(machine, trace), trace.dont_care)


@once
def _level_code(machine: Machine) -> LevelCode:
    return LevelCode(machine)


def _passing(machine: Machine, trace: Trace) -> tuple[Passing, ...]:
    """What is between the rounds of a run."""
    walker = _Thorough(machine)
    walker.prepare()
    _walk(walker, trace)
    return tuple(walker.passing)


def _walk(walker: _Recorder, trace: Trace) -> None:
    machine = walker.machine
    walker.free = walker.free_given
    walker.choice = walker.choice_given
    walker.storage.update(trace.storage)
    for words, memory in zip(walker.memories, machine.memories, strict=True):
        for address, word in trace.words.get(memory.label, {}).items():
            words[address] = word
    for number, step in enumerate(trace.steps):
        walker.given = step
        walker.number = number
        walker.controls.update(step.controls)
        if number == 0:
            walked = walker.power_up(len(step.rounds))
        else:
            walked = walker.step(step.controls, len(step.rounds))
        if [dict(one.nets) for one in walked.rounds] != [dict(one.nets) for one in step.rounds]:
            raise ReplayMismatch(f"step {number} of a run goes another way when it is walked again")


@dataclass(slots=True)
class _Recorder(Walker):
    """Keeps the levels of all rounds."""

    kept: list[Instant] = field(default_factory=list)
    given: TraceStep | None = None
    number: int = 0

    def free_given(self, reader: str) -> int:
        return 0 if self.given is None else self.given.free.get(reader, 0)

    def choice_given(self, loop: str, cut: int) -> int:
        rounds = () if self.given is None else self.given.rounds
        if self.round_number >= len(rounds):
            return 0
        choices: Mapping[str, int] = rounds[self.round_number].choices
        return choices.get(f"{loop}.{cut}", 0)

    def record(self, now: Round[int]) -> TraceRound:
        self.kept.append(Instant(step=self.number, round=self.round_number, levels=now))
        # Not super(): a dataclass with slots is made anew, and super() would look in the old one.
        return Walker.record(self, now)


@dataclass(slots=True)
class _Thorough(_Recorder):
    """Keeps what is between the rounds, too."""

    passing: list[Passing] = field(default_factory=list)
    checks: RoundChecks[int] | None = None

    def prepare(self) -> None:
        machine = self.machine
        roots = [
            *swing_roots(machine),
            *(net.level for net in machine.nets),
            *(pin.level for pin in machine.pins.values()),
        ]
        self.settler = Settler(machine, Numbers(), roots, [*count_roots(machine), *roots])
        self.checks = RoundChecks(machine, self.settler, standing_checks(machine))

    def record(self, now: Round[int]) -> TraceRound:
        broken: set[str] = set()
        before = self.kept[-1].levels if self.kept else None
        if before is not None and self.round_number == 0:
            before = self.settler.at_rest(before)
        if before is not None and self.checks is not None and self.number > 0:
            found = self.checks.round(before, now)
            broken = {name for name, level in found.items() if level}
        self.passing.append(Passing(levels=now, broken=frozenset(broken)))
        return _Recorder.record(self, now)
