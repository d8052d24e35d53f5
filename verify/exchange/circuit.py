"""A transition system as one synchronous circuit, whose frame k shows step k of a run.

Model checkers for AIGER and BTOR2 know states, inputs and one kind of step. So a latch ``begun``,
low in frame 0 only, tells the first moment from steps: frame 0 takes any state that begins a run
and keeps it; in frame k the state is moment k - 1, and what is shown is moment k. The constraint of
a frame is about that frame alone: a state from which no step leads is shown in the frame before.

An endless run violates a strong operator if it waits from some step on for ever. Justice can only
ask that something comes again and again, so the checker says once from when on (the input
``from now on``), and ``waits`` comes for ever only if it waits ever since.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from breadproof.verify.exchange.through import Through
from breadproof.verify.exchange.waits import numbered
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.memory import Write
from breadproof.verify.prove.system import Array, Goal, Input, Read, System


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch:
    """A bit of the state. ``reset`` is its level in frame 0; None: any."""

    name: str
    literal: int
    next: int
    reset: int | None


@dataclass(frozen=True, slots=True)
class Named:
    """Literals with a name: a property, of one literal or (justice) several."""

    name: str
    literals: tuple[int, ...]

    @property
    def literal(self) -> int:
        """The only one."""
        (literal,) = self.literals
        return literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """``constraints`` hold in every frame up to the last. ``bad`` must never hold. Each of
    ``justice`` is reached by an endless run in which all its literals, and all of ``fair``, hold
    again and again. ``arrays`` hold anything in frame 0."""

    aig: Aig
    inputs: tuple[Input, ...]
    latches: tuple[Latch, ...]
    arrays: tuple[Array, ...]
    reads: tuple[Read, ...]
    constraints: tuple[Named, ...]
    bad: tuple[Named, ...]
    justice: tuple[Named, ...]
    fair: tuple[Named, ...]

    def goals(self) -> list[int]:
        """The literals of all properties and constraints."""
        named = (*self.constraints, *self.bad, *self.justice, *self.fair)
        return [literal for one in named for literal in one.literals]


def circuit(system: System) -> Circuit:
    """The circuit of a system; what reaches none of its properties and constraints is left out."""
    return trimmed(_Work(system).circuit())


class _Work:
    def __init__(self, system: System) -> None:
        self.system = system
        self.aig = system.aig
        self.begun = self.aig.input()
        self.inputs = list(system.inputs)
        self.latches = [Latch(name="begun", literal=self.begun, next=Aig.true, reset=0)]

    def circuit(self) -> Circuit:
        system, aig = self.system, self.aig
        for bit in system.bits:
            after = aig.mux(self.begun, bit.then, bit.now)
            self.latches.append(Latch(name=bit.name, literal=bit.now, next=after, reset=None))
        step = aig.mux(self.begun, aig.and_(system.there), aig.and_(system.first))
        justice = [
            Named(name, (self.for_ever(name, self.shown(goal)),))
            for name, goal in numbered(system.waiting)
        ]
        return Circuit(
            aig=aig,
            inputs=tuple(self.inputs),
            latches=tuple(self.latches),
            arrays=tuple(self.kept(array) for array in system.arrays),
            reads=system.reads,
            constraints=(Named("allowed", (aig.and_([*system.here, step]),)),),
            bad=tuple(Named(one.name, (self.shown(one),)) for one in system.safety),
            justice=tuple(justice),
            fair=tuple(
                Named(name, (self.shown(goal) ^ 1,)) for name, goal in numbered(system.fair)
            ),
        )

    def shown(self, goal: Goal) -> int:
        """A goal at the moment that a frame shows."""
        return self.aig.mux(self.begun, goal.after, goal.at_first)

    def kept(self, array: Array) -> Array:
        """A memory that nothing writes in frame 0."""
        writes = [
            Write(self.aig.and2(self.begun, write.when), write.address, write.word)
            for write in array.writes
        ]
        return replace(array, writes=tuple(writes))

    def for_ever(self, name: str, waits: int) -> int:
        """A literal that holds again and again only in runs in which ``waits`` does so for good."""
        aig = self.aig
        says, said, since = aig.input(), aig.input(), aig.input()
        self.inputs.append(Input(f"{name} from now on", says))
        now = aig.and2(waits, aig.or_([since, aig.and2(says, said ^ 1)]))
        told = aig.or_([said, says])
        self.latches.append(Latch(name=f"{name}: said", literal=said, next=told, reset=0))
        self.latches.append(Latch(name=f"{name}: since", literal=since, next=now, reset=0))
        return now


def trimmed(circuit: Circuit) -> Circuit:
    """The circuit without latches, inputs and memories that reach no property or constraint."""
    through = Through(circuit.aig, circuit.reads)
    next_of = {latch.literal >> 1: latch.next for latch in circuit.latches}
    seen: set[int] = set()
    arrays: set[int] = set()
    roots = circuit.goals()
    while roots:
        new = set(through.cone(roots, seen)) - seen
        seen |= new
        roots = [next_of[variable] for variable in new if variable in next_of]
        for variable in new & set(through.read_of):
            memory = circuit.reads[through.read_of[variable]].memory
            if memory not in arrays:
                arrays.add(memory)
                for write in circuit.arrays[memory].writes:
                    roots += [write.when, *write.address, *write.word]
    place = {memory: number for number, memory in enumerate(sorted(arrays))}
    reads = [read for read in circuit.reads if any(literal >> 1 in seen for literal in read.word)]
    return replace(
        circuit,
        inputs=tuple(one for one in circuit.inputs if one.literal >> 1 in seen),
        latches=tuple(one for one in circuit.latches if one.literal >> 1 in seen),
        arrays=tuple(circuit.arrays[memory] for memory in sorted(arrays)),
        reads=tuple(Read(place[read.memory], read.address, read.word) for read in reads),
    )
