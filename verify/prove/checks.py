"""The standing checks of one round, in any algebra of levels: glitch, race, float, fight.

What zero delay hides (design.md section 4), checked on every pin at which storage changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.levels import Swing
from breadproof.specs.machine.machine import Machine, StoreBit, Strobe
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.verify.prove.ends import constant
from breadproof.verify.prove.floating import Floating, may_be_read
from breadproof.verify.prove.once import once

L = TypeVar("L")
CheckKind = Literal["glitch", "race", "float", "fights", "floats", "program"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One standing check: its name (``glitch:U9.21``), kind, and what it looks at.

    ``strobes`` index `Machine.strobes`; ``nets`` index `Machine.nets` (for fights and floats).
    """

    name: str
    kind: CheckKind
    pin: str
    strobes: tuple[int, ...]
    nets: tuple[int, ...] = ()


@once
def standing_checks(machine: Machine) -> tuple[Check, ...]:
    """All checks of a board: fights and floats by net or vector, then glitch, race and float by
    pin."""
    fighting = [n for n, net in enumerate(machine.nets) if net.fights != Graph.FALSE]
    return (
        *_net_checks(machine, "fights", fighting),
        *_net_checks(machine, "floats", may_be_read(machine)),
        *_pin_checks(machine),
    )


def _net_checks(
    machine: Machine, kind: Literal["fights", "floats"], nets: Sequence[int]
) -> list[Check]:
    grouped: dict[str, list[int]] = {}
    vector_of = {index: vector.name for vector in machine.netlist.vectors for index in vector.nets}
    for index in nets:
        name = vector_of.get(index, machine.netlist.nets[index].name)
        grouped.setdefault(name, []).append(index)
    return [
        Check(name=f"{kind}:{name}", kind=kind, pin="", strobes=(), nets=tuple(some))
        for name, some in grouped.items()
    ]


def _pin_checks(machine: Machine) -> list[Check]:
    by_pin: dict[str, list[int]] = {}
    by_main: dict[str, list[int]] = {}
    programs: dict[str, list[int]] = {}
    for number, strobe in enumerate(machine.strobes):
        if strobe.kind == "program":
            programs.setdefault(main_pin(machine, strobe), []).append(number)
            continue
        for pin in strobe.pins:
            by_pin.setdefault(pin, []).append(number)
        by_main.setdefault(main_pin(machine, strobe), []).append(number)
    checks: list[Check] = []
    for pin, strobes in by_pin.items():
        for kind in ("glitch", "float"):
            checks.append(
                Check(
                    name=f"{kind}:{pin}",
                    kind="glitch" if kind == "glitch" else "float",
                    pin=pin,
                    strobes=tuple(strobes),
                )
            )
        if pin in by_main and any(machine.strobes[n].kind != "through" for n in by_main[pin]):
            checks.append(
                Check(name=f"race:{pin}", kind="race", pin=pin, strobes=tuple(by_main[pin]))
            )
    checks += [
        Check(name=f"program:{pin}", kind="program", pin=pin, strobes=tuple(strobes))
        for pin, strobes in programs.items()
    ]
    return checks


def main_pin(machine: Machine, strobe: Strobe) -> str:
    """The pin that a strobe is named after: the one whose role it is, else its first."""
    part = machine.netlist.part(strobe.part)
    for label in strobe.pins:
        pin = part.pin(label.partition(".")[2]) if part else None
        wanted = "write" if strobe.kind == "program" else strobe.kind
        if pin is not None and pin.role.value == wanted:
            return label
    return strobe.pins[0] if strobe.pins else strobe.part


def swing_roots(machine: Machine) -> list[int]:
    """Nodes whose swings the checks need."""
    found: list[int] = []
    for strobe in machine.strobes:
        found.append(strobe.condition)
        found += [machine.pins[pin].level for pin in strobe.pins if pin in machine.pins]
    for store in machine.stores:
        found += [store.source]
        found += _captured_inputs(machine, store)
    for memory in machine.memories:
        if memory.contents is None:
            found += [*memory.address, *memory.data]
    return found


def count_roots(machine: Machine) -> list[int]:
    """Nodes whose changes the checks count."""
    return [strobe.condition for strobe in machine.strobes if strobe.kind != "program"]


def _captured_inputs(machine: Machine, store: StoreBit) -> list[int]:
    """The nodes of which a register captures the levels of the round before."""
    graph = machine.graph
    return [
        graph.args[node][0]
        for node in graph.cone([store.captured], through_was=False)
        if graph.kinds[node] is Kind.WAS
    ]


