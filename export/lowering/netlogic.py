"""The level of every net as Amaranth text, from who can drive it (design.md section 4)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from breadproof.export.lowering import values as v
from breadproof.export.lowering.values import Value
from breadproof.specs.netlist.drive import Driver, NetPlan, Path, Pull
from breadproof.specs.netlist.model import Closing, ControlBit, Netlist, Pin


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Drivers that cannot fight each other: one driver, or all open-collector lows and ground."""

    drives: Value
    level: Value
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay:
    """A way from a driver through diodes: it brings a high, or a low, while ``active``.

    ``over`` are the nets on it, the driver's own included.
    """

    high: bool
    active: Value
    over: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strong:
    """What the drivers of a net come to, resistors aside.

    ``sure``: something drives it whose own net is in no fight.
    """

    driven: Value
    fights: Value
    level: Value
    sure: Value = v.ONE


@dataclass(frozen=True, slots=True, kw_only=True)
class NetText:
    """A net's level where ``known`` holds; elsewhere every reader has a choice."""

    known: Value
    level: Value


def connected_to_nothing(netlist: Netlist, plans: tuple[NetPlan, ...], pin: Pin) -> bool:
    """Whether a reading pin is open: no net, or alone on one that nothing can reach."""
    if pin.net is None:
        return True
    plan = plans[pin.net]
    switched = any(pin.net in (contact.a, contact.b) for contact in netlist.contacts)
    alone = len(netlist.nets[pin.net].pins) == 1
    return alone and not (plan.drivers or plan.pulls or switched)


