"""A digest of each node of a Machine that says what it is, whatever its number is."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import blake2b

import networkx as nx

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine

NAMED = ("control", "store", "free", "open")
"""Kinds of leaves that are known by their names."""


class Unkeyed(Exception):
    """It is not known what this depends on."""


def digest(*parts: object) -> str:
    """A digest of texts, numbers, and tuples and lists of such."""
    return blake2b(repr(parts).encode(), digest_size=20).hexdigest()


class NodeDigests:
    """``found`` has them by node. Two boards that give a node the same digest draw it alike.

    What a formula remembers is told by what it starts with and becomes. Where memories look at each
    other, that is told of each by turns: after twice as many turns as there are of them, those of
    two boards that look alike are alike for ever (refinement of partitions, Moore 1956).
    """

    def __init__(self, machine: Machine) -> None:
        """Find them all.

        Raises:
            Unkeyed: there is a kind of leaf that is not known here.
        """
        self.machine = machine
        self.found: dict[int, str] = {}
        self.monitor_of = {one.leaf: one for one in machine.logic.monitors}
        self.gathered_of = {one.leaf: one for one in machine.logic.gathered}
        self.place = {
            leaf: (loop.name, what, number)
            for loop in machine.loops
            for what, leaves in (("loop", loop.leaves), ("choice", loop.choices))
            for number, leaf in enumerate(leaves)
        }
        left = self.fill(self.found, range(len(machine.graph)))
        while left:
            waiting = [node for node in left if node in self.monitor_of]
            ready = [leaf for leaf in waiting if self.monitor_of[leaf].next in self.found]
            for leaf in ready:
                self.found[leaf] = self.colour(leaf, 1, self.found)
            for ring in () if ready else self.rings(waiting):
                self.refine(ring, left)
            left = self.fill(self.found, left)

    def fill(self, found: dict[int, str], among: Iterable[int]) -> list[int]:
        """Add the digests of nodes that are made of nodes that have one; those that are not."""
        left: list[int] = []
        for node in among:
            if node not in found:
                text = self.one(node, found)
                if text:
                    found[node] = text
                else:
                    left.append(node)
        return left

    def one(self, node: int, found: dict[int, str]) -> str:
        """The digest of a node; "" if one that it is made of has none yet."""
        graph = self.machine.graph
        kind = graph.kinds[node]
        if kind is Kind.LEAF:
            return self.leaf(node, found)
        parts = [found.get(one, "") for one in graph.operands(node)]
        if "" in parts:
            return ""
        match kind:
            case Kind.CONST:
                return digest("constant", graph.args[node])
            case Kind.READ:
                memory, bit = graph.args[node][:2]
                return digest("read", self.machine.memories[memory].label, bit, parts)
            case Kind.AND | Kind.OR | Kind.XOR:
                return digest(kind.name, sorted(parts))
            case Kind.NOT | Kind.WAS:
                return digest(kind.name, parts)

    def leaf(self, node: int, found: dict[int, str]) -> str:
        """The digest of a leaf; "" for a formula's memory."""
        what = self.machine.graph.leaf_of(node)
        assert what is not None, "only leaves come here"
        if node in self.monitor_of:
            return ""
        if node in self.gathered_of:
            one = self.gathered_of[node]
            return digest("gathered", one.pulses, found[one.node]) if one.node in found else ""
        if node in self.place:
            return digest(self.place[node])
        if what.kind == "net":
            return digest("net", node)  # was replaced while the machine was built
        if what.kind not in NAMED:
            raise Unkeyed
        return digest(what.kind, what.name, what.bit)

    def colour(self, leaf: int, ring: int, found: dict[int, str]) -> str:
        """The digest of a memory of a ring of so many."""
        monitor = self.monitor_of[leaf]
        return digest("remembered", ring, monitor.initial, found[monitor.next])

    def rings(self, waiting: list[int]) -> list[list[int]]:
        """Memories that look at each other and at no other one that has no digest."""
        looks: nx.DiGraph[int] = nx.DiGraph()
        looks.add_nodes_from(waiting)
        for leaf in waiting:
            looks.add_edges_from((leaf, other) for other in self.behind(leaf) if other in looks)
        return [
            sorted(ring)
            for ring in nx.strongly_connected_components(looks)
            if all(other in ring for leaf in ring for other in looks[leaf])
        ]

    def behind(self, leaf: int) -> set[int]:
        """The memories that one looks at."""
        graph, seen = self.machine.graph, set[int]()
        stack = [self.monitor_of[leaf].next]
        while stack:
            node = stack.pop()
            if node not in seen and node not in self.found:
                seen.add(node)
                stack += graph.operands(node)
                if node in self.gathered_of:
                    stack.append(self.gathered_of[node].node)
        return seen & set(self.monitor_of)

    def refine(self, ring: list[int], left: list[int]) -> None:
        """Tell the memories of a ring apart."""
        colours = {leaf: digest(self.monitor_of[leaf].initial) for leaf in ring}
        for _ in range(2 * len(ring) + 1):
            found = {**self.found, **colours}
            self.fill(found, left)
            colours = {leaf: self.colour(leaf, len(ring), found) for leaf in ring}
        self.found |= colours
