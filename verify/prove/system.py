"""The board as a transition system: one step from any quiet moment, as literals.

A state is a quiet moment: the bits that later steps depend on (`cubes.state`) and the words of all
memories that are written. A `System` says which states are quiet moments (``here``), which of them
begin a run (``first``), and for any levels of ``inputs`` where a step leads and whether there is
such a step (``there``). Each property has a literal at a first moment and one after a step.

It has exactly the board's runs, moment by moment:

- Every first quiet moment of a run meets ``here`` and ``first``: storage, loops, floating pins and
  memories hold anything that one more round would not change, the controls and assumptions allow
  it, and the formulas remember what they begin with. Each state that meets both is one: real
  storage comes up holding it, in the proved number of rounds or fewer.
- The step is that of `Frames`, whose number of rounds is proved (`quiet.find_rounds`) to be enough
  from every quiet moment. So it ends in a quiet moment, which meets ``here`` again, and its last
  round shows the levels that this state has on its own: nothing that a formula looks at, or that
  another step starts from, is left out of the state. What a formula remembers is the level that it
  hands on: where that follows from the state, it is no bit of its own.
- A memory is an array. ``reads`` are all that a step reads of what it held before; a read after a
  write of the same step sees that write. What it holds afterwards are its ``writes``, in order.

``there`` belongs to the step and so does a property's ``after``: a step that is not allowed shows
nothing. A state from which no step is allowed hides nothing either, because the violation in it was
seen on the way there (``after``) or at the start (``at_first``). Nobody may demand of a violating
state that a step leads on from it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.cubes import Bit, bit_name, naming, state
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.memory import Address, MemoryLog, Word, Write
from breadproof.verify.prove.tracked import VIOLATED, Tracked, Tracker
from breadproof.verify.prove.watched import watch

COUNTS = "counts"
"""The name of the bit that tells that the address counts of each tracked word."""


@dataclass(frozen=True, slots=True)
class Input:
    """A literal that may have any level in each step: what the world chooses."""

    name: str
    literal: int


@dataclass(frozen=True, slots=True)
class Read:
    """The word that a memory held at ``address`` before the step; ``word`` are variables.

    Literals of an address depend only on words of reads that come before it in `System.reads`.
    """

    memory: int
    address: Address
    word: Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Array:
    """A memory that is written: ``2 ** address_bits`` words of ``word_bits`` each.

    A step's ``writes`` happen in order; the last one to an address counts.
    """

    name: str
    address_bits: int
    word_bits: int
    writes: tuple[Write, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """Something that holds at a moment or not: a violation, a cover, a strong operator that waits.

    ``at_first`` is its literal at a first moment, ``after`` that at the end of a step.
    """

    name: str
    at_first: int
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Safety(Goal):
    """A formula's or standing check's violation; for a cover, that it is reached."""

    kind: Literal["assert", "cover", "standing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting(Goal):
    """A strong operator of formula ``name``: it is violated if it waits from some step on for ever.

    ``text`` is what it waits for, as it was written.
    """

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """See the module. ``here``, ``first`` and ``there`` are literals all of which must hold.

    ``bits`` are the variables of the state with their literals after the step; ``names`` has these
    literals (now, then) of every bit of `cubes.state`, those too that follow from others. An
    endless run counts only if it meets each of ``fair`` again and again: its literal is that of an
    assumption that still waits, so that it must be false infinitely often. ``nested`` are formulas
    with strong operators about which endless runs are not told (on a board with contacts that
    bounce, all of these).
    """

    aig: Aig
    rounds: int
    bits: tuple[Bit, ...]
    names: dict[str, tuple[int, int]]
    inputs: tuple[Input, ...]
    arrays: tuple[Array, ...]
    reads: tuple[Read, ...]
    here: tuple[int, ...]
    first: tuple[int, ...]
    there: tuple[int, ...]
    safety: tuple[Safety, ...]
    waiting: tuple[Waiting, ...]
    fair: tuple[Goal, ...]
    nested: tuple[str, ...]

    def roots(self) -> list[int]:
        """All literals that are made of the state, the inputs and what is read."""
        found = [*self.here, *self.first, *self.there, *(bit.then for bit in self.bits)]
        for goal in (*self.safety, *self.waiting, *self.fair):
            found += [goal.at_first, goal.after]
        for array in self.arrays:
            for write in array.writes:
                found += [write.when, *write.address, *write.word]
        for read in self.reads:
            found += read.address
        return found

    def only(self, names: Iterable[str]) -> System:
        """The same system with the properties of these names alone."""
        wanted = set(names)
        return replace(
            self,
            safety=tuple(one for one in self.safety if one.name in wanted),
            waiting=tuple(one for one in self.waiting if one.name in wanted),
            nested=tuple(one for one in self.nested if one in wanted),
        )


def board_system(
    machine: Machine,
    rounds: int,
    words: Sequence[Tracked] = (),
    name: str = "",
    more: Mapping[str, Callable[[Aig, Moment], int]] | None = None,
) -> System:
    """The system of a board, each step of which takes ``rounds`` rounds (that is to be proved).

    With ``words`` their addresses belong to the state; property ``name``, the only one, is then
    violated after a step only where that counts (see `tracked`). ``more`` are properties beside the
    board's own: what violates them at a moment.

    Raises:
        AssertionError: a literal depends on something that is neither state, input nor read (our
            error).
    """
    system = _Builder(machine, rounds, words, more or {}).system()
    if words:
        system = _counted(system, name)
    known = {bit.now >> 1 for bit in system.bits} | {one.literal >> 1 for one in system.inputs}
    known |= {literal >> 1 for read in system.reads for literal in read.word}
    for variable in system.aig.cone(system.roots(), known):
        if system.aig.fanin[variable] is None:
            raise AssertionError(f"v{variable} is neither of the state nor an input")
    return system


def _counted(system: System, name: str) -> System:
    """A system with one property, whose first violation counts, and that if ``COUNTS`` holds."""
    aig, (goal,) = system.aig, system.only([name]).safety
    before = aig.input()
    now, then = before, aig.or_([before, goal.after])
    after = aig.and_([goal.after, before ^ 1, system.names[COUNTS][1]])
    return replace(
        system.only([name]),
        bits=(*system.bits, Bit(VIOLATED, now, then)),
        names={**system.names, VIOLATED: (now, then)},
        first=(*system.first, aig.xor(before, goal.at_first) ^ 1),
        safety=(replace(goal, after=after),),
    )


class _FirstContent(MemoryLog):
    """A memory whose first content is an array outside: each first read is noted, none compared."""

    __slots__ = ("number", "shared")

    def __init__(self, aig: Aig, machine: Machine, number: int, shared: list[Read]) -> None:
        super().__init__(aig, machine.memories[number])
        self.number = number
        self.shared = shared

    def first(self, address: Address) -> Word:
        if address not in self.first_reads:
            word = tuple(self.aig.input() for _ in range(self.unit.bits))
            self.first_reads[address] = word
            self.shared.append(Read(self.number, address, word))
        return self.first_reads[address]


class _Builder:
    def __init__(
        self,
        machine: Machine,
        rounds: int,
        words: Sequence[Tracked],
        more: Mapping[str, Callable[[Aig, Moment], int]],
    ) -> None:
        self.machine = machine
        self.more = more
        self.rounds = rounds
        self.frames = frames = Frames(machine)
        self.aig = frames.aig
        self.reads: list[Read] = []
        for number, unit in enumerate(machine.memories):
            if unit.contents is None:
                if unit.words != 1 << len(unit.address):
                    raise AssertionError(f"{unit.label} has addresses without a word")
                frames.memories[number] = _FirstContent(self.aig, machine, number, self.reads)
        self.tracker = Tracker(frames, words)

    def system(self) -> System:
        frames, machine = self.frames, self.machine
        self.tracker.begin()
        moment = frames.quiet_moment()
        here = frames.take_constraints()
        first = self.beginning(moment)
        handed = self.handed_on(moment, first)
        frames.moments = [replace(moment, values=handed)]
        after = frames.step(self.rounds)
        there = frames.take_constraints()
        now = state(machine, machine.logic.monitors, frames.moments[0])
        then = state(machine, machine.logic.monitors, after)
        self.tracked(after, now, then)
        return System(
            aig=self.aig,
            rounds=self.rounds,
            bits=tuple(self.bits(now, then)),
            names={name: (literal, then[name]) for name, literal in now.items()},
            inputs=tuple(self.inputs(after)),
            arrays=tuple(self.arrays()),
            reads=self.numbered(),
            here=tuple(here),
            first=tuple(self.first_conditions(moment, first, handed)),
            there=tuple(there),
            safety=tuple(self.safety(first, after)),
            waiting=tuple(self.waiting(first, after)),
            fair=tuple(self.fair(first, after)),
            nested=tuple(f.formula.name for f in machine.logic.formulas if self.untold(f)),
        )

    def tracked(self, after: Moment, now: dict[str, int], then: dict[str, int]) -> None:
        """Add the tracked words' bits to the two, and whether a violation counts."""
        literals = self.tracker.end(self.frames.moments[0], after)
        found = watch(self.machine, self.aig, literals, now, then, naming(self.machine))
        now |= {name: literal for name, (literal, _) in found.bits.items()}
        then |= {name: literal for name, (_, literal) in found.bits.items()}
        if literals:
            now[COUNTS] = self.aig.and_([word.match for word in literals])
            then[COUNTS] = self.aig.and_([word.match_then for word in literals])

    # moments ----------------------------------------------------------------------------------

    def beginning(self, moment: Moment) -> Moment:
        """The same quiet moment as the first of a run."""
        monitors = {m.leaf: int(m.initial) for m in self.machine.logic.monitors}
        first = replace(moment, monitors=monitors, broken={}, values={})
        self.frames.check_at_rest(first)
        self.frames.evaluate(first, self.frames.gathered_at(moment.rounds[0]))
        return first

    def handed_on(self, moment: Moment, first: Moment) -> dict[int, int]:
        """What the formulas hand on to the step, by node: a new variable unless it follows from
        the levels of the moment, so that it is the same at a first moment and at any other."""
        values: dict[int, int] = {}
        for monitor in self.machine.logic.monitors:
            node = monitor.next
            if node not in values:
                level = first.values[node]
                values[node] = level if self.follows(node) else self.aig.input()
        return values

    def follows(self, node: int) -> bool:
        graph = self.machine.graph
        for one in graph.cone([node]):
            leaf = graph.leaf_of(one)
            if graph.kinds[one] is Kind.WAS:
                return False
            if leaf is not None and leaf.kind in ("monitor", "gathered"):
                return False
        return True

    def first_conditions(self, moment: Moment, first: Moment, handed: dict[int, int]) -> list[int]:
        machine, aig = self.machine, self.aig
        found = [moment.store[leaf] ^ 1 ^ sure for leaf, sure in machine.first]
        found += [first.values[f.bad] ^ 1 for f in machine.logic.formulas if f.kind == "assume"]
        found += [aig.xor(level, first.values[node]) ^ 1 for node, level in handed.items()]
        found += self.tracker.first_conditions()
        return [literal for literal in found if literal != Aig.true]

    # what it is made of -----------------------------------------------------------------------

    def bits(self, now: dict[str, int], then: dict[str, int]) -> list[Bit]:
        words = {literal for read in self.reads for literal in read.word}
        found: dict[int, Bit] = {}
        for name, literal in now.items():
            free = literal > Aig.true and not literal & 1 and literal not in words
            if free and self.aig.fanin[literal >> 1] is None:
                found.setdefault(literal, Bit(name, literal, then[name]))
        return list(found.values())

    def inputs(self, after: Moment) -> list[Input]:
        graph = self.machine.graph
        found = [
            Input(f"next {bit_name(graph, leaf)}", literal)
            for leaf, literal in (*after.controls.items(), *after.free.items())
        ]
        for number, choices in enumerate(after.choices):
            for leaf, literal in choices.items():
                what = graph.leaf_of(leaf)
                if what is None:
                    raise AssertionError("only leaves are chosen")
                name = f"choice {what.name.partition('#')[0]}[{what.bit}] in round {number + 1}"
                found.append(Input(name, literal))
        return found

    def written(self) -> list[int]:
        memories = self.machine.memories
        return [number for number, unit in enumerate(memories) if unit.contents is None]

    def arrays(self) -> list[Array]:
        found = []
        for number in self.written():
            log = self.frames.memories[number]
            found.append(
                Array(
                    name=log.unit.label,
                    address_bits=len(log.unit.address),
                    word_bits=log.unit.bits,
                    writes=tuple(log.writes),
                )
            )
        return found

    def numbered(self) -> tuple[Read, ...]:
        """The reads, with the numbers of the arrays."""
        place = {number: k for k, number in enumerate(self.written())}
        return tuple(Read(place[one.memory], one.address, one.word) for one in self.reads)

    # properties -------------------------------------------------------------------------------

    def safety(self, first: Moment, after: Moment) -> Sequence[Safety]:
        found = [
            Safety(
                name=check.name,
                at_first=first.broken[check.name],
                after=after.broken[check.name],
                kind="standing",
            )
            for check in self.frames.checks
        ]
        for name, bad in self.more.items():
            levels = (bad(self.aig, first), bad(self.aig, after))
            found.append(Safety(name=name, at_first=levels[0], after=levels[1], kind="standing"))
        for formula in self.machine.logic.formulas:
            if formula.kind != "assume":
                found.append(
                    Safety(
                        name=formula.formula.name,
                        at_first=first.values[formula.bad],
                        after=after.values[formula.bad],
                        kind=formula.kind,
                    )
                )
        return found

    def waiting(self, first: Moment, after: Moment) -> Sequence[Waiting]:
        return [
            Waiting(
                name=formula.formula.name,
                at_first=first.values[one.node],
                after=after.values[one.node],
                text=one.text,
            )
            for formula in self.machine.logic.formulas
            if formula.kind == "assert" and not self.untold(formula)
            for one in formula.awaited
        ]

    def untold(self, formula: CompiledFormula) -> bool:
        """Whether nothing is said of its endless runs: that a contact bounces at last no more is no
        `Goal`."""
        return formula.nested or bool(formula.awaited and self.machine.netlist.bounces)

    def fair(self, first: Moment, after: Moment) -> Sequence[Goal]:
        return [
            Goal(
                name=formula.formula.name,
                at_first=first.values[one.node],
                after=after.values[one.node],
            )
            for formula in self.machine.logic.formulas
            if formula.kind == "assume"
            for one in formula.awaited
        ]