class NetTexts:
    """Net texts of one board.

    ``closed`` gives the text of what closes a contact, ``pin`` the (drives, level) of a driving
    pin, ``resolver`` what comes out of the resolver of a net with several groups ("driven",
    "fights", "level"), and ``signal`` one of a net's signals about diodes: "high_in", "low_in",
    "fights" and "sure".
    """

    def __init__(
        self,
        netlist: Netlist,
        plans: tuple[NetPlan, ...],
        closed: Callable[[Closing], Value],
        pin: Callable[[Pin], tuple[Value, Value]],
        resolver: Callable[[int, str], Value],
        signal: Callable[[int, str], Value],
    ) -> None:
        """Work out the groups of all nets."""
        self.netlist = netlist
        self.plans = plans
        self.closed = closed
        self.pin = pin
        self.resolver = resolver
        self.signal = signal
        self.groups = [self._net_groups(plan) for plan in plans]
        self.one_way = [self._through_diodes(plan) for plan in plans]

    def source(self, driver: Driver) -> tuple[Value, Value]:
        """(drives, level) of a driver, contacts aside."""
        if driver.kind == "rail":
            return v.ONE, v.number(int(driver.high))
        if driver.kind == "outside":
            offset = 0 if driver.always else 1
            level = self.closed(ControlBit(driver.port, driver.bit + offset))
            lets_go = ControlBit(driver.port, 0)
            return (v.ONE if driver.always else self.closed(lets_go)), level
        if driver.pin is None:
            raise AssertionError("a pin driver without a pin")
        return self.pin(driver.pin)

    def _path(self, path: Path) -> Value:
        return v.all_of(self.closed(closing) for closing in path)

    def _ways(self, paths: tuple[Path, ...]) -> Value:
        return v.any_of(self._path(path) for path in paths)

    def _net_groups(self, plan: NetPlan) -> list[Group]:
        groups: list[Group] = []
        lows: list[Value] = []
        low_labels: list[str] = []
        for driver in plan.drivers:
            if driver.passes != "both":
                continue
            drives, level = self.source(driver)
            active = v.all_of([self._ways(driver.paths), drives])
            label = driver.pin.label if driver.pin else driver.port or driver.kind
            ground = driver.kind == "rail" and not driver.high
            if ground or (driver.pin and driver.pin.kind.sinks):
                lows.append(active)
                low_labels.append(label)
            else:
                groups.append(Group(drives=active, level=level, labels=(label,)))
        if lows:
            groups.append(Group(drives=v.any_of(lows), level=v.ZERO, labels=tuple(low_labels)))
        return [group for group in groups if group.drives.number != 0]

    # diodes -----------------------------------------------------------------------------------

    def _through_diodes(self, plan: NetPlan) -> list[OneWay]:
        found: list[OneWay] = []
        for driver in plan.drivers:
            if driver.passes == "both":
                continue
            drives, level = self.source(driver)
            if driver.pin is not None and driver.pin.kind.sinks:
                level = v.ZERO
            high = driver.passes == "high"
            speaks = [drives, level if high else v.inverted(level)]
            found += [
                OneWay(high=high, active=v.all_of([*speaks, self._path(path)]), over=over)
                for path, over in zip(driver.paths, driver.over, strict=True)
            ]
        return [way for way in found if way.active.number != 0]

    def _named(self, net: int, what: str, value: Value) -> Value:
        return value if value.number is not None else self.signal(net, what)

    def _comes_in(self, net: int, *, high: bool) -> Value:
        return v.any_of(way.active for way in self.one_way[net] if way.high == high)

    def _fights(self, net: int) -> Value:
        """Whether a net with diodes is in a fight, spelt out."""
        own = self._own(net)
        high, low = self.high_in(net), self.low_in(net)
        down = v.all_of([own.driven, v.inverted(own.level)])
        return v.any_of(
            [own.fights, v.all_of([high, v.any_of([down, low])]), v.all_of([low, own.level])]
        )

    def _sure(self, net: int) -> Value:
        """Whether the level of a net with diodes is sure while it is driven and does not fight."""
        over = {other for way in self.one_way[net] for other in way.over}
        if all(self.fights(other).number == 0 for other in sorted(over)):
            return v.ONE
        ways = [
            v.all_of([way.active, *(v.inverted(self.fights(other)) for other in way.over)])
            for way in self.one_way[net]
        ]
        return v.any_of([self._own(net).driven, *ways])

    def high_in(self, net: int) -> Value:
        """Whether a high comes in through a diode."""
        return self._named(net, "high_in", self._comes_in(net, high=True))

    def low_in(self, net: int) -> Value:
        """Whether a low comes in through a diode."""
        return self._named(net, "low_in", self._comes_in(net, high=False))

    def fights(self, net: int) -> Value:
        """Whether a net is in a fight."""
        if not self.one_way[net]:
            return self._own(net).fights
        return self._named(net, "fights", self._fights(net))

    def definitions(self, net: int) -> list[tuple[Value, Value]]:
        """The signals of a net with diodes that somebody may name, each with what it is."""
        if not self.one_way[net]:
            return []
        spelt = {
            "high_in": self._comes_in(net, high=True),
            "low_in": self._comes_in(net, high=False),
            "fights": self._fights(net),
            "sure": self._sure(net),
        }
        return [
            (self.signal(net, what), value) for what, value in spelt.items() if value.number is None
        ]

    # levels -----------------------------------------------------------------------------------

    def _own(self, net: int) -> Strong:
        """What the drivers of a net come to, those behind diodes left out."""
        groups = self.groups[net]
        if not groups:
            return Strong(driven=v.ZERO, fights=v.ZERO, level=v.ZERO)
        if len(groups) == 1:
            group = groups[0]
            level = v.all_of([group.drives, group.level])
            return Strong(driven=group.drives, fights=v.ZERO, level=level)
        return Strong(
            driven=self.resolver(net, "driven"),
            fights=self.resolver(net, "fights"),
            level=self.resolver(net, "level"),
        )

    def strong(self, net: int) -> Strong:
        """What the drivers of a net come to."""
        own = self._own(net)
        if not self.one_way[net]:
            return own
        high, low = self.high_in(net), self.low_in(net)
        return Strong(
            driven=v.any_of([own.driven, high, low]),
            fights=self.fights(net),
            level=v.any_of([own.level, high]),
            sure=self._named(net, "sure", self._sure(net)),
        )

    def _pull(self, pull: Pull) -> tuple[Value, Value, Value]:
        """(may pull high, may pull low, pulls to a level) of one way through resistors.

        What it ends at may have no level of its own: then it may pull either way.
        """
        end = self.strong(pull.end)
        works = [
            end.driven,
            *(self.closed(closing) for closing in pull.closed),
            *(v.inverted(self.strong(index).driven) for index in pull.through),
        ]
        firm = v.all_of([v.inverted(end.fights), end.sure])
        loose = v.inverted(firm)
        high = v.all_of([*works, v.any_of([end.level, loose])])
        low = v.all_of([*works, v.any_of([v.inverted(end.level), loose])])
        return (
            high if pull.passes != "low" else v.ZERO,
            low if pull.passes != "high" else v.ZERO,
            firm,
        )

    def _light(self, net: int, unless: tuple[tuple[int, ...], ...]) -> list[Value]:
        """That none of the sets of nets is joined which would be too much for a resistor."""
        joined = dict(self.plans[net].joined)
        return [
            v.inverted(v.all_of(self._ways(joined[other]) for other in some)) for some in unless
        ]

    def _pulled(self, net: int) -> tuple[Value, Value]:
        """Whether resistors pull a net high, and whether they pull it low."""
        ways = [self._pull(pull) for pull in self.plans[net].pulls]
        return v.any_of(up for up, _, _ in ways), v.any_of(down for _, down, _ in ways)

    def net(self, net: int) -> NetText:
        """A net's level, and whether it has one."""
        own = self.strong(net)
        enough: list[Value] = []
        for pull in self.plans[net].pulls:
            rise, fall, firm = self._pull(pull)
            over = pull.through if pull.passes != "both" else ()
            calm_over = [v.inverted(v.all_of(self._pulled(other))) for other in over]
            if pull.high:
                enough.append(
                    v.all_of([rise, firm, *calm_over, *self._light(net, pull.high_unless)])
                )
            if pull.low:
                enough.append(
                    v.all_of([fall, firm, *calm_over, *self._light(net, pull.low_unless)])
                )
        up, down = self._pulled(net)
        calm = v.inverted(v.all_of([up, down]))
        pulled = v.all_of([calm, v.any_of(enough)])
        held = v.all_of([own.driven, own.sure])
        if own.fights.number == 0 and own.sure.number == 1:
            known = v.any_of([own.driven, pulled])
        else:
            alone = v.all_of([v.inverted(own.driven), pulled])
            known = v.any_of([v.all_of([held, v.inverted(own.fights)]), alone])
        level = v.any_of([own.level, v.all_of([v.inverted(own.driven), up])])
        only = v.ZERO
        if len(self.groups[net]) == 1 and not self.one_way[net]:
            only = self.groups[net][0].level
        if known.number == 1 and own.driven.number is None and only.number is None:
            level = v.chosen(own.driven, only, up)
        return NetText(known=known, level=level)
