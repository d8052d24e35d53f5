"""Whether something that floats is read: at a quiet moment, or by storage as it takes something in.

A shared bus floats whenever none of its sources is on, and inputs hang on it all the time; that is
how a bus is, and no fault. A net that floats is *read* if its level makes a difference:

- at a quiet moment, to a lamp; to a port that leads out (one that goes both ways is itself a bus:
  the other board has to know when to look); to a latch that is open, a loop of gates that keeps a
  level, an asynchronous control; to a memory that is being written, or what it is addressed by;
- to what a register captures at an edge, which are the levels of the round before; and to what a
  latch keeps as it closes and a memory as its writing ends.

Formulas need no such check: they are proved for whatever level a floating net is read as.

Whether it makes a difference is worked out with three values: all that reads the net reads
"unknown", everything else stands as it is, and it is looked at how far "unknown" gets: through
gates, outputs and other nets, as far as the controlling levels of the other inputs let it, but not
through storage. So a "never" is sure, whatever each reader takes the net for. Only what two ways of
one level would cancel again is taken as read although it makes no difference.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, TypeVar

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.levels import Swing
from breadproof.specs.machine.machine import Loop, Machine, StoreBit
from breadproof.specs.machine.settle import Round, Settler
from breadproof.verify.prove.once import once

L = TypeVar("L")


def may_be_read(machine: Machine) -> tuple[int, ...]:
    """The nets that may float and have a reader, by index; also where a resistor sees to it that
    they never do while nobody drives them, which is what the builder wants to be told."""
    pins = {pin.net for pin in machine.netlist.pins() if pin.kind.reads}
    lit = {net for lamp in machine.netlist.lamps for net in (lamp.anode, lamp.cathode)}
    out = {net for port in machine.netlist.ports if port.direction == "out" for net in port.nets}
    readers = pins | lit | out
    return tuple(
        net.index
        for net in machine.netlist.nets
        if (
            machine.nets[net.index].known != Graph.TRUE
            or machine.nets[net.index].driven > Graph.TRUE
        )
        and machine.nets[net.index].level != Graph.TRUE
        and net.index in readers
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """How far the level of a floating net can get in one round, by structure.

    ``leaves`` are the free levels of its readers; ``entries`` of `Machine.order` depend on them,
    ``reached`` are all nodes that do, and ``later`` those of the next round that look back.
    """

    leaves: tuple[int, ...]
    entries: tuple[int, ...]
    reached: frozenset[int]
    later: tuple[int, ...]


class Floating(Generic[L]):
    """Finds what floats and is read, on one machine, in any algebra of levels."""

    def __init__(self, machine: Machine, settler: Settler[L]) -> None:
        """Nothing is looked at yet."""
        self.machine = machine
        self.settler = settler
        self.of = settler.of
        self.readers = _readers(machine)
        self.ways: dict[int, _Way] = {}
        self.last: dict[int, tuple[list[L], dict[int, Swing[L]]]] = {}

    @cached_property
    def shown(self) -> list[int]:
        """What shows at a quiet moment, or would change."""
        return _shown(self.machine)

    def floats(self, net: int, now: Round[L]) -> L:
        """Whether a net has no level of its own, and nobody fights over it."""
        level, of = self.machine.nets[net], self.of
        return of.and_((of.not_(now.levels[level.known]), of.not_(now.levels[level.fights])))

    def shows(self, net: int, now: Round[L]) -> L:
        """Whether a net floats and is read at a quiet moment."""
        reached, value = self.way(net).reached, self.unknowns(net, now)
        found = [self.settler.is_unknown(value[node]) for node in self.shown if node in reached]
        for memory in self.machine.memories:
            if memory.contents is None:
                taken = self._any(value, (*memory.address, *memory.data))
                written = self._at(value, now)(memory.write)[0]
                found += [self.of.and_((written, taken)), self._any(value, (memory.write,))]
        return self.of.and_((self.floats(net, now), self.of.or_(found)))

    def takes(self, net: int, before: Round[L], now: Round[L]) -> L:
        """Whether storage takes in a net that floated in the round before."""
        of, value = self.of, self.unknowns(net, before)
        found = list(self._captured(net, value, now))
        for store in self.machine.stores:
            if store.source in self.way(net).reached:
                opened = self._opened(store, before)
                closes = of.and_((opened, of.not_(self._opened(store, now))))
                found.append(of.and_((closes, self.settler.is_unknown(value[store.source]))))
        for memory in self.machine.memories:
            if memory.contents is None:
                written = before.levels[memory.write]
                ends = of.and_((written, of.not_(now.levels[memory.write])))
                found.append(of.and_((written, self._any(value, memory.address))))
                found.append(of.and_((ends, self._any(value, memory.data))))
        return of.and_((self.floats(net, before), of.or_(found)))

    def _any(self, value: dict[int, Swing[L]], nodes: Sequence[int]) -> L:
        unknown = [self.settler.is_unknown(value[node]) for node in nodes if node in value]
        return self.of.or_(unknown)

    def _opened(self, store: StoreBit, now: Round[L]) -> L:
        return self.of.or_([now.levels[store.open], now.levels[store.load]])

    def _captured(self, net: int, value: dict[int, Swing[L]], now: Round[L]) -> Iterable[L]:
        """For each register whether what it has after this round depends on the net before it."""
        graph, found = self.machine.graph, dict[int, Swing[L]]()
        at = self._at(found, now)
        for node in self.way(net).later:
            if graph.kinds[node] is Kind.WAS:
                found[node] = value[graph.args[node][0]]
            else:
                found[node] = self.settler.swing(node, at, at, self._read(now))
        for store in self.machine.stores:
            if store.next in found:
                yield self.settler.is_unknown(found[store.next])

    # how far "unknown" gets -------------------------------------------------------------------

    def way(self, net: int) -> _Way:
        """Where the net's level can get to."""
        if net not in self.ways:
            self.ways[net] = _way(self.machine, tuple(self.readers.get(net, ())))
        return self.ways[net]

    def unknowns(self, net: int, now: Round[L]) -> dict[int, Swing[L]]:
        """What each node may be that a net's level can get to, if all read it as unknown."""
        kept = self.last.get(net)
        if kept is not None and kept[0] is now.levels:
            return kept[1]
        way = self.way(net)
        value = dict.fromkeys(way.leaves, self.settler.unknown)
        at = self._at(value, now)
        for entry in way.entries:
            if entry < 0:
                self._loop(self.machine.loops[~entry], value, now)
            else:
                value[entry] = self.settler.swing(entry, at, at, self._read(now))
        self.last[net] = (now.levels, value)
        return value

    def _at(self, value: dict[int, Swing[L]], now: Round[L]) -> Callable[[int], Swing[L]]:
        def at(node: int) -> Swing[L]:
            return value[node] if node in value else self.settler.known(now.levels[node])

        return at

    def _read(self, now: Round[L]) -> Callable[[int, Sequence[Swing[L]]], Swing[L]]:
        """A word of a memory is unknown altogether while a bit of its address is."""

        def read(node: int, address: Sequence[Swing[L]]) -> Swing[L]:
            of, (high, low) = self.of, self.settler.known(now.levels[node])
            unknown = of.or_([self.settler.is_unknown(bit) for bit in address])
            return of.or_((unknown, high)), of.or_((unknown, low))

        return read

    def _loop(self, loop: Loop, value: dict[int, Swing[L]], now: Round[L]) -> None:
        """A loop that keeps nothing is decided by the rest: from "unknown" on, as far as known.

        What a memory in it shows is not followed.
        """
        value.update(dict.fromkeys(loop.leaves, self.settler.unknown))
        for _ in range(loop.cut + 1):
            inner: dict[int, Swing[L]] = {}

            def at(node: int, inner: dict[int, Swing[L]] = inner) -> Swing[L]:
                if node in inner or node in value:
                    return inner[node] if node in inner else value[node]
                return self.settler.known(now.levels[node])

            for what, index in loop.schedule:
                if what == "node":
                    inner[index] = self.settler.swing(
                        index, at, at, lambda node, address: self.settler.unknown
                    )
                else:
                    value[loop.leaves[index]] = at(loop.functions[index])


