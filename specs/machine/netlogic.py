"""The level of every net as nodes, from who drives it ("Levels" in design.md section 4)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import permutations

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import PinDrive
from breadproof.specs.netlist.drive import Driver, NetPlan, Path, Pull
from breadproof.specs.netlist.model import ChipSwitch, Closing, ControlBit, Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class NetEquation:
    """A net's level before loops are looked at; nodes over the leaves of pins and nets.

    ``value`` is its level where ``known`` holds; elsewhere every reader reads what it likes.
    """

    value: int
    known: int
    driven: int
    fights: int
    drivers: tuple[int, ...]
    reached: int
    """Whether anything at all drives it or pulls it."""
    firm: int
    plain: int
    """`known` and `value`, drawn so that a net which is pulled anyway neither loses its level nor
    pulses when its only driver lets go: see `Machine.counted`."""


@dataclass(frozen=True, slots=True)
class _Strong:
    """What drives a net, resistors aside. ``sure``: something does whose own net is in no fight;
    ``loose``: something does through a diode whose own net is in one. ``low``: one drives low."""

    driven: int
    value: int
    fights: int
    count: tuple[int, ...]
    sure: int = Graph.TRUE
    loose: int = Graph.FALSE
    low: int = Graph.FALSE


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tug:
    """A way through resistors: it pulls at all, it may pull high or low, it pulls to a level."""

    works: int
    high: int
    low: int
    firm: int


@dataclass(slots=True)
class _OneWay:
    """What comes to a net through diodes: for each way, (it is high or low there, nets on it)."""

    highs: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)
    lows: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)

    def all(self) -> list[tuple[int, tuple[int, ...]]]:
        return [*self.highs, *self.lows]


class NetLogic:
    """Builds net equations from plans and the pins' drives."""

    def __init__(
        self,
        graph: Graph,
        netlist: Netlist,
        plans: tuple[NetPlan, ...],
        switches: Mapping[ChipSwitch, int],
    ) -> None:
        """Work on one board; ``switches`` are the nodes of chips' switches, true when closed."""
        self.graph = graph
        self.netlist = netlist
        self.plans = plans
        self.switches = switches

    def closed(self, closing: Closing) -> int:
        """The node of what closes a contact."""
        if isinstance(closing, ChipSwitch):
            return self.switches[closing]
        return self.graph.leaf("control", closing.control, closing.bit)

    def equations(self, drives: dict[str, PinDrive]) -> list[NetEquation]:
        """One equation a net."""
        one_way = [_OneWay() for _ in self.plans]
        strong = [
            self._strong(plan, drives, through)
            for plan, through in zip(self.plans, one_way, strict=True)
        ]
        strong = [
            self._with_doubts(own, through, strong)
            for own, through in zip(strong, one_way, strict=True)
        ]
        opposed: dict[int, int] = {}
        return [self._equation(plan, strong, opposed, drives) for plan in self.plans]

    def _path(self, path: Path) -> int:
        return self.graph.and_(*(self.closed(closing) for closing in path))

    def _ways(self, paths: tuple[Path, ...]) -> int:
        return self.graph.or_(*(self._path(path) for path in paths))

    def source(self, driver: Driver, drives: dict[str, PinDrive]) -> tuple[int, int]:
        """(drives now, level) of a driver, contacts aside."""
        match driver.kind:
            case "rail":
                return Graph.TRUE, Graph.TRUE if driver.high else Graph.FALSE
            case "outside":
                offset = 0 if driver.always else 1
                level = self.closed(ControlBit(driver.port, driver.bit + offset))
                lets_go = ControlBit(driver.port, 0)
                return (Graph.TRUE if driver.always else self.closed(lets_go)), level
            case "pin":
                if driver.pin is None:
                    raise AssertionError("a pin driver without a pin")
                drive = drives[driver.pin.label]
                return drive.when, drive.level

    def _strong(self, plan: NetPlan, drives: dict[str, PinDrive], one_way: _OneWay) -> _Strong:
        graph = self.graph
        sinking: list[int] = []
        groups: list[int] = []
        highs: list[int] = []
        lows: list[int] = []
        count: tuple[int, ...] = (Graph.FALSE,)
        for driver in plan.drivers:
            when, level = self.source(driver, drives)
            if driver.passes != "both":
                count = self._through(driver, when, level, one_way, count)
                continue
            active = graph.and_(self._ways(driver.paths), when)
            count = self._add_one(count, active)
            highs.append(graph.and_(active, level))
            lows.append(graph.and_(active, graph.not_(level)))
            (sinking if self.pulls_low_only(driver) else groups).append(active)
        groups += [graph.or_(*sinking)] if sinking else []
        pairs = [
            graph.and_(a, b) for position, a in enumerate(groups) for b in groups[position + 1 :]
        ]
        high_in = graph.or_(*(node for node, _ in one_way.highs))
        low_in = graph.or_(*(node for node, _ in one_way.lows))
        pairs += [
            graph.and_(high_in, graph.or_(*lows, low_in)),
            graph.and_(low_in, graph.or_(*highs)),
        ]
        return _Strong(
            driven=graph.or_(*groups, high_in, low_in),
            value=graph.or_(*highs, high_in),
            fights=graph.or_(*pairs),
            count=count,
            sure=graph.or_(*groups) if one_way.all() else Graph.TRUE,
            low=graph.or_(*lows, low_in),
        )

    def _through(
        self, driver: Driver, when: int, level: int, one_way: _OneWay, count: tuple[int, ...]
    ) -> tuple[int, ...]:
        """Note what a driver does through diodes; the count with it, once for all its ways."""
        graph, high = self.graph, driver.passes == "high"
        speaks = graph.and_(when, level if high else graph.not_(level))
        ways = [graph.and_(speaks, self._path(path)) for path in driver.paths]
        (one_way.highs if high else one_way.lows).extend(zip(ways, driver.over, strict=True))
        return self._add_one(count, graph.or_(*ways))

    def _with_doubts(self, own: _Strong, one_way: _OneWay, strong: list[_Strong]) -> _Strong:
        """Whether the level is sure: held on the net, or through a diode from no net in a fight."""
        if not one_way.all():
            return own
        graph = self.graph
        sure, loose = [], []
        for node, over in one_way.all():
            fights = [strong[net].fights for net in over]
            sure.append(graph.and_(node, *(graph.not_(one) for one in fights)))
            loose.append(graph.and_(node, graph.or_(*fights)))
        return replace(own, sure=graph.or_(own.sure, *sure), loose=graph.or_(*loose))

    def pulls_low_only(self, driver: Driver) -> bool:
        """Open-collector outputs and ground: their lows never fight each other."""
        if driver.kind == "rail":
            return not driver.high
        return driver.pin is not None and driver.pin.kind.sinks

    def _add_one(self, count: tuple[int, ...], active: int) -> tuple[int, ...]:
        graph, carry = self.graph, active
        total: list[int] = []
        for bit in count:
            total.append(graph.xor(bit, carry))
            carry = graph.and_(bit, carry)
        return (*total, carry) if carry != Graph.FALSE else tuple(total)

    def _pull(self, pull: Pull, strong: list[_Strong]) -> _Tug:
        """What one way through resistors does.

        What it ends at may have no level of its own: then it may pull either way.
        """
        graph, end = self.graph, strong[pull.end]
        works = graph.and_(
            end.driven,
            *(self.closed(closing) for closing in pull.closed),
            *(graph.not_(strong[index].driven) for index in pull.through),
        )
        firm = graph.and_(graph.not_(end.fights), end.sure)
        loose = graph.not_(firm)
        high = graph.and_(works, graph.or_(end.value, loose))
        low = graph.and_(works, graph.or_(graph.not_(end.value), loose))
        return _Tug(
            works=works,
            high=high if pull.passes != "low" else Graph.FALSE,
            low=low if pull.passes != "high" else Graph.FALSE,
            firm=firm,
        )

    def _opposed(self, net: int, strong: list[_Strong], known: dict[int, int]) -> int:
        """Whether resistors pull a net both ways.

        Two do, or one whose end has no level of its own; written in pairs, so that a single one
        does not seem to oppose itself while what it pulls to moves.
        """
        if net not in known:
            graph = self.graph
            ways = [self._pull(pull, strong) for pull in self.plans[net].pulls]
            pairs = [graph.and_(one.high, other.low) for one, other in permutations(ways, 2)]
            loose = [graph.and_(way.high, way.low, graph.not_(way.firm)) for way in ways]
            known[net] = graph.or_(*pairs, *loose)
        return known[net]

    def _held(self, plan: NetPlan) -> bool:
        """Whether a charged capacitor holds the net: it keeps its level while it changes hands."""
        if len(plan.pulls) != 1:
            return False
        (pull,) = plan.pulls
        if pull.closed or pull.through or pull.high_unless or pull.low_unless:
            return False  # it is not there, or too weak, while some contact is open or closed
        part = self.netlist.part(pull.parts[0]) if len(pull.parts) == 1 else None
        return part is not None and part.type.analogue and pull.high and pull.low

    def _kept(self, plan: NetPlan, drives: dict[str, PinDrive]) -> int | None:
        """Whether all that drives a net through contacts would drive it high.

        Then a net that is pulled high is high whatever the contacts do, also while one of them
        moves (the consensus of the two cases). None where that would say more than is known: a
        resolver whose drivers come and go by themselves is no gate that keeps a level meanwhile.
        """
        graph = self.graph
        high: list[int] = []
        for driver in plan.drivers if plan.pulls else ():
            when, level = self.source(driver, drives)
            if when != Graph.TRUE or driver.passes != "both" or self._by_chips(driver):
                return None
            high.append(graph.or_(graph.not_(self._ways(driver.paths)), level))
        return graph.and_(*high) if high else None

    @staticmethod
    def _by_chips(driver: Driver) -> bool:
        """Whether a chip closes a contact on some way from the driver."""
        return any(isinstance(one, ChipSwitch) for path in driver.paths for one in path)

    def _light(self, unless: tuple[tuple[int, ...], ...], joined: Mapping[int, int]) -> list[int]:
        """That none of the sets of nets is joined which would be too much for a resistor."""
        graph = self.graph
        return [graph.not_(graph.and_(*(joined[net] for net in some))) for some in unless]

    def _equation(
        self,
        plan: NetPlan,
        strong: list[_Strong],
        opposed: dict[int, int],
        drives: dict[str, PinDrive],
    ) -> NetEquation:
        graph, own = self.graph, strong[plan.net]
        joined = {net: self._ways(paths) for net, paths in plan.joined} if plan.pulls else {}
        highs: list[int] = []
        lows: list[int] = []
        counted: list[int] = []
        for pull in plan.pulls:
            tug = self._pull(pull, strong)
            highs.append(tug.high)
            lows.append(tug.low)
            over = pull.through if pull.passes != "both" else ()
            calm_over = [graph.not_(self._opposed(net, strong, opposed)) for net in over]
            counts = graph.and_(tug.firm, *calm_over)
            if (pull.high, pull.low, pull.passes, pull.high_unless, pull.low_unless) == (
                True,
                True,
                "both",
                (),
                (),
            ):  # whatever it pulls to
                counted.append(graph.and_(tug.works, counts))
                continue
            if pull.high:
                light = self._light(pull.high_unless, joined)
                counted.append(graph.and_(tug.high, counts, *light))
            if pull.low:
                light = self._light(pull.low_unless, joined)
                counted.append(graph.and_(tug.low, counts, *light))
        alone = graph.not_(own.driven)
        calm = graph.not_(self._opposed(plan.net, strong, opposed))
        known = graph.or_(
            graph.and_(own.driven, graph.not_(own.fights), own.sure),
            graph.and_(alone, calm, graph.or_(*counted)),
        )
        firm = graph.and_(
            graph.not_(own.fights),
            graph.or_(own.driven, graph.and_(calm, graph.or_(*counted))),
            graph.or_(own.sure, graph.not_(own.loose)),
        )
        if own.fights == Graph.FALSE and own.sure == Graph.TRUE and self._held(plan):
            known = firm = Graph.TRUE
        value = graph.or_(own.value, graph.and_(alone, graph.or_(*highs)))
        kept = self._kept(plan, drives)
        if kept is not None:
            value = graph.or_(value, graph.and_(kept, graph.or_(*highs)))
            known = graph.or_(known, graph.and_(graph.not_(own.fights), calm, graph.or_(*counted)))
        pulled_up = graph.or_(*highs) == Graph.TRUE
        return NetEquation(
            value=value,
            known=known,
            driven=own.driven,
            fights=own.fights,
            drivers=own.count,
            reached=graph.or_(own.driven, *highs, *lows),
            firm=firm,
            plain=graph.not_(own.low) if pulled_up else value,
        )
