"""The ways from a net to others: through contacts, analogue switches, diodes and resistors.

A diode passes one way only. On a way from a net outward, one whose anode is further out lets only
highs come in, one whose cathode is further out only lows; a way with both kinds lets nothing in,
and is none. So the sneak paths of a diode matrix, which go forth through one diode and back through
the next, never come up.

The switches of a multiplexer break before they make (data books): a way through two that are
never closed together is none either.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import ChipSwitch, Closing, ControlBit, Net, Netlist

Passes = Literal["both", "high", "low"]
"""Which levels come in on a way: diodes let only highs or only lows."""

MAX_STEPS = 8192
"""More steps than these in looking for the ways from one net are not made."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way from a net to net ``end``; ``through`` are the nets between, the nearest first.

    ``closed`` must be true for it, and ``ohms`` lie on it, in the resistors ``parts``.
    """

    end: int
    closed: tuple[Closing, ...]
    through: tuple[int, ...]
    ohms: float
    parts: tuple[str, ...]
    passes: Passes


@dataclass(frozen=True, slots=True)
class _Edge:
    other: int
    closing: Closing | None
    ohms: float
    part: str
    passes: Passes


class TooManyWays(Exception):
    """There are too many ways from a net to find them all."""


class Ways:
    """The ways of one board. A supply ends every way: it drives whatever it touches.

    From a supply no way goes through a resistor, since nothing pulls it.
    """

    def __init__(self, netlist: Netlist) -> None:
        """Note what leads where."""
        self.netlist = netlist
        self.edges: dict[int, list[_Edge]] = {net.index: [] for net in netlist.nets}
        for contact in netlist.contacts:
            self._both(contact.a, contact.b, contact.closing, 0.0, "")
        for resistor in netlist.resistors:
            self._both(resistor.a, resistor.b, None, resistor.ohms or 0.0, resistor.part)
        for link in netlist.links:
            self._both(link.a, link.b, None, 0.0, "")
        for diode in netlist.diodes:
            self.edges[diode.cathode].append(_Edge(diode.anode, None, 0.0, "", "high"))
            self.edges[diode.anode].append(_Edge(diode.cathode, None, 0.0, "", "low"))
        self.apart = _never_together(netlist)

    def _both(self, a: int, b: int, closing: Closing | None, ohms: float, part: str) -> None:
        self.edges[a].append(_Edge(b, closing, ohms, part, "both"))
        self.edges[b].append(_Edge(a, closing, ohms, part, "both"))

    def of(self, net: Net) -> Iterator[Way]:
        """All simple ways from a net to others.

        Raises:
            TooManyWays: after `MAX_STEPS` steps.
        """
        stack = [Way(net.index, (), (), 0.0, (), "both")]
        steps = 0
        while stack:
            way = stack.pop()
            steps += 1
            if steps > MAX_STEPS:
                raise TooManyWays
            if way.end != net.index:
                yield way
                if self.netlist.nets[way.end].rail is not None:
                    continue
            seen = {net.index, way.end, *way.through}
            for edge in reversed(self.edges[way.end]):
                if edge.other not in seen:
                    further = self._further(way, edge, net.index)
                    if further is not None:
                        stack.append(further)

    def _further(self, way: Way, edge: _Edge, start: int) -> Way | None:
        """A way and one edge more; None if nothing could come in on it."""
        if edge.part and self.netlist.nets[start].rail is not None:
            return None
        passes = way.passes if edge.passes == "both" else edge.passes
        if way.passes not in ("both", passes):
            return None
        closing = edge.closing
        if any(frozenset((closing, other)) in self.apart for other in way.closed):
            return None
        return Way(
            edge.other,
            way.closed if closing is None or closing in way.closed else (*way.closed, closing),
            (*way.through, way.end) if way.end != start else (),
            way.ohms + edge.ohms,
            (*way.parts, edge.part) if edge.part else way.parts,
            passes,
        )


def _never_together(netlist: Netlist) -> frozenset[frozenset[Closing | None]]:
    """Pairs that are never closed at the same time: switches of one chip whose conditions are
    products with a factor in one and its inverse in the other, and the positions of a change-over
    switch that breaks before it makes."""
    found: set[frozenset[Closing | None]] = set()
    for control in netlist.controls:
        if control.exclusive:
            bits = [ControlBit(control.name, bit) for bit in range(len(control.bits))]
            found.update(frozenset((a, b)) for a in bits for b in bits if a != b)
    for part in netlist.parts:
        apart = _apart(part.type)
        found.update(
            frozenset((ChipSwitch(part.name, a), ChipSwitch(part.name, b))) for a, b in apart
        )
    return frozenset(found)


def _apart(part: PartType) -> list[tuple[int, int]]:
    products = [_factors(switch.when.expr) for switch in part.switches]
    return [
        (a, b)
        for b, later in enumerate(products)
        for a, earlier in enumerate(products[:b])
        if any((name, not sense) in later for name, sense in earlier)
    ]


def _factors(expr: s.Expr) -> frozenset[tuple[str, bool]]:
    """Names and inverted names of which an expression is the product; none of any other kind."""
    found: set[tuple[str, bool]] = set()
    stack: list[s.Expr] = [expr]
    while stack:
        node = stack.pop()
        match node:
            case s.Binary(op="&" | "&&"):
                stack += [node.left, node.right]
            case s.Name():
                found.add((node.path, True))
            case s.Unary(op="!" | "~", operand=s.Name() as name):
                found.add((name.path, False))
            case _:
                return frozenset()
    return frozenset(found)


def controls_of(closed: tuple[Closing, ...]) -> tuple[ControlBit, ...]:
    """Those that the world closes."""
    return tuple(closing for closing in closed if isinstance(closing, ControlBit))
