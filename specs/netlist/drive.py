"""Who can drive each net: directly, through closed contacts, and weakly through resistors.

The electrical half of "Levels" in design.md section 4, as data that both lowerings (Machine and
Amaranth) follow. Nothing is evaluated here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Net, Netlist, Pin
from breadproof.specs.reading.diagnostics import Problems

MAX_PATHS = 256
"""More ways than this from one net through contacts and resistors are refused as input."""

Closed = tuple[str, int]
"""Bit ``(control, bit)`` that must be true for a contact to be closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """Something that can put a level on a net.

    ``kind``: a chip's or oscillator's ``pin``, a supply ``rail``, or the ``outside`` of a port
    (``port`` and ``bit``, 0 being the most significant). ``net`` is where it sits; ``paths`` are
    the ways from there to the net in question: it drives it while all contacts of one way are
    closed; the empty way is a wire.
    """

    kind: Literal["pin", "rail", "outside"]
    net: int
    paths: tuple[tuple[Closed, ...], ...]
    pin: Pin | None = None
    high: bool = False
    port: str = ""
    bit: int = 0
    always: bool = False
    """An outside driver that never lets go (an input port)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """A way through at least one resistor to net ``end``.

    It gives ``end``'s level if the contacts ``closed`` are closed, ``end`` is driven and none of
    the nets ``through`` on the way is. ``high`` and ``low`` tell whether the resistor is strong
    enough, for the inputs on the net, to count for that level (section 7 of design.md); one that
    does not count still opposes others.
    """

    end: int
    ohms: float
    closed: tuple[Closed, ...]
    through: tuple[int, ...]
    high: bool
    low: bool
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NetPlan:
    """All that decides the level of net ``net``."""

    net: int
    drivers: tuple[Driver, ...]
    pulls: tuple[Pull, ...]


def plan_drives(netlist: Netlist, problems: Problems) -> tuple[NetPlan, ...]:
    """One plan a net, in order of nets.

    Contacts never lead *through* a supply, since a supply drives whatever it touches: a net that a
    contact joins to a rail has that rail's level, even while the rail itself is in a fight.
    """
    planner = _Planner(netlist, problems)
    return tuple(planner.plan(net) for net in netlist.nets)


@dataclass(frozen=True, slots=True)
class _Way:
    end: int
    closed: tuple[Closed, ...]
    through: tuple[int, ...]
    ohms: float
    parts: tuple[str, ...]


class _Planner:
    def __init__(self, netlist: Netlist, problems: Problems) -> None:
        self.netlist = netlist
        self.problems = problems
        self.edges: dict[int, list[tuple[int, Closed | None, float, str]]] = {
            net.index: [] for net in netlist.nets
        }
        for contact in netlist.contacts:
            lit = (contact.control, contact.bit)
            self.edges[contact.a].append((contact.b, lit, 0.0, ""))
            self.edges[contact.b].append((contact.a, lit, 0.0, ""))
        for resistor in netlist.resistors:
            ohms = resistor.ohms or 0.0
            self.edges[resistor.a].append((resistor.b, None, ohms, resistor.part))
            self.edges[resistor.b].append((resistor.a, None, ohms, resistor.part))
        self.own = {net.index: self.local_drivers(net) for net in netlist.nets}

    def local_drivers(self, net: Net) -> list[Driver]:
        here: tuple[tuple[Closed, ...], ...] = ((),)
        found: list[Driver] = []
        if net.rail is not None:
            found.append(Driver(kind="rail", net=net.index, paths=here, high=net.rail > 0))
        for pin in net.pins:
            if pin.kind.drives:
                found.append(Driver(kind="pin", net=net.index, paths=here, pin=pin))
        for port in self.netlist.ports:
            if port.direction == "out":
                continue
            for bit, index in enumerate(port.nets):
                if index == net.index:
                    found.append(
                        Driver(
                            kind="outside",
                            net=net.index,
                            paths=here,
                            port=port.name,
                            bit=bit,
                            always=port.direction == "in",
                        )
                    )
        return found

    def plan(self, net: Net) -> NetPlan:
        ways = self.ways(net)
        reach: dict[int, list[tuple[Closed, ...]]] = {net.index: [()]}
        for way in ways:
            if not way.parts:
                reach.setdefault(way.end, []).append(way.closed)
        drivers = [
            Driver(
                kind=own.kind,
                net=own.net,
                paths=tuple(paths),
                pin=own.pin,
                high=own.high,
                port=own.port,
                bit=own.bit,
                always=own.always,
            )
            for end, paths in reach.items()
            for own in self.own[end]
        ]
        pulls = [self.pull(net, way) for way in ways if way.parts]
        return NetPlan(
            net=net.index,
            drivers=tuple(drivers),
            pulls=tuple(pulls),
        )

    def ways(self, net: Net) -> list[_Way]:
        """All simple ways from a net to others; a supply ends a way."""
        found: list[_Way] = []
        stack = [_Way(net.index, (), (), 0.0, ())]
        while stack:
            way = stack.pop()
            if way.end != net.index:
                found.append(way)
                if self.netlist.nets[way.end].rail is not None:
                    continue
            if len(found) > MAX_PATHS:
                self.problems.error(
                    "contacts-tangled",
                    f"there are over {MAX_PATHS} ways through switches and resistors "
                    f"from net '{net.name}'",
                    net.span,
                    hint="Check for a switch or resistor network wired across itself.",
                )
                return []
            seen = {net.index, way.end, *way.through}
            for other, lit, ohms, part in reversed(self.edges[way.end]):
                if other in seen:
                    continue
                passed = (*way.through, way.end) if way.end != net.index else ()
                stack.append(
                    _Way(
                        other,
                        way.closed if lit is None or lit in way.closed else (*way.closed, lit),
                        passed,
                        way.ohms + ohms,
                        (*way.parts, part) if part else way.parts,
                    )
                )
        return found

    def pull(self, net: Net, way: _Way) -> Pull:
        high, low = strong_enough(self.netlist, net, way.end, way.ohms)
        return Pull(
            end=way.end,
            ohms=way.ohms,
            closed=way.closed,
            through=way.through,
            high=high,
            low=low,
            parts=way.parts,
        )


def strong_enough(netlist: Netlist, net: Net, end: int, ohms: float) -> tuple[bool, bool]:
    """Whether ``ohms`` between ``net`` and a driven net ``end`` make a (high, low) for its inputs.

    Guaranteed limits of the families (data books) at the low end of the supply's tolerance (5 %):
    the drop of all I_IH must leave V_IH, that of all I_IL must stay below V_IL. From an output it
    starts at V_OH or V_OL; where these break the limits without any resistor, that is another
    fault (a level mismatch), and a drop of 0.1 V more still counts (common practice).
    """
    families = {part.name: part.family for part in netlist.parts}
    low_current = high_current = 0.0
    v_il, v_ih = 30.0, 0.0
    for pin in net.pins:
        family = families[pin.part]
        if family is None or pin.kind not in (PinKind.IN, PinKind.BIDIRECTIONAL):
            continue
        low_current += family.i_il
        high_current += family.i_ih
        v_il, v_ih = min(v_il, family.v_il), max(v_ih, family.v_ih)
    rail = netlist.nets[end].rail
    high_margin, low_margin = 0.95 * (rail or netlist.supply) - v_ih, v_il
    outputs = [families[pin.part] for pin in netlist.nets[end].pins if pin.kind.drives]
    levels = [family for family in outputs if family is not None]
    if rail is None and levels:
        high_margin = max(0.1, min(family.v_oh for family in levels) - v_ih)
        low_margin = max(0.1, v_il - max(family.v_ol for family in levels))
    return ohms * high_current <= high_margin, ohms * low_current <= low_margin
