"""Memories in rows of blocks: a register that remembers which row was read.

A design holds what a memory has shown. Where the words take several rows of blocks, each of them
shows a word of its own, and synthesis keeps the address's upper bits, to choose among these a clock
later. The design has no such register, so it is given one: it takes the upper bits when the word is
taken, and nothing reads it. So the design does what it did, and the netlist's register has
something that it may be alike with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from breadproof.verify.equal.readback import Bit, Circuit, Gate, Memory, Register


def remembering(
    design: Circuit, lines: Mapping[str, int]
) -> tuple[Circuit, dict[int, tuple[int, ...]]]:
    """A design with such registers for memories of which a row has so many address ``lines``; and
    for each register that takes a word's bit, those that go with it, least significant first."""
    work = _Adding(replace(
        design, gates=dict(design.gates), registers=dict(design.registers), names=dict(design.names)
    ))  # fmt: skip
    made: dict[object, tuple[int, ...]] = {}
    found: dict[int, tuple[int, ...]] = {}
    for name, count in lines.items():
        for bit, register in design.registers.items():
            taken = _taken(design, bit, register, design.memories[name])
            if taken is None:
                continue
            key = (name, taken.port, taken.gate and taken.gate.kind, taken.beside)
            if key not in made:
                upper = design.memories[name].reads[taken.port][0][count:]
                made[key] = tuple(work.register(line, taken) for line in upper)
                work.circuit.names[f"{name}.row{len(made)}"] = made[key]
            found[bit] = made[key]
    return work.circuit, found


@dataclass(frozen=True, slots=True)
class _Taken:
    """How a register ``own`` takes the bit ``word`` of a memory's read port: as it is, or through a
    gate that has further inputs ``beside``, such as a clock enable."""

    own: int
    word: int
    port: int
    gate: Gate | None

    @property
    def beside(self) -> tuple[Bit, ...]:
        """The gate's inputs, alike for all bits of a word."""
        called: dict[Bit, Bit] = {self.word: "word", self.own: "own"}
        return tuple(called.get(one, one) for one in (self.gate.inputs if self.gate else ()))


def _taken(design: Circuit, own: int, register: Register, memory: Memory) -> _Taken | None:
    following = register.following
    gate = design.gates.get(following) if isinstance(following, int) else None
    for port, (_, word) in enumerate(memory.reads):
        for source in (following, *(() if gate is None else gate.inputs)):
            if isinstance(source, int) and source in word:
                return _Taken(own, source, port, None if source == following else gate)
    return None


@dataclass(slots=True)
class _Adding:
    """A circuit that is added to."""

    circuit: Circuit

    def register(self, line: Bit, taken: _Taken) -> int:
        """A register that takes an address line as another takes a word's bit; comes up low."""
        own, following = self.free(), line
        if taken.gate is not None:
            instead: dict[Bit, Bit] = {taken.word: line, taken.own: own}
            inputs = tuple(instead.get(one, one) for one in taken.gate.inputs)
            following = self.free(own)
            self.circuit.gates[following] = Gate(taken.gate.kind, inputs)
            self.circuit = replace(self.circuit, order=(*self.circuit.order, following))
        self.circuit.registers[own] = Register(following=following, initial=0)
        return own

    def free(self, beyond: int = 0) -> int:
        """A number that no bit has."""
        return 1 + max(beyond, *_numbers(self.circuit))


def _numbers(circuit: Circuit) -> Iterator[int]:
    rows = [*circuit.names.values(), *circuit.ports.values()]
    for memory in circuit.memories.values():
        rows += [row for read in memory.reads for row in read]
    yield from (bit for row in rows for bit in row if isinstance(bit, int))
    yield from (*circuit.gates, *circuit.registers, *circuit.inputs)
