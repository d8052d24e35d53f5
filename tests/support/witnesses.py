"""Independent witnesses of what a board does, run on the same stimuli and compared round by round.

The Machine goes first. Free levels come from outside and are the same for all; which stable value a
loop takes is the Machine's report, which each other witness takes (and the second evaluator checks
to be a stable value) for just those nets that its own settling leaves open.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from itertools import product
from random import Random
from typing import Protocol

from breadproof.export.simulate import Bench
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.specs.netlist.model import Netlist
from tests.support.second_evaluator import (
    MAX_ROUNDS,
    NeverQuiet,
    NotStable,
    SecondBoard,
    SecondRound,
    TooTangled,
)

TRIES = 200
"""So often a step is tried before its loops are taken to have no stable value."""

Controls = Mapping[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """The content of registers, latches (``U3.R[2]``) and memories (``U7.M``), and the controls."""

    storage: Mapping[str, int]
    memories: Mapping[str, Sequence[int]]
    controls: Controls


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenRound:
    """What a witness saw in one round; ``stored`` is None if it cannot see inside.

    ``nets`` are the settled levels, ``stored`` the registers and latches after the round.
    ``choices`` are what was chosen for loops, ``open_nets`` the nets that settling left open.
    """

    nets: Mapping[str, int]
    stored: Mapping[str, int] | None = None
    choices: Mapping[str, int] = field(default_factory=dict)
    open_nets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What a witness saw in one step.

    ``quiet`` is None if it cannot tell what the board does, ``writes`` if it cannot tell what was
    written.
    """

    rounds: tuple[SeenRound, ...]
    quiet: bool | None = True
    writes: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One step to be made: what changes, the free levels by reader, what was seen by others.

    ``second`` is what the second evaluator saw: it tells which nets a loop leaves open.
    """

    controls: Controls
    free: Callable[[str], int]
    machine: Seen | None = None
    second: Seen | None = None

    def chosen(self, number: int) -> Mapping[str, int] | None:
        """The Machine's levels in a round."""
        if self.machine is None or number >= len(self.machine.rounds):
            return None
        return self.machine.rounds[number].nets


class Witness(Protocol):
    """Somebody who can run a board."""

    name: str

    def power_up(self, moment: Moment) -> Seen:
        """The rounds from power-on to the first quiet moment."""

    def step(self, moment: Moment) -> Seen:
        """The rounds of one step."""

    def memories(self) -> Mapping[str, Sequence[int]] | None:
        """The words of the memories now; None if it cannot see inside."""


class _Recorded(Walker):
    """A `Walker` that keeps what it saw even if the board does not get quiet."""

    __slots__ = ("seen", "unsettled")
    seen: list[SeenRound]
    unsettled: bool

    def advance(self, now: Round[int]) -> bool:
        self.unsettled = bool(now.unsettled)
        if self.unsettled:
            self.seen.append(SeenRound(nets=self.record(now).nets))
            raise NotQuiet("a loop is unsettled")
        changed = super().advance(now)
        nets = self.record(now)
        self.seen.append(SeenRound(nets=nets.nets, choices=nets.choices, stored=dict(self.storage)))
        return changed


