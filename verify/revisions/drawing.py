"""A board as a graph: parts, their units and nets; edges say which pin is where.

Names are left out, so that two boards that differ in names alone have the same graph.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from breadproof.specs.netlist.model import Netlist, Part
from breadproof.verify.revisions.units import Unit, units

NodeKind = Literal["part", "unit", "net"]
INTERFACE = frozenset({
    "push-button", "spdt", "dip-switch", "rotary-dip", "led", "led-bar", "display", "oscillator",
    "connector", "jumper", "crystal", "test-point",
})  # fmt: skip
"""Devices that people touch, see or plug in: their names mean something to them."""


@dataclass(slots=True)
class Drawing:
    """``kinds``, ``names``, ``looks`` and ``joins`` go by node; ``looks`` is what tells a node from
    others without its place, ``rough`` the same without values and families. ``joins`` has (role,
    node) pairs. ``pins`` are a unit's pin labels by role; ``at`` has the node that a pin's net is.
    """

    netlist: Netlist
    kinds: list[NodeKind] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    looks: list[str] = field(default_factory=list)
    rough: list[str] = field(default_factory=list)
    joins: list[list[tuple[str, int]]] = field(default_factory=list)
    part_node: dict[str, int] = field(default_factory=dict)
    net_node: dict[int, int] = field(default_factory=dict)
    unit_node: dict[tuple[str, int], int] = field(default_factory=dict)
    units: dict[str, tuple[Unit, ...]] = field(default_factory=dict)

    def add(self, kind: NodeKind, name: str, look: str, rough: str) -> int:
        """A new node."""
        self.kinds.append(kind)
        self.names.append(name)
        self.looks.append(look)
        self.rough.append(rough)
        self.joins.append([])
        return len(self.kinds) - 1

    def join(self, role: str, a: int, b: int) -> None:
        """A new edge."""
        self.joins[a].append((role, b))
        self.joins[b].append((role, a))

    def package(self, unit: int) -> int:
        """The node of the part that a unit belongs to."""
        return next(other for role, other in self.joins[unit] if role == "unit")

    def net_of(self, net: int | None) -> int | None:
        """The node of a net; None for an open pin, and for a net that joins nothing."""
        return None if net is None else self.net_node.get(net)


def draw(netlist: Netlist) -> Drawing:
    """The graph of a board."""
    drawing = Drawing(netlist)
    ports = {net for port in netlist.ports for net in port.nets}
    for net in netlist.nets:
        if len(net.pins) > 1 or net.rail is not None or net.index in ports:
            look = "net" if net.rail is None else f"rail {net.rail:g}"
            drawing.net_node[net.index] = drawing.add("net", net.name, look, look)
    for part in netlist.parts:
        _draw_part(drawing, part)
    return drawing


def function(part: Part) -> str:
    """What a part is, whatever its family and value."""
    extra = f"{part.ways} {part.common} {part.isolated} {len(part.positions)} {part.closed}"
    return f"{part.device} {part.type.key} {extra}"


def look(part: Part) -> str:
    """What a part is, its family, value and contents too."""
    return f"{function(part)} {family_of(part)} {part.value} {hash_of(part.contents)}"


def _draw_part(drawing: Drawing, part: Part) -> None:
    rough = function(part)
    own = part.name if part.device in INTERFACE else ""
    whole = f"{look(part)} {own}"
    node = drawing.part_node[part.name] = drawing.add("part", part.name, whole, rough)
    number_of = {pin.number: pin for pin in part.pins}
    drawing.units[part.name] = units(part)
    for place, unit in enumerate(drawing.units[part.name]):
        here = node
        if unit.kind:
            what = f"{rough} unit {unit.kind}"
            here = drawing.add("unit", f"{part.name}/{place}", what, what)
            drawing.join("unit", node, here)
            drawing.unit_node[part.name, place] = here
        for number, role in unit.pins:
            pin = number_of.get(number)
            net = drawing.net_of(pin.net) if pin is not None else None
            if net is not None:
                drawing.join(role, here, net)


def family_of(part: Part) -> str:
    """The name of a part's family, "" for what has none."""
    return "" if part.family is None else part.family.name


def hash_of(contents: tuple[int, ...]) -> str:
    """A short text for contents; the words themselves are compared later."""
    return f"{len(contents)}:{sum((k + 1) * word for k, word in enumerate(contents))}"
