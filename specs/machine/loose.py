"""A board let loose: each chip, tied pin and content may be as the board has it, or anything.

Beside what a chip puts on its outputs, and what its storage holds next, stands an ``any`` leaf, and
a ``held`` leaf chooses: true, it is the chip of the board; false, it may do what it likes, in every
round anew. So it is for pins that are tied to a supply or open and taken as high: what such a pin
reads is held or anything. With all held the machine is the board's; with some let loose it has all
runs of all boards that differ only there. Kinds of outputs stay: a push-pull output always drives,
an open-collector one only pulls low. What a chip's strobes and storage look at stays too: claims
are about that. Memories are not touched here: whoever reads them must choose (`memory_holder`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from breadproof.specs.machine.build import BoardBuilder
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine, MemoryUnit, PinLevel
from breadproof.specs.netlist.drive import plan_drives
from breadproof.specs.netlist.model import Netlist, Pin
from breadproof.specs.reading.diagnostics import Problems


@dataclass(frozen=True, slots=True, order=True)
class Holder:
    """What is held or let loose: a part (``U3``), a pin (``U7.15``), or contents (``U9.M``).

    ``level`` is how a pin stands: ``low``, ``high`` or ``open``.
    """

    kind: Literal["part", "pin", "contents"]
    name: str
    level: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseMachine:
    """``held`` has the leaf of each holder, ``any`` for each leaf of any level who decides on it.

    ``first`` is the board's `Machine.first`, by part; that of ``machine`` is empty.
    """

    machine: Machine
    held: dict[Holder, int]
    any: dict[int, Holder]
    first: tuple[tuple[Holder, int, int], ...]

    def memory_holder(self, unit: MemoryUnit) -> Holder:
        """Who decides what a memory holds: its contents if they are given, else its part."""
        if unit.contents is not None:
            return Holder("contents", unit.label)
        return Holder("part", unit.part)


def let_loose(netlist: Netlist) -> LooseMachine:
    """The loose machine of a board whose Machine has this netlist (its problems are told there)."""
    builder = _LooseBuilder(netlist=netlist, plans=plan_drives(netlist, Problems()))
    machine = builder.machine(netlist, Problems())
    for unit in machine.memories:
        if unit.contents is not None:
            builder.holder("contents", unit.label)
    parts = {leaf: Holder("part", part) for leaf, part in builder.store_parts().items()}
    return LooseMachine(
        machine=replace(machine, first=()),
        held=builder.held,
        any=builder.any,
        first=tuple((parts[leaf], leaf, level) for leaf, level in machine.first),
    )


@dataclass(slots=True)
class _LooseBuilder(BoardBuilder):
    held: dict[Holder, int] = field(default_factory=dict)
    any: dict[int, Holder] = field(default_factory=dict)

    def holder(self, kind: Literal["part", "pin", "contents"], name: str, level: str = "") -> int:
        """The leaf that holds something."""
        holder = Holder(kind, name, level)
        if holder not in self.held:
            self.held[holder] = self.graph.leaf("held", f"{kind} {name}")
        return self.held[holder]

    def loosen(self, holder: Holder, node: int, what: str, bit: int = 0) -> int:
        """The node if it is held, else any level."""
        held = self.holder(holder.kind, holder.name, holder.level)
        loose = self.graph.leaf("any", f"{holder.kind} {what}", bit)
        self.any[loose] = holder
        return self.graph.mux(held, node, loose)

    def reading(self, pin: Pin) -> PinLevel:
        """Pins that are tied, or open and taken as high, read that or anything."""
        read = BoardBuilder.reading(self, pin)
        rail = None if pin.net is None else self.netlist.nets[pin.net].rail
        if rail is None and not read.open_high:
            return read
        tied = "open" if rail is None else "high" if rail else "low"
        holder = Holder("pin", pin.label, tied)
        return replace(read, level=self.loosen(holder, read.level, pin.label))

    def build_parts(self, reads: Mapping[str, PinLevel]) -> None:
        """What the chips drive, close and store is that or anything."""
        BoardBuilder.build_parts(self, reads)
        built = self.built
        for label, drive in built.drives.items():
            holder = Holder("part", label.rpartition(".")[0])
            when = drive.when
            if when > Graph.TRUE:
                when = self.loosen(holder, when, f"{label} drives")
            level = drive.level
            if not self.sinks(label):
                level = self.loosen(holder, level, label)
            built.drives[label] = replace(drive, level=level, when=when)
        for key, node in built.switches.items():
            holder = Holder("part", key.part)
            built.switches[key] = self.loosen(holder, node, f"{key.part} switch", key.number)
        for place, store in enumerate(built.stores):
            holder = Holder("part", store.part)
            following = self.loosen(holder, store.next, store.label)
            built.stores[place] = replace(store, next=following)
        for place, unit in enumerate(built.memories):
            if unit.write != Graph.FALSE:
                write = self.loosen(Holder("part", unit.part), unit.write, f"{unit.label} writes")
                built.memories[place] = replace(unit, write=write)

    def sinks(self, label: str) -> bool:
        """Whether an output can only pull low."""
        part_name, _, number = label.rpartition(".")
        part = self.netlist.part(part_name)
        pin = part.pin(number) if part else None
        return pin is not None and pin.kind.sinks

    def store_parts(self) -> dict[int, str]:
        """The part of each bit of storage, by leaf."""
        return {store.leaf: store.part for store in self.built.stores}