def looking(machine: Machine, net: int) -> list[int]:
    """The nodes that tell whether a net floats, and those that it may get to and that count."""
    way, level = _way(machine, tuple(_readers(machine).get(net, ()))), machine.nets[net]
    found = [level.known, level.fights, *(n for n in _shown(machine) if n in way.reached)]
    for memory in machine.memories:
        taken = (memory.write, *memory.address, *memory.data)
        if memory.contents is None and not way.reached.isdisjoint(taken):
            found += taken
    for store in machine.stores:
        if store.next in way.later or store.source in way.reached:
            found += [store.next, store.open, store.load]
    return found


def _shown(machine: Machine) -> list[int]:
    """What shows at a quiet moment, or would change."""
    ports = [port for port in machine.netlist.ports if port.direction == "out"]
    return [
        *machine.lamps.values(),
        *(machine.nets[net].level for port in ports for net in port.nets),
        *(function for loop in machine.loops if loop.holds for function in loop.functions),
        *(store.next for store in machine.stores),
    ]


@once
def _readers(machine: Machine) -> dict[int, list[int]]:
    """By net: the free levels of all that reads it."""
    found = {
        net.index: [machine.free[net.name]]
        for net in machine.netlist.nets
        if net.name in machine.free
    }
    for pin in machine.netlist.pins():
        if pin.net is not None and pin.label in machine.free:
            found.setdefault(pin.net, []).append(machine.free[pin.label])
    return found


@once
def _way(machine: Machine, leaves: tuple[int, ...]) -> _Way:
    graph = machine.graph
    reached = set(leaves)
    entries: list[int] = []
    later: dict[int, None] = {}
    for entry in machine.order:
        if entry < 0:
            loop = machine.loops[~entry]
            if not loop.holds and not reached.isdisjoint(loop.externals):
                entries.append(entry)
                reached.update(loop.leaves)
        elif graph.kinds[entry] is not Kind.WAS and not reached.isdisjoint(graph.operands(entry)):
            entries.append(entry)
            reached.add(entry)
    for entry in machine.order:
        if entry >= 0:
            sources = graph.operands(entry)
            if graph.kinds[entry] is Kind.WAS:
                if graph.args[entry][0] in reached:
                    later[entry] = None
            elif any(source in later for source in sources):
                later[entry] = None
    return _Way(
        leaves=leaves,
        entries=tuple(entries),
        reached=frozenset(reached),
        later=tuple(later),
    )