def _stores_behind(
    machine: Machine, roots: list[int], stores: dict[int, StoreBit], *, through: bool = False
) -> tuple[StoreBit, ...]:
    """Those of ``stores`` (by leaf) that reach the roots through logic and loops.

    With ``through`` also through what such a store shows while it is open.
    """
    beyond = machine.through_loops()
    if through:
        beyond |= {leaf: (store.source,) for leaf, store in stores.items()}
    behind = machine.graph.cone(roots, through_was=False, beyond=beyond)
    return tuple(stores[node] for node in behind if node in stores)


@once
def _skew_sources(machine: Machine) -> list[tuple[StoreBit, ...]]:
    """For each strobe: registers on another clock net whose content reaches what it captures."""
    net_of = {pin.label: pin.net for pin in machine.netlist.pins()}
    # Two inverters of one clock are two nets; a clock inhibit that is tied off is none.
    tied = {label for label, pin in machine.pins.items() if constant(pin.level)}
    nets = [
        tuple(net_of[label] for label in strobe.pins if label not in tied)
        for strobe in machine.strobes
    ]
    clocks = [n for n, strobe in enumerate(machine.strobes) if strobe.kind == "clock"]
    found: list[tuple[StoreBit, ...]] = []
    for number, strobe in enumerate(machine.strobes):
        if strobe.kind != "clock":
            found.append(())
            continue
        same = {
            index
            for other in clocks
            if nets[other] == nets[number]
            for index in machine.strobes[other].stores
        }
        stores = {
            s.leaf: s
            for k, s in enumerate(machine.stores)
            if s.edge and k not in same and not finger_of(s.part)
        }
        roots = [n for k in strobe.stores for n in _captured_inputs(machine, machine.stores[k])]
        found.append(_stores_behind(machine, roots, stores))
    return found


@once
def _pass_sources(machine: Machine) -> list[tuple[StoreBit, ...]]:
    """For each strobe: storage that can be open and shows in what it takes in.

    Contacts that bounce move with what moves them; what they remember moves nothing afterwards.
    """
    stores = {
        s.leaf: s
        for s in machine.stores
        if (s.open, s.load) != (Graph.FALSE,) * 2 and not finger_of(s.part)
    }
    found = []
    for strobe in machine.strobes:
        roots = [n for k in strobe.stores for n in _captured_inputs(machine, machine.stores[k])]
        roots += [machine.stores[k].source for k in strobe.stores]
        if strobe.memory is not None:
            memory = machine.memories[strobe.memory]
            roots += [*memory.address, *memory.data]
        found.append(_stores_behind(machine, roots, stores, through=True))
    return found


