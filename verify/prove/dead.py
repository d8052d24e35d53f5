"""What must be able to happen on a board that has nothing dead on it: "each enable can be active".

Happenings are those of quiet moments and of the rounds between them; what flashes by before a board
first gets quiet after power-up does not count. Left out is what is tied off and what nothing is
connected to: a spare half is not dead.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.catalogue.part import PinKind, Role
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine, StoreBit
from breadproof.specs.netlist.model import Part
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.checks import main_pin
from breadproof.verify.prove.ends import Ends, constant
from breadproof.verify.prove.frames import Moment

STROBES = ("clock", "clear", "preset", "load", "latch", "write")
DOES = {
    "clock": "clocks its chip",
    "clear": "clears its chip",
    "preset": "presets its chip",
    "load": "loads its chip",
    "latch": "opens its chip",
    "write": "writes its chip",
}
"""What a strobe does to its chip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """Something that must be able to happen: ``dead:U7.21``.

    It does in a round in which one of ``nodes`` holds, or one of ``bits`` changes. ``pins`` are
    those that decide about it; ``never`` tells what does not happen.
    """

    name: str
    says: str
    never: str
    pins: tuple[str, ...]
    nodes: tuple[int, ...] = ()
    bits: tuple[StoreBit, ...] = ()

    def literal(self, aig: Aig, moment: Moment) -> int:
        """Whether it happens at a moment, or in the rounds before it."""
        found: list[int] = []
        for now in moment.rounds:
            found += [now.levels[node] for node in self.nodes]
            found += [aig.xor(now.levels[b.leaf], now.levels[b.next]) for b in self.bits]
        return aig.or_(found)


def happenings(machine: Machine, ends: Ends) -> tuple[Happening, ...]:
    """All of a board, outputs first, then strobes and storage."""
    found = {one.name: one for one in _outputs(machine)}
    for one in (*_strobes(machine, ends), *_tied_memories(machine, ends)):
        found.setdefault(one.name, one)
    found |= {one.name: one for one in _storage(machine, ends)}
    return tuple(found.values())


def _chips(machine: Machine) -> Iterator[Part]:
    """Chips proper: no capacitors, timers or supervisors, which the world moves."""
    for part in machine.netlist.parts:
        if part.device == "chip" and not part.type.analogue:
            yield part


def _called(machine: Machine, label: str) -> str:
    part = machine.netlist.part(label.partition(".")[0])
    pin = part.pin(label.partition(".")[2]) if part else None
    return f"{label} ({pin.name})" if pin else label


def _outputs(machine: Machine) -> Iterator[Happening]:
    """Three-state outputs by what enables them; of pins that also read, all ways together."""
    netlist = machine.netlist
    for part in _chips(machine):
        groups: dict[int, list[str]] = {}
        for pin in part.pins:
            drive = machine.drives.get(pin.label)
            if drive is None or pin.net is None or len(netlist.nets[pin.net].pins) < 2:
                continue
            if pin.kind is PinKind.THREE_STATE:
                groups.setdefault(drive.when, []).append(pin.label)
            elif pin.kind is PinKind.BIDIRECTIONAL:
                groups.setdefault(-1, []).append(pin.label)
        for labels in groups.values():
            whens = tuple(dict.fromkeys(machine.drives[label].when for label in labels))
            if Graph.TRUE in whens:
                continue
            what = _called(machine, labels[0])
            if len(labels) > 1:
                what += f" and {len(labels) - 1} more output{'s' if len(labels) > 2 else ''}"
            yield Happening(
                name=f"dead:{labels[0]}",
                says=f"{what} can drive.",
                never=f"{what} never drive{'' if len(labels) > 1 else 's'}",
                pins=_with_roles(part, (Role.ENABLE, Role.WRITE)),
                nodes=whens,
            )


def _with_roles(part: Part, roles: tuple[Role, ...]) -> tuple[str, ...]:
    """Input pins with one of the roles."""
    return tuple(pin.label for pin in part.pins if pin.kind.reads and pin.role in roles)


def _strobes(machine: Machine, ends: Ends) -> Iterator[Happening]:
    chips = {part.name for part in _chips(machine)}
    by_main: dict[str, list[int]] = {}
    for number, strobe in enumerate(machine.strobes):
        used = strobe.memory in ends.memories or not ends.stores.isdisjoint(strobe.stores)
        if strobe.kind in STROBES and strobe.part in chips and used:
            by_main.setdefault(main_pin(machine, strobe), []).append(number)
    for label, numbers in by_main.items():
        strobes = [machine.strobes[number] for number in numbers]
        nodes: list[int] = []
        for strobe in strobes:
            clocked = strobe.kind == "clock"
            edges = [machine.stores[k].edge for k in strobe.stores if clocked]
            nodes += dict.fromkeys(edges or [strobe.condition])
        does = DOES[strobes[0].kind]
        yield Happening(
            name=f"dead:{label}",
            says=f"{_called(machine, label)} {does} at times.",
            never=f"{_called(machine, label)} never {does}",
            pins=tuple(dict.fromkeys(pin for strobe in strobes for pin in strobe.pins)),
            nodes=tuple(dict.fromkeys(nodes)),
        )


def _tied_memories(machine: Machine, ends: Ends) -> Iterator[Happening]:
    """Memories that nothing can write, by structure: no strobe speaks of them."""
    for number, memory in enumerate(machine.memories):
        part = machine.netlist.part(memory.part)
        tied = memory.contents is None and memory.write == Graph.FALSE
        if part is None or not tied or number not in ends.memories:
            continue
        pins = _with_roles(part, (Role.WRITE, Role.ENABLE))
        label = next(iter(_with_roles(part, (Role.WRITE,))), memory.label)
        yield Happening(
            name=f"dead:{label}",
            says=f"{_called(machine, label)} writes its chip at times.",
            never=f"{_called(machine, label)} never writes its chip",
            pins=pins,
            nodes=(Graph.FALSE,),
        )


def _storage(machine: Machine, ends: Ends) -> Iterator[Happening]:
    """Each register and latch, bit by bit; bits that take in nothing but constants are left out."""
    chips = {part.name: part for part in _chips(machine)}
    for number, store in enumerate(machine.stores):
        taken = {store.captured, store.source} - {store.leaf}
        if store.part not in chips or number not in ends.stores:
            continue
        if all(constant(node) for node in taken):
            continue
        roles = (Role.CLOCK, Role.CLEAR, Role.PRESET, Role.LOAD, Role.LATCH, Role.ENABLE)
        yield Happening(
            name=f"dead:{store.label}",
            says=f"{store.label} can change.",
            never=f"{store.label} never changes",
            pins=_with_roles(chips[store.part], roles),
            bits=(store,),
        )
