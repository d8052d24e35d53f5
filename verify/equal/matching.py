"""Which bit of the hardware is what of the board, by the maps that the export leaves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from breadproof.export.lowering.attributes import place_of
from breadproof.export.lowering.board import Lowered
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.readback import Bit, Circuit, Memory


class Unmatched(Exception):
    """The hardware lacks something of the board, or holds more than the board can."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldBits:
    """The registers of a net by which a loop is cut; ``known`` is None if it always has a level."""

    net: int
    level: int
    known: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """The board's things in the hardware.

    ``controls`` (inputs), those with a ``fixed`` level, and ``stores`` (registers) by leaf;
    ``memories`` by number; ``nets`` by index; ``lamps`` and ``outputs`` by name, bit 0 of these the
    port's last net. ``tick`` counts the ticks of a round; ``unsettled`` is None where a round has
    one.
    """

    controls: dict[int, int]
    fixed: Mapping[int, int]
    stores: dict[int, int]
    memories: tuple[str, ...]
    held: tuple[HeldBits, ...]
    tick: tuple[int, ...]
    ticks: int
    nets: tuple[Bit, ...]
    lamps: dict[str, Bit]
    outputs: dict[str, tuple[Bit, ...]]
    unsettled: Bit | None


def matched(
    machine: Machine,
    lowered: Lowered,
    circuit: Circuit,
    names: Mapping[str, str],
    without: str = "",
    fixed: Mapping[int, int] = MappingProxyType({}),
) -> Matched:
    """Match by name; ``names`` are the attributes that are called otherwise in the hardware, and
    ``without`` is a control that is no input of it, nor are those whose leaves are ``fixed``.

    Raises:
        Unmatched: if a name is missing, or is not what it must be.
    """
    return _Matching(machine, lowered, circuit, names, without, fixed).all()


class _Matching:
    def __init__(
        self,
        machine: Machine,
        lowered: Lowered,
        circuit: Circuit,
        names: Mapping[str, str],
        without: str,
        fixed: Mapping[int, int],
    ) -> None:
        self.machine = machine
        self.lowered = lowered
        self.circuit = circuit
        self.names = names
        self.without = without
        self.fixed = fixed

    def all(self) -> Matched:
        lowered, ticks = self.lowered, self.lowered.cuts.ticks
        tick: tuple[int, ...] = ()
        if ticks > 1:
            bits = range(len(self.bits("tick")))
            tick = tuple(self.register(f"tick[{bit}]") for bit in bits)
        return Matched(
            controls=self.controls(),
            fixed=self.fixed,
            stores=self.stores(),
            memories=self.memories(),
            held=tuple(
                HeldBits(
                    net=held.net,
                    level=self.register(held.level),
                    known=None if held.known is None else self.register(held.known),
                )
                for held in lowered.held
            ),
            tick=tick,
            ticks=ticks,
            nets=tuple(self.bit(attribute) for attribute in lowered.nets),
            lamps={name: self.lamp(at) for name, at in lowered.lamps.items()},
            outputs={name: self.port(at) for name, at in lowered.outputs.items()},
            unsettled=self.port("unsettled")[0] if ticks > 1 else None,
        )

    def port(self, attribute: str) -> tuple[Bit, ...]:
        """The bits of a port, which has the name that it must have, whatever ``names`` says."""
        if attribute not in self.circuit.ports:
            raise Unmatched(f"the hardware has no port '{attribute}'")
        return self.circuit.ports[attribute]

    def bits(self, attribute: str) -> tuple[Bit, ...]:
        """The bits of an attribute of the top class, least significant first."""
        name = self.names.get(attribute, attribute)
        if name not in self.circuit.names:
            raise Unmatched(f"the hardware has no '{attribute}'")
        return self.circuit.names[name]

    def bit(self, attribute: str) -> Bit:
        """One bit: of a signal of one bit, or as ``bus[3]``."""
        return self.picked(attribute, self.bits)

    def lamp(self, attribute: str) -> Bit:
        """A lamp's bit: its port, or a bit of the port of its row, as ``LB[3]``."""
        return self.picked(attribute, self.port)

    def picked(self, attribute: str, bits_of: Callable[[str], tuple[Bit, ...]]) -> Bit:
        """The bit that an attribute names, of what ``bits_of`` finds by the name before it."""
        name, place = place_of(attribute)
        bits = bits_of(name)
        if (place or 0) >= len(bits):
            raise Unmatched(f"the hardware has no '{attribute}'")
        return bits[place or 0]

    def register(self, attribute: str) -> int:
        bit = self.bit(attribute)
        if isinstance(bit, str) or bit not in self.circuit.registers:
            raise Unmatched(f"'{attribute}' is no register in the hardware")
        return bit

    def controls(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for name, leaves in self.machine.controls.items():
            if name == self.without:
                continue
            for leaf, (attribute, place) in zip(leaves, self.lowered.controls[name], strict=True):
                if leaf in self.fixed:
                    continue
                bits = self.port(attribute)
                bit = bits[place] if place < len(bits) else "x"
                if isinstance(bit, str) or bit not in self.circuit.inputs:
                    raise Unmatched(f"'{attribute}' is no input of the hardware")
                found[leaf] = bit
        return found

    def stores(self) -> dict[int, int]:
        found: dict[int, int] = {}
        for store in self.machine.stores:
            attribute, _ = self.lowered.storage[f"{store.part}.{store.storage}"]
            found[store.leaf] = self.register(f"{attribute}[{store.bit}]")
        if len(set(found.values())) != len(found):
            raise Unmatched("two bits of the board's storage are one register in the hardware")
        return found

    def memories(self) -> tuple[str, ...]:
        names: list[str] = []
        for unit in self.machine.memories:
            name = self.lowered.memories[unit.label]
            if name not in self.circuit.memories:
                raise Unmatched(f"the hardware has no memory '{name}'")
            self.shape(name, self.circuit.memories[name], unit.words, unit.bits)
            names.append(name)
        extra = [name for name in self.circuit.memories if name not in names]
        if extra:
            raise Unmatched(f"the board has no memory '{extra[0]}'")
        return tuple(names)

    def shape(self, name: str, memory: Memory, words: int, bits: int) -> None:
        """Raise `Unmatched` unless a memory has so many words of so many bits."""
        if (memory.size, memory.width) != (words, bits):
            raise Unmatched(
                f"memory {name} has {memory.size} words of {memory.width} bits in the hardware, "
                f"{words} of {bits} on the board"
            )
        lines = max(1, (words - 1).bit_length())
        addresses = [read[0] for read in memory.reads] + [write[1] for write in memory.writes]
        if words != 1 << lines or any(len(address) != lines for address in addresses):
            raise Unmatched(f"memory {name} has addresses beyond its {words} words")