class MachineWitness:
    """The Machine, walked with numbers. ``seed`` decides what loops are offered."""

    def __init__(self, machine: Machine, start: Start, seed: int) -> None:
        self.name = "Machine"
        self.steps = self.tries = 0

        def choose(loop: str, cut: int) -> int:
            walked = (seed, self.steps, self.tries, self.walker.round_number)
            place = f"{walked} {loop} {cut}"
            return Random(place).getrandbits(1)

        self.walker = _Recorded(
            machine, choice=choose, storage=dict(start.storage), controls=dict(start.controls)
        )
        self.walker.seen = []
        for words, memory in zip(self.walker.memories, machine.memories, strict=True):
            words[:] = start.memories.get(memory.label, words)

    def power_up(self, moment: Moment) -> Seen:
        return self._run(moment, self.walker.power_up)

    def step(self, moment: Moment) -> Seen:
        return self._run(moment, lambda: self.walker.step(moment.controls))

    def _run(self, moment: Moment, act: Callable[[], TraceStep]) -> Seen:
        """Make a step; again with other choices if a loop was in no stable state in some round."""
        walker = self.walker
        walker.free = moment.free
        self.steps += 1
        start = (
            dict(walker.storage),
            [list(words) for words in walker.memories],
            dict(walker.controls),
            walker.before,
        )
        for self.tries in range(TRIES):
            walker.storage, walker.controls = dict(start[0]), dict(start[2])
            walker.memories = [list(words) for words in start[1]]
            walker.before = start[3]
            walker.seen, walker.unsettled = [], False
            writes: tuple[str, ...] | None = None
            with suppress(NotQuiet):
                writes = act().writes
            if not walker.unsettled:
                break
        quiet = writes is not None and not walker.unsettled
        return Seen(rounds=tuple(walker.seen), quiet=quiet, writes=writes)

    def shorted(self) -> bool:
        """Whether somebody drives against a supply now."""
        machine, now = self.walker.machine, self.walker.before
        return now is not None and any(
            now.levels[level.fights]
            for net, level in zip(machine.netlist.nets, machine.nets, strict=True)
            if net.rail is not None
        )

    def memories(self) -> Mapping[str, Sequence[int]]:
        pairs = zip(self.walker.machine.memories, self.walker.memories, strict=True)
        return {memory.label: words for memory, words in pairs}


