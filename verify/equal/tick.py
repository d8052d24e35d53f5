"""One tick of a circuit as literals."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.verify.equal.readback import Bit, Circuit, Gate, Unreadable
from breadproof.verify.prove.aig import Aig

Read = Callable[[str, Sequence[int]], Sequence[int]]
"""The word of a memory (least significant first) at an address (least significant first)."""


@dataclass(frozen=True, slots=True)
class Levels:
    """The literals of a circuit's bits in one tick."""

    bits: Mapping[int, int]
    loose: Callable[[Bit], int]

    def at(self, bit: Bit) -> int:
        """The level of a bit; of one that nobody drives, or that is undefined, any."""
        if bit == "0":
            return Aig.false
        if bit == "1":
            return Aig.true
        found = None if isinstance(bit, str) else self.bits.get(bit)
        return self.loose(bit) if found is None else found

    def row(self, bits: Iterable[Bit]) -> tuple[int, ...]:
        """The levels of several bits."""
        return tuple(self.at(bit) for bit in bits)


def evaluated(aig: Aig, circuit: Circuit, known: Mapping[int, int], read: Read) -> Levels:
    """All bits in a tick; ``known`` has the literals of inputs and registers."""
    bits = dict(known)
    undriven: dict[Bit, int] = {}

    def loose(bit: Bit) -> int:
        if isinstance(bit, str):
            return aig.input()
        return undriven.setdefault(bit, aig.input())

    levels = Levels(bits, loose)
    for one in circuit.order:
        if isinstance(one, int):
            bits[one] = gate_level(aig, circuit.gates[one], levels.row(circuit.gates[one].inputs))
            continue
        name, port = one
        address, data = circuit.memories[name].reads[port]
        for bit, level in zip(data, read(name, levels.row(address)), strict=True):
            if isinstance(bit, int):
                bits[bit] = level
    return levels


@dataclass(frozen=True, slots=True)
class Decided:
    """The levels of what registers alone decide, if ``register`` tells their own."""

    aig: Aig
    circuit: Circuit
    register: Callable[[int], int]
    found: dict[int, int] = field(default_factory=dict)

    def at(self, bit: Bit) -> int:
        """The level of a bit.

        Raises:
            Unreadable: something else decides it too, such as a pad or a memory.
        """
        wanted = [bit]
        while wanted:
            one = wanted[-1]
            if not isinstance(one, int) or one in self.found:
                wanted.pop()
            elif one in self.circuit.registers:
                self.found[one] = self.register(one)
            elif one not in self.circuit.gates:
                raise Unreadable("a memory block's write port does not hold still")
            else:
                gate = self.circuit.gates[one]
                missing = [i for i in gate.inputs if isinstance(i, int) and i not in self.found]
                wanted += missing
                if not missing:
                    levels = [self._level(i) for i in gate.inputs]
                    self.found[one] = gate_level(self.aig, gate, levels)
        return self._level(bit)

    def _level(self, bit: Bit) -> int:
        """Of one that is undefined, any."""
        if isinstance(bit, int):
            return self.found[bit]
        return int(bit) if bit in ("0", "1") else self.aig.input()

    def row(self, bits: Iterable[Bit]) -> tuple[int, ...]:
        """The levels of several bits."""
        return tuple(self.at(bit) for bit in bits)


def decided(circuit: Circuit, bit: Bit) -> bool:
    """Whether registers alone decide a bit."""
    aig = Aig()
    try:
        Decided(aig, circuit, lambda register: aig.input()).at(bit)
    except Unreadable:
        return False
    return True


def gate_level(aig: Aig, gate: Gate, inputs: Sequence[int]) -> int:
    """What a gate shows."""
    a, *others = inputs
    b = others[0] if others else a
    match gate.kind:
        case "$_BUF_":
            return a
        case "$_NOT_":
            return a ^ 1
        case "$_AND_":
            return aig.and2(a, b)
        case "$_NAND_":
            return aig.and2(a, b) ^ 1
        case "$_OR_":
            return aig.or_((a, b))
        case "$_NOR_":
            return aig.or_((a, b)) ^ 1
        case "$_XOR_":
            return aig.xor(a, b)
        case "$_XNOR_":
            return aig.xor(a, b) ^ 1
        case "$_ANDNOT_":
            return aig.and2(a, b ^ 1)
        case "$_ORNOT_":
            return aig.or_((a, b ^ 1))
        case "$_MUX_":
            return aig.mux(others[1], b, a)
        case kind:
            raise AssertionError(f"no gate: {kind}")