class RoundChecks(Generic[L]):
    """Evaluates the checks between two rounds."""

    def __init__(self, machine: Machine, settler: Settler[L], checks: tuple[Check, ...]) -> None:
        """``settler`` must keep swings of `swing_roots` and count changes of `count_roots`."""
        self.machine = machine
        self.settler = settler
        self.of = settler.of
        self.checks = checks
        self.floating = Floating(machine, settler)
        self.skewed = _skew_sources(machine)
        self.passing = _pass_sources(machine)

    def round(self, before: Round[L], now: Round[L]) -> dict[str, L]:
        """Each check's level in this round: true if it is broken.

        What is read of a net that floats when the board is quiet is not in it: see `one`.
        """
        glitch = [self.pulses(strobe.condition, now) for strobe in self.machine.strobes]
        race = [self._race(number, before, now) for number in range(len(self.machine.strobes))]
        found: dict[str, L] = {}
        for check in self.checks:
            if check.kind == "floats":
                taken = [self.floating.takes(net, before, now) for net in check.nets]
                found[check.name] = self.of.or_(taken)
            else:
                found[check.name] = self.one(check, glitch, race, now)
        return found

    def one(self, check: Check, glitch: list[L], race: list[L], now: Round[L]) -> L:
        """One check, given what each strobe shows; of floats, what is read at a quiet moment."""
        of = self.of
        match check.kind:
            case "fights":
                return of.or_([now.levels[self.machine.nets[n].fights] for n in check.nets])
            case "floats":
                return of.or_([self.floating.shows(net, now) for net in check.nets])
            case "float":
                pin = self.machine.pins.get(check.pin)
                return of.false if pin is None else of.not_(now.levels[pin.known])
            case "glitch":
                pin = self.machine.pins.get(check.pin)
                moving = of.true if pin is None else self._moves(pin.level, now)
                return of.and_((moving, of.or_([glitch[number] for number in check.strobes])))
            case "race":
                return of.or_([race[number] for number in check.strobes])
            case "program":
                return of.or_([self._may_be(number, now) for number in check.strobes])

    def _moves(self, node: int, now: Round[L]) -> L:
        swing = now.swings[node]
        return self.of.true if swing is None else self.settler.is_unknown(swing)

    def _may_be(self, number: int, now: Round[L]) -> L:
        """Whether a condition holds, or may hold in passing."""
        condition = self.machine.strobes[number].condition
        return self.of.or_((now.levels[condition], self._moves(condition, now)))

    def pulses(self, node: int, now: Round[L]) -> L:
        """May change more often than it must: while its settled level stays, or on its way."""
        extra = now.extra[node]
        return self.of.true if extra is None else extra

    # races ------------------------------------------------------------------------------------

    def passed_on(self, number: int, before: Round[L], now: Round[L]) -> L:
        """Something moves at open storage that shows in what a strobe takes in.

        In this round or the one before: how long storage takes to show it is not known.
        """
        of = self.of
        moving: list[L] = []
        for store in self.passing[number]:
            for one in (before, now):
                opened = of.or_([one.levels[store.open], one.levels[store.load]])
                moving.append(of.and_((opened, self._moves(store.source, one))))
        return of.or_(moving)

    def _race(self, number: int, before: Round[L], now: Round[L]) -> L:
        strobe = self.machine.strobes[number]
        match strobe.kind:
            case "clock":
                return self.clock_race(number, before, now)
            case "clear" | "preset" | "load":
                return self.release_race(number, before, now)
            case "latch":
                return self.closing_race(number, before, now)
            case "through" | "program":
                return self.of.false
            case "write":
                return self.write_race(number, before, now)

    def clock_race(self, number: int, before: Round[L], now: Round[L]) -> L:
        """What is captured moves in the very round of the edge, or may, on a skewed clock."""
        of, strobe = self.of, self.machine.strobes[number]
        moving = [self.passed_on(number, before, now)]
        edge = of.false
        for index in strobe.stores:
            store = self.machine.stores[index]
            edge = now.levels[store.edge]
            held = of.or_([now.levels[store.clear], now.levels[store.preset]])
            unknown = self.settler.is_unknown(self.captured(store, now))
            moving.append(of.and_((of.not_(held), unknown)))
        for source in self.skewed[number]:
            changes = of.xor(now.levels[source.next], now.levels[source.leaf])
            moving.append(of.and_((now.levels[source.edge], changes)))
        return of.and_((edge, of.or_(moving)))

    def captured(self, store: StoreBit, now: Round[L]) -> Swing[L]:
        """The swing of what is captured while the captured pins swing and storage stands."""
        graph, settler = self.machine.graph, self.settler
        value: dict[int, Swing[L]] = {}

        def leaf(node: int) -> Swing[L]:
            if graph.kinds[node] is Kind.WAS:
                found = now.swings[graph.args[node][0]]
                return settler.unknown if found is None else found
            return settler.known(now.levels[node])

        for node in graph.cone([store.captured], through_was=False):
            value[node] = settler.swing(
                node, value.__getitem__, leaf, lambda read, address: settler.unknown
            )
        return value[store.captured]

    def release_race(self, number: int, before: Round[L], now: Round[L]) -> L:
        """An asynchronous control is released in the very round of an edge that matters."""
        of, strobe = self.of, self.machine.strobes[number]
        released = of.and_((before.levels[strobe.condition], of.not_(now.levels[strobe.condition])))
        bad: list[L] = []
        for index in strobe.stores:
            store = self.machine.stores[index]
            swing = self.captured(store, now)
            content = now.levels[store.leaf]
            other = of.or_([of.and_((swing[0], of.not_(content))), of.and_((swing[1], content))])
            bad.append(of.and_((now.levels[store.edge], other)))
            both = of.and_(
                (
                    before.levels[store.clear],
                    before.levels[store.preset],
                    of.not_(now.levels[store.clear]),
                    of.not_(now.levels[store.preset]),
                )
            )
            bad.append(both)
            if strobe.kind == "load":
                bad += [self._moves(store.source, now), self.passed_on(number, before, now)]
        return of.and_((released, of.or_(bad)))

    def closing_race(self, number: int, before: Round[L], now: Round[L]) -> L:
        """A latch closes in the very round in which its input moves."""
        of, strobe = self.of, self.machine.strobes[number]
        closes = of.and_((before.levels[strobe.condition], of.not_(now.levels[strobe.condition])))
        moving = [self._moves(self.machine.stores[index].source, now) for index in strobe.stores]
        moving.append(self.passed_on(number, before, now))
        return of.and_((closes, of.or_(moving)))

    def write_race(self, number: int, before: Round[L], now: Round[L]) -> L:
        """Address or data moves in a round of a write, its first and the one after included."""
        of, strobe = self.of, self.machine.strobes[number]
        if strobe.memory is None:
            return of.false
        memory = self.machine.memories[strobe.memory]
        writes = of.or_([before.levels[strobe.condition], now.levels[strobe.condition]])
        moving = [self._moves(node, now) for node in (*memory.address, *memory.data)]
        moving.append(self.passed_on(number, before, now))
        return of.and_((writes, of.or_(moving)))