class SecondWitness:
    """The second evaluator."""

    def __init__(self, netlist: Netlist, start: Start) -> None:
        self.name = "second evaluator"
        self.board = SecondBoard(netlist, start.controls, start.storage, start.memories)

    def power_up(self, moment: Moment) -> Seen:
        return self._run(moment, lambda: self.board.power_up(moment.free, moment.chosen))

    def step(self, moment: Moment) -> Seen:
        act = partial(self.board.step, moment.controls, moment.free, moment.chosen)
        return self._run(moment, act)

    def _run(self, moment: Moment, act: Callable[[], list[SecondRound]]) -> Seen:
        lost = Seen(rounds=(), quiet=None)
        try:
            rounds = act()
        except NeverQuiet:
            return Seen(rounds=(), quiet=False)
        except TooTangled:
            return lost
        except NotStable:
            # The Machine found no stable value in the tries it had, though there is one.
            if moment.machine is not None and not moment.machine.quiet:
                return lost
            raise
        if self.board.ambiguous:
            return lost
        return Seen(
            rounds=tuple(
                SeenRound(nets=one.nets, stored=one.stored, open_nets=one.open_nets)
                for one in rounds
            ),
            writes=tuple(sorted({part for one in rounds for part in one.written})),
        )

    def memories(self) -> Mapping[str, Sequence[int]]:
        return {
            f"{part}.{name}": [words[address] for address in range(len(words))]
            for (part, name), words in self.board.memories.items()
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimuli:
    """A start and the changes of controls; ``seed`` decides free levels and loops' choices."""

    start: Start
    changes: tuple[Controls, ...]
    seed: int

    def free(self, step: int) -> Callable[[str], int]:
        """The free levels of a step: any level for each reader."""
        return lambda reader: Random(f"{self.seed} {step} {reader}").getrandbits(1)


class AmaranthWitness:
    """The exported Amaranth modules in Amaranth's simulator.

    Nets that a loop leaves open are started from the Machine's levels, and have to keep them.
    """

    def __init__(self, netlist: Netlist, start: Start) -> None:
        self.name = "Amaranth"
        self.bench = Bench(netlist)
        self.numbers = {net.name: net.index for net in netlist.nets}
        self.bench.set_storage(start.storage)
        for label, words in start.memories.items():
            self.bench.set_words(label, dict(enumerate(words)))
        self.bench.set_controls(start.controls)

    def power_up(self, moment: Moment) -> Seen:
        return self._run(moment)

    def step(self, moment: Moment) -> Seen:
        self.bench.set_controls(moment.controls)
        return self._run(moment)

    def _run(self, moment: Moment) -> Seen:
        bench, found, writes = self.bench, [], set()
        bench.set_free({name: moment.free(name) for name in bench.lowered.free})
        if moment.machine is not None and not moment.machine.quiet:
            return Seen(rounds=(), quiet=None)
        for number in range(MAX_ROUNDS):
            bench.settle()
            self._steer(moment, number)
            nets = bench.levels()
            writes |= {label.rpartition(".")[0] for label in bench.writing()}
            unsettled = bench.unsettled()
            changes = bench.advance()
            found.append(SeenRound(nets=nets, stored=bench.storage()))
            if not changes and not unsettled:
                return Seen(rounds=tuple(found), writes=tuple(sorted(writes)))
        return Seen(rounds=tuple(found), quiet=False)

    def _steer(self, moment: Moment, number: int) -> None:
        """Let the loops that are open take the Machine's levels."""
        bench, wanted = self.bench, moment.chosen(number)
        seen = moment.second.rounds if moment.second is not None else ()
        if wanted is None or number >= len(seen) or not seen[number].open_nets:
            return
        levels = {self.numbers[name]: wanted[name] for name in seen[number].open_nets}
        unsure = [h.net for h in bench.lowered.held if h.net in levels and h.known is not None]
        for known in product((1, 0), repeat=len(unsure)):
            if bench.levels() == wanted and not bench.unsettled():
                return
            bench.set_loops(levels, dict(zip(unsure, known, strict=True)))
            bench.settle()

    def memories(self) -> None:
        """Not compared: words are seen when they are read."""


class Disagreement(AssertionError):
    """Two witnesses saw different things."""


def compare(machine: Machine, stimuli: Stimuli, others: Sequence[Witness]) -> list[Seen]:
    """Run all witnesses; returns what the Machine saw.

    Ends early, without complaint, where all agree that the board does not get quiet, where the
    first of the others cannot tell what a loop does (levels alone do not always show it), and where
    a supply is shorted: while that passes, the Machine leaves more open than it must.
    """
    first = MachineWitness(machine, stimuli.start, stimuli.seed)
    seen: list[Seen] = []
    for number in range(len(stimuli.changes) + 1):
        controls = stimuli.changes[number - 1] if number else {}
        moment = Moment(controls=controls, free=stimuli.free(number))
        mine = first.step(moment) if number else first.power_up(moment)
        second: Seen | None = None
        for other in others:
            told = Moment(controls=controls, free=moment.free, machine=mine, second=second)
            theirs = other.step(told) if number else other.power_up(told)
            if theirs.quiet is None and second is None:
                return seen
            agree(number, first, mine, other, theirs)
            second = second or theirs
        seen.append(mine)
        if not mine.quiet or first.shorted():
            break
    return seen


def agree(step: int, first: Witness, mine: Seen, other: Witness, theirs: Seen) -> None:
    """Raise `Disagreement` at the first thing in which two witnesses differ."""
    where = f"step {step}: {first.name} and {other.name}"
    if theirs.quiet is None:
        return
    if mine.quiet != theirs.quiet:
        raise Disagreement(f"{where}: quiet is {mine.quiet} and {theirs.quiet}")
    if not mine.quiet:
        return
    for number, (one, two) in enumerate(zip(mine.rounds, theirs.rounds, strict=False)):
        differing = {n: (a, two.nets[n]) for n, a in one.nets.items() if a != two.nets[n]}
        if differing:
            raise Disagreement(f"{where}: round {number}: nets {differing}")
        if one.stored is not None and two.stored is not None and one.stored != two.stored:
            bits = {n: (b, two.stored[n]) for n, b in one.stored.items() if b != two.stored[n]}
            raise Disagreement(f"{where}: after round {number}: storage {bits}")
    if len(mine.rounds) != len(theirs.rounds):
        raise Disagreement(f"{where}: {len(mine.rounds)} rounds and {len(theirs.rounds)}")
    if mine.writes is not None and theirs.writes is not None and mine.writes != theirs.writes:
        raise Disagreement(f"{where}: writes {mine.writes} and {theirs.writes}")
    one_words, two_words = first.memories(), other.memories()
    if one_words is not None and two_words is not None and one_words != two_words:
        raise Disagreement(f"{where}: the memories differ")
