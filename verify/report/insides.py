"""Why an output of one chip is what it is: which of its own pins and content decide it.

The chip's part file is built as a graph of its own, so that a walk goes from pin to pin and never
jumps over a wire.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.partlogic import Built, build_part
from breadproof.specs.machine.walk import Numbers
from breadproof.specs.netlist.model import Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """What nodes are made of: pin names, storage labels (``U3.R[2]``), whether memory is read."""

    pins: tuple[str, ...]
    stores: tuple[str, ...]
    reads: bool


class Insides:
    """One chip as a graph over its own pins and storage."""

    def __init__(self, part: Part) -> None:
        """Build the chip's logic by itself."""
        self.part = part
        self.graph = Graph()
        self.built = Built()
        levels = {p.name: self.graph.leaf("net", p.name) for p in part.pins if p.kind.reads}
        build_part(self.graph, part, levels, 0, self.built)

    def support(self, roots: list[int]) -> Support:
        """What nodes are made of, the pins of the round before an edge (captured ones) aside."""
        graph = self.graph
        pins: list[str] = []
        stores: list[str] = []
        reads = False
        for node in graph.cone(roots, through_was=False):
            leaf = graph.leaf_of(node)
            reads = reads or graph.kinds[node] is Kind.READ
            if leaf is not None and leaf.kind == "net":
                pins.append(leaf.name)
            elif leaf is not None and leaf.kind == "store":
                stores.append(f"{leaf.name}[{leaf.bit}]")
        order = [pin.name for pin in self.part.pins if pin.name in pins]
        return Support(pins=tuple(order), stores=tuple(stores), reads=reads)

    def output(self, label: str, *, enable_only: bool = False) -> list[int]:
        """The nodes of an output pin (``U4.6``): whether it drives, and what."""
        drive = self.built.drives[label]
        return [drive.when] if enable_only else [drive.when, drive.level]

    def triggers(self, stores: tuple[str, ...]) -> Support:
        """The pins that change storage: clocks, and what acts by level with what it copies."""
        roots: list[int] = []
        for store in self.built.stores:
            if store.label in stores:
                roots += [store.clock, store.clear, store.preset, store.load, store.open]
                roots += [store.source] if store.load or store.open else []
        return self.support(sorted({root for root in roots if root > Graph.TRUE}))

    def taken(self, stores: tuple[str, ...]) -> tuple[str, ...]:
        """The pins (by name) whose levels storage or a memory takes over."""
        roots = [
            node
            for store in self.built.stores
            if store.label in stores
            for node in (store.captured, store.source)
        ]
        if not stores:
            roots = [n for m in self.built.memories for n in (*m.address, *m.data)]
        leaves = {self.graph.leaf_of(node) for node in self.graph.cone(roots)}
        names = {leaf.name for leaf in leaves if leaf is not None and leaf.kind == "net"}
        return tuple(pin.name for pin in self.part.pins if pin.name in names)

    def writing(self) -> Support:
        """The pins that change a memory's words: write condition, address and data."""
        roots: list[int] = []
        for memory in self.built.memories:
            if memory.contents is None:
                roots += [memory.write, *memory.address, *memory.data]
        return self.support(sorted({root for root in roots if root > Graph.TRUE}))

    def values(
        self, roots: list[int], pins: Mapping[str, int], stores: Mapping[str, int]
    ) -> tuple[int, ...] | None:
        """The levels of nodes from those of pins and storage; None where memory is read."""
        graph, of = self.graph, Numbers()
        value: dict[int, int] = {}
        for node in graph.cone(roots, through_was=False):
            args = graph.args[node]
            match graph.kinds[node]:
                case Kind.CONST:
                    value[node] = node
                case Kind.LEAF:
                    leaf = graph.leaves[args[0]]
                    own = f"{leaf.name}[{leaf.bit}]" if leaf.kind == "store" else leaf.name
                    value[node] = stores[own] if leaf.kind == "store" else pins[own]
                case Kind.NOT:
                    value[node] = of.not_(value[args[0]])
                case Kind.AND:
                    value[node] = of.and_([value[arg] for arg in args])
                case Kind.OR:
                    value[node] = of.or_([value[arg] for arg in args])
                case Kind.XOR:
                    value[node] = of.xor(value[args[0]], value[args[1]])
                case Kind.READ | Kind.WAS:
                    return None
        return tuple(value[root] for root in roots)

    def deciding(
        self,
        roots: list[int],
        now: tuple[Mapping[str, int], Mapping[str, int]],
        other: Mapping[str, int],
        candidates: list[str],
    ) -> list[str]:
        """Those pins (by name) or storage bits (by label) that alone make a difference.

        ``now`` are the levels of pins and storage, ``other`` the level that each candidate would
        have instead. All candidates come back if none alone makes a difference.
        """
        pins, stores = now
        here = self.values(roots, pins, stores)
        if here is None:
            return candidates
        found: list[str] = []
        for one in candidates:
            changed_pins = {**pins, one: other[one]} if one in pins else pins
            changed_stores = {**stores, one: other[one]} if one in stores else stores
            if self.values(roots, changed_pins, changed_stores) != here:
                found.append(one)
        return found or candidates
