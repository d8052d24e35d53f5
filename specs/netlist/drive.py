"""Who can drive each net: directly, through closed contacts, and weakly through resistors.

The electrical half of "Levels" in design.md section 4, as data that both lowerings (Machine and
Amaranth) follow. Nothing is evaluated here.

Diodes, which design.md does not speak of: a high at the anode drives the cathode high, a low at the
cathode drives the anode low, and nothing else comes through. Highs that come through diodes fight
no other high, lows no other low; a high against a low is a fight wherever they meet. A level that
comes through a diode from a net in a fight may or may not be there, so the net has none. What a
resistor pulls to comes through diodes in the same way, unless a net on the way is itself pulled
both ways. Left out: the drop of a diode, and its reverse current.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from breadproof.specs.netlist.loads import LOWEST, guaranteed, load_of
from breadproof.specs.netlist.model import Closing, Net, Netlist, Pin
from breadproof.specs.netlist.ways import Passes, TooManyWays, Way, Ways
from breadproof.specs.reading.diagnostics import Problems

MAX_JOINED = 6
"""Of more nets than these that contacts may join, any one is taken to be too much for a pull that
is too weak for all of them."""
MAX_PATHS = 256
"""More ways than this that lead from one net to drivers are refused as input."""

Path = tuple[Closing, ...]
"""The contacts of one way, all of which must be closed; none: it is a wire."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """Something that can put a level on a net.

    ``kind``: a chip's or oscillator's ``pin``, a supply ``rail``, or the ``outside`` of a port
    (``port`` and ``bit``, 0 being the most significant). ``net`` is where it sits; ``paths`` are
    the ways from there to the net in question: it drives it while all contacts of one way are
    closed; the empty way is a wire. ``passes``: through diodes only its highs, or only its lows,
    come; ``over`` are then, for each way, the nets from its own to the last before this one.
    """

    kind: Literal["pin", "rail", "outside"]
    net: int
    paths: tuple[Path, ...]
    pin: Pin | None = None
    high: bool = False
    port: str = ""
    bit: int = 0
    always: bool = False
    """An outside driver that never lets go (an input port)."""
    passes: Passes = "both"
    over: tuple[tuple[int, ...], ...] = ()

    @property
    def wired(self) -> bool:
        """Whether it sits right on the net: through no contact and no diode."""
        return self.passes == "both" and () in self.paths


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """A way through at least one resistor to net ``end``.

    It gives ``end``'s level if the contacts ``closed`` are closed, ``end`` is driven and none of
    the nets ``through`` on the way is. ``high`` and ``low`` tell whether the resistor is strong
    enough, for the inputs on the net, to count for that level (section 7 of design.md); one that
    does not count still opposes others. ``passes``: diodes on the way let only one level through,
    and it counts only if none of ``through`` is pulled both ways. ``high_unless`` and
    ``low_unless`` are sets of nets whose inputs are too much for it when contacts join them.
    """

    end: int
    ohms: float
    closed: Path
    through: tuple[int, ...]
    high: bool
    low: bool
    parts: tuple[str, ...]
    passes: Passes = "both"
    high_unless: tuple[tuple[int, ...], ...] = ()
    low_unless: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NetPlan:
    """All that decides the level of net ``net``.

    ``joined`` are the nets that contacts can make one with it, each with the ways there.
    """

    net: int
    drivers: tuple[Driver, ...]
    pulls: tuple[Pull, ...]
    joined: tuple[tuple[int, tuple[Path, ...]], ...] = ()


def plan_drives(netlist: Netlist, problems: Problems) -> tuple[NetPlan, ...]:
    """One plan a net, in order of nets.

    Contacts never lead *through* a supply, since a supply drives whatever it touches: a net that a
    contact joins to a rail has that rail's level, even while the rail itself is in a fight.
    """
    planner = _Planner(netlist, problems)
    return tuple(planner.plan(net) for net in netlist.nets)


class _Planner:
    def __init__(self, netlist: Netlist, problems: Problems) -> None:
        self.netlist = netlist
        self.problems = problems
        self.own = {net.index: self.local_drivers(net) for net in netlist.nets}
        searched = Ways(netlist)
        self.joined: dict[int, dict[int, list[Path]]] = {net.index: {} for net in netlist.nets}
        self.ways = {net.index: self.useful(searched, net) for net in netlist.nets}
        self.drivers = {net.index: self.drivers_of(net) for net in netlist.nets}

    def local_drivers(self, net: Net) -> list[Driver]:
        here: tuple[Path, ...] = ((),)
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

    def useful(self, searched: Ways, net: Net) -> list[Way]:
        """The ways that can lead to a driver; none, and noted, if there are too many."""
        found: list[Way] = []
        try:
            for way in searched.of(net):
                if not way.parts and way.passes == "both" and way.closed:
                    self.joined[net.index].setdefault(way.end, []).append(way.closed)
                if self.brings(way):
                    found.append(way)
                    if len(found) > MAX_PATHS:
                        raise TooManyWays
        except TooManyWays:
            self.problems.error(
                "contacts-tangled",
                f"there are over {MAX_PATHS} ways through switches, diodes and resistors "
                f"from net '{net.name}'",
                net.span,
                hint="Check for a switch or resistor network wired across itself.",
            )
            return []
        return found

    def brings(self, way: Way) -> bool:
        """Whether anything can come in on a way: a resistor may end where a contact drives."""
        rail = self.netlist.nets[way.end].rail
        if rail is not None:
            return way.passes in ("both", "high" if rail > 0 else "low")
        return bool(way.parts) or bool(self.own[way.end])

    def drivers_of(self, net: Net) -> tuple[Driver, ...]:
        reach: dict[tuple[int, Passes], list[Way]] = {}
        for way in self.ways[net.index]:
            if not way.parts:
                reach.setdefault((way.end, way.passes), []).append(way)
        return (
            *self.own[net.index],
            *(
                replace(
                    own,
                    paths=tuple(way.closed for way in ways),
                    passes=passes,
                    over=() if passes == "both" else tuple((*way.through, way.end) for way in ways),
                )
                for (end, passes), ways in reach.items()
                for own in self.own[end]
            ),
        )

    def plan(self, net: Net) -> NetPlan:
        return NetPlan(
            net=net.index,
            drivers=self.drivers[net.index],
            pulls=tuple(
                self.pull(net, way)
                for way in self.ways[net.index]
                if way.parts and self.drivers[way.end]
            ),
            joined=tuple((end, tuple(ways)) for end, ways in self.joined[net.index].items()),
        )

    def pull(self, net: Net, way: Way) -> Pull:
        also = () if way.passes == "both" else way.through
        end = (way.end, self.drivers[way.end])
        high, low = strong_enough(self.netlist, net, end, way.ohms, also)
        high_unless, low_unless = self.too_much(net, way, also)
        return Pull(
            end=way.end,
            ohms=way.ohms,
            closed=way.closed,
            through=way.through,
            high=high and way.passes != "low",
            low=low and way.passes != "high",
            parts=way.parts,
            passes=way.passes,
            high_unless=high_unless if high else (),
            low_unless=low_unless if low else (),
        )

    def too_much(
        self, net: Net, way: Way, also: tuple[int, ...]
    ) -> tuple[tuple[tuple[int, ...], ...], tuple[tuple[int, ...], ...]]:
        """The smallest sets of joined nets with which a resistor is too weak for (high, low)."""
        nets = self.netlist.nets
        others = [n for n in self.joined[net.index] if nets[n].rail is None and nets[n].pins]
        if not others:
            return (), ()

        def strong(more: tuple[int, ...]) -> tuple[bool, bool]:
            end = (way.end, self.drivers[way.end])
            return strong_enough(self.netlist, net, end, way.ohms, (*also, *more))

        found: tuple[list[tuple[int, ...]], list[tuple[int, ...]]] = ([], [])
        enough = strong(tuple(others))
        for level in (0, 1):
            if enough[level]:
                continue
            if len(others) > MAX_JOINED:
                found[level].extend((one,) for one in others)
                continue
            for size in range(1, len(others) + 1):
                for some in combinations(others, size):
                    known = any(set(less) <= set(some) for less in found[level])
                    if not known and not strong(some)[level]:
                        found[level].append(some)
        return tuple(found[0]), tuple(found[1])


def strong_enough(
    netlist: Netlist,
    net: Net,
    end: tuple[int, tuple[Driver, ...]],
    ohms: float,
    also: tuple[int, ...] = (),
) -> tuple[bool, bool]:
    """Whether ``ohms`` between ``net`` and a net ``end`` make a (high, low) for its inputs.

    ``end`` is the net and what drives it. The inputs on the nets ``also`` hang on the same
    resistors.

    Guaranteed limits (data books) at the low end of the supply's tolerance (5 %): the drop of all
    I_IH, and of what outputs that let go still take, must leave V_IH; that of all I_IL must stay
    below V_IL. From an output it starts at V_OH or V_OL; where these break the limits without any
    resistor, that is another fault (a level mismatch), and a drop of 0.1 V more still counts
    (common practice). What diodes and closed analogue switches drop is left out.
    """
    parts = {part.name: part for part in netlist.parts}
    load = load_of(netlist, parts, _pins_joined(netlist, net.index, *also))
    if not load.readers:
        return True, True
    rail = netlist.nets[end[0]].rail
    high_margin, low_margin = LOWEST * (rail or netlist.supply) - load.v_ih, load.v_il
    levels = [
        (driver.passes, *guaranteed(netlist, parts[driver.pin.part], driver.pin))
        for driver in end[1]
        if driver.pin is not None and parts[driver.pin.part].limits is not None
    ]
    if rail is None and levels:
        highs = [high for passes, _, high in levels if high is not None and passes != "low"]
        lows = [low for passes, low, _ in levels if passes != "high"]
        # Where all outputs only sink, a high comes from a supply or from outside.
        high_margin = max(0.1, min(highs, default=LOWEST * netlist.supply) - load.v_ih)
        low_margin = max(0.1, load.v_il - max(lows, default=load.v_il))
    return ohms * load.high <= high_margin, ohms * load.low <= low_margin


def _pins_joined(netlist: Netlist, *nets: int) -> tuple[Pin, ...]:
    """The pins of nets and of those that links make one with them."""
    joined = list(nets)
    for here in joined:
        for link in netlist.links:
            for one, other in ((link.a, link.b), (link.b, link.a)):
                if one == here and other not in joined:
                    joined.append(other)
    return tuple(pin for index in joined for pin in netlist.nets[index].pins)
