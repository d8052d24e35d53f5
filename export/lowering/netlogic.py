"""The level of every net as Amaranth text, from who can drive it (design.md section 4)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from breadproof.export.lowering import values as v
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import Closed, Driver, NetPlan
from breadproof.specs.netlist.model import Netlist, Pin


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Drivers that cannot fight each other: one driver, or all open-collector lows and ground."""

    drives: Value
    level: Value
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strong:
    """What the drivers of a net come to, resistors aside."""

    driven: Value
    fights: Value
    level: Value


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

    ``control`` gives the text of a bit of a control, ``pin`` the (drives, level) of a driving pin,
    ``strong`` the name under which the resolver of a net with several groups is known.
    """

    def __init__(
        self,
        netlist: Netlist,
        plans: tuple[NetPlan, ...],
        control: Callable[[Closed], Value],
        pin: Callable[[Pin], tuple[Value, Value]],
        resolver: Callable[[int], str],
    ) -> None:
        """Work out the groups of all nets."""
        self.netlist = netlist
        self.plans = plans
        self.control = control
        self.pin = pin
        self.resolver = resolver
        self.groups = [self._net_groups(plan) for plan in plans]

    def source(self, driver: Driver) -> tuple[Value, Value]:
        """(drives, level) of a driver, contacts aside."""
        if driver.kind == "rail":
            return v.ONE, v.number(int(driver.high))
        if driver.kind == "outside":
            offset = 0 if driver.always else 1
            level = self.control((driver.port, driver.bit + offset))
            return (v.ONE if driver.always else self.control((driver.port, 0))), level
        if driver.pin is None:
            raise AssertionError("a pin driver without a pin")
        return self.pin(driver.pin)

    def _net_groups(self, plan: NetPlan) -> list[Group]:
        groups: list[Group] = []
        lows: list[Value] = []
        low_labels: list[str] = []
        for driver in plan.drivers:
            drives, level = self.source(driver)
            ways = v.any_of(
                v.all_of(self.control(closed) for closed in path) for path in driver.paths
            )
            active = v.all_of([ways, drives])
            label = driver.pin.label if driver.pin else driver.port or driver.kind
            ground = driver.kind == "rail" and not driver.high
            if ground or (driver.pin and driver.pin.kind is PinKind.OPEN_COLLECTOR):
                lows.append(active)
                low_labels.append(label)
            else:
                groups.append(Group(drives=active, level=level, labels=(label,)))
        if lows:
            groups.append(Group(drives=v.any_of(lows), level=v.ZERO, labels=tuple(low_labels)))
        return [group for group in groups if group.drives.number != 0]

    def strong(self, net: int) -> Strong:
        """What the drivers of a net come to."""
        groups = self.groups[net]
        if not groups:
            return Strong(driven=v.ZERO, fights=v.ZERO, level=v.ZERO)
        if len(groups) == 1:
            group = groups[0]
            level = v.all_of([group.drives, group.level])
            return Strong(driven=group.drives, fights=v.ZERO, level=level)
        name = self.resolver(net)
        return Strong(
            driven=v.name(f"{name}.driven"),
            fights=v.name(f"{name}.fights"),
            level=v.name(f"{name}.level"),
        )

    def net(self, net: int) -> NetText:
        """A net's level, and whether it has one."""
        own = self.strong(net)
        ups: list[Value] = []
        downs: list[Value] = []
        enough: list[Value] = []
        for pull in self.plans[net].pulls:
            end = self.strong(pull.end)
            works = v.all_of(
                [
                    end.driven,
                    v.inverted(end.fights),
                    *(self.control(closed) for closed in pull.closed),
                    *(v.inverted(self.strong(index).driven) for index in pull.through),
                ]
            )
            up, down = v.all_of([works, end.level]), v.all_of([works, v.inverted(end.level)])
            ups.append(up)
            downs.append(down)
            enough += [up] if pull.high else []
            enough += [down] if pull.low else []
        up, down = v.any_of(ups), v.any_of(downs)
        calm = v.inverted(v.all_of([up, down]))
        pulled = v.all_of([calm, v.any_of(enough)])
        if own.fights.number == 0:
            known = v.any_of([own.driven, pulled])
        else:
            alone = v.all_of([v.inverted(own.driven), pulled])
            known = v.any_of([v.all_of([own.driven, v.inverted(own.fights)]), alone])
        level = v.any_of([own.level, v.all_of([v.inverted(own.driven), up])])
        only = self.groups[net][0].level if len(self.groups[net]) == 1 else v.ZERO
        if known.number == 1 and own.driven.number is None and only.number is None:
            level = v.chosen(own.driven, only, up)
        return NetText(known=known, level=level)
