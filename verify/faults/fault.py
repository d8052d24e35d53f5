"""A single wiring fault: what kinds there are, and when two come to the same board."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.netlist.model import Netlist

Kind = Literal["open", "moved", "bridge", "type"]
KINDS: tuple[Kind, ...] = ("open", "moved", "bridge", "type")
"""Opens, misplaced ends, bridges and wrong parts are what the production test of loaded boards
looks for (common practice)."""

KIND_SAYS: dict[Kind, str] = {
    "open": "wires left out",
    "moved": "ends one pin over",
    "bridge": "pins bridged",
    "type": "chips of a near type",
}

Group = frozenset[str]
"""What is joined: labels of pins, and ``rail:5`` and ``port:tempo`` for what holds a net besides.
"""
Wiring = frozenset[Group]
Delta = tuple[Wiring, Wiring]
"""What is joined no more, and what is joined anew: equal for faults that come to one board."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """``name`` tells it from all others of a board (``open:U3.5``), ``says`` is a sentence without
    its stop; ``pins`` are the labels it is made at. ``make`` makes the board with the fault, and
    raises `BadInput` if there is none; ``delta`` is None for a chip of another type. ``same`` are
    the names of further faults that come to the same board."""

    name: str
    kind: Kind
    says: str
    pins: tuple[str, ...]
    make: Callable[[], Netlist]
    delta: Delta | None
    same: tuple[str, ...] = ()

    @property
    def parts(self) -> frozenset[str]:
        """The parts at which it is made."""
        return frozenset(pin.rpartition(".")[0] for pin in self.pins)


def wiring_of(netlist: Netlist) -> Wiring:
    """What is joined on a board, whatever it is called."""
    held = holders(netlist)
    groups = (
        frozenset([*(pin.label for pin in net.pins), *held.get(net.index, ())])
        for net in netlist.nets
    )
    return frozenset(group for group in groups if len(group) > 1)


def holders(netlist: Netlist) -> dict[int, list[str]]:
    """By net: the supply and the ports that it is joined to."""
    found: dict[int, list[str]] = {}
    for net in netlist.nets:
        if net.rail is not None:
            found.setdefault(net.index, []).append(f"rail:{net.rail:g}")
    for port in netlist.ports:
        for place, index in enumerate(port.nets):
            found.setdefault(index, []).append(f"port:{port.name}.{place}")
    return found


def delta(before: Wiring, after: Wiring) -> Delta:
    """What changed."""
    return before - after, after - before


def collapsed(faults: list[Fault]) -> tuple[list[Fault], int]:
    """The faults that differ from the board and from each other, the first of each kept; and how
    many more there were. What changes nothing is no fault, and is not counted."""
    kept: dict[object, Fault] = {}
    more = 0
    for fault in faults:
        if fault.delta == (frozenset(), frozenset()):
            continue
        key: object = fault.name if fault.delta is None else fault.delta
        first = kept.get(key)
        if first is None:
            kept[key] = fault
        else:
            kept[key] = replace(first, same=(*first.same, fault.name))
            more += 1
    return list(kept.values()), more
