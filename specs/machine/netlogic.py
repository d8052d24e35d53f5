"""The level of every net as nodes, from who drives it ("Levels" in design.md section 4)."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import PinDrive
from breadproof.specs.netlist.drive import Closed, Driver, NetPlan
from breadproof.specs.netlist.model import Netlist


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


@dataclass(frozen=True, slots=True)
class _Strong:
    driven: int
    value: int
    fights: int
    count: tuple[int, ...]


class NetLogic:
    """Builds net equations from plans and the pins' drives."""

    def __init__(self, graph: Graph, netlist: Netlist, plans: tuple[NetPlan, ...]) -> None:
        """Work on one board."""
        self.graph = graph
        self.netlist = netlist
        self.plans = plans
        self.controls = {control.name: control for control in netlist.controls}

    def control(self, closed: Closed) -> int:
        """The node of one bit of a control."""
        return self.graph.leaf("control", closed[0], closed[1])

    def equations(self, drives: dict[str, PinDrive]) -> list[NetEquation]:
        """One equation a net."""
        strong = [self._strong(plan, drives) for plan in self.plans]
        return [self._equation(plan, strong) for plan in self.plans]

    def _closed(self, paths: tuple[tuple[Closed, ...], ...]) -> int:
        graph = self.graph
        return graph.or_(*(graph.and_(*(self.control(lit) for lit in path)) for path in paths))

    def source(self, driver: Driver, drives: dict[str, PinDrive]) -> tuple[int, int]:
        """(drives now, level) of a driver, contacts aside."""
        match driver.kind:
            case "rail":
                return Graph.TRUE, Graph.TRUE if driver.high else Graph.FALSE
            case "outside":
                offset = 0 if driver.always else 1
                level = self.control((driver.port, driver.bit + offset))
                return (Graph.TRUE if driver.always else self.control((driver.port, 0))), level
            case "pin":
                if driver.pin is None:
                    raise AssertionError("a pin driver without a pin")
                drive = drives[driver.pin.label]
                return drive.when, drive.level

    def _strong(self, plan: NetPlan, drives: dict[str, PinDrive]) -> _Strong:
        graph = self.graph
        lows: list[int] = []
        others: list[int] = []
        highs: list[int] = []
        count: tuple[int, ...] = (Graph.FALSE,)
        for driver in plan.drivers:
            when, level = self.source(driver, drives)
            active = graph.and_(self._closed(driver.paths), when)
            count = self._add_one(count, active)
            highs.append(graph.and_(active, level))
            if self.pulls_low_only(driver):
                lows.append(active)
            else:
                others.append(active)
        groups = [*others, graph.or_(*lows)] if lows else others
        pairs = [
            graph.and_(a, b) for position, a in enumerate(groups) for b in groups[position + 1 :]
        ]
        return _Strong(
            driven=graph.or_(*groups),
            value=graph.or_(*highs),
            fights=graph.or_(*pairs),
            count=count,
        )

    def pulls_low_only(self, driver: Driver) -> bool:
        """Open-collector outputs and ground: their lows never fight each other."""
        if driver.kind == "rail":
            return not driver.high
        return driver.pin is not None and driver.pin.kind.value == "open-collector"

    def _add_one(self, count: tuple[int, ...], active: int) -> tuple[int, ...]:
        graph, carry = self.graph, active
        total: list[int] = []
        for bit in count:
            total.append(graph.xor(bit, carry))
            carry = graph.and_(bit, carry)
        return (*total, carry) if carry != Graph.FALSE else tuple(total)

    def _equation(self, plan: NetPlan, strong: list[_Strong]) -> NetEquation:
        graph, own = self.graph, strong[plan.net]
        highs: list[int] = []
        lows: list[int] = []
        counted: list[int] = []
        for pull in plan.pulls:
            end = strong[pull.end]
            works = graph.and_(
                end.driven,
                graph.not_(end.fights),
                *(self.control(lit) for lit in pull.closed),
                *(graph.not_(strong[index].driven) for index in pull.through),
            )
            high, low = graph.and_(works, end.value), graph.and_(works, graph.not_(end.value))
            highs.append(high)
            lows.append(low)
            counted += [high] if pull.high else []
            counted += [low] if pull.low else []
        opposed = graph.and_(graph.or_(*highs), graph.or_(*lows))
        alone = graph.not_(own.driven)
        known = graph.or_(
            graph.and_(own.driven, graph.not_(own.fights)),
            graph.and_(alone, graph.not_(opposed), graph.or_(*counted)),
        )
        value = graph.or_(own.value, graph.and_(alone, graph.or_(*highs)))
        return NetEquation(
            value=value,
            known=known,
            driven=own.driven,
            fights=own.fights,
            drivers=own.count,
        )
