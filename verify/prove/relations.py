"""Which bits of a board carry the same place of an address, or of a word, of a memory.

That is a guess, and it decides only how short an invariant can be said (see `tracked`): a level
belongs to a place if it is the only place that it leads to, or comes from, or is compared with.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine

MAX_ALIKE = 8
"""So many bits of one place are compared with a tracked one."""

SWEEPS = 3
"""How far places are followed through storage and comparisons."""


class Supports:
    """For each node the leaves behind it in its round and the one before, as a mask of bits.

    A bit of a word that is read from a written memory counts as a leaf, loops that hold nothing and
    what is gathered do not: what is behind them does.
    """

    def __init__(self, machine: Machine) -> None:
        """Walk the graph once, or twice where there are loops."""
        self.machine = machine
        graph = machine.graph
        self.leaves: list[int] = []
        self.masks = [0] * len(graph)
        own: dict[int, int] = {}
        behind = {leaf: loop.functions for loop in machine.loops for leaf in loop.leaves}
        behind |= {one.leaf: (one.node,) for one in machine.logic.gathered}
        written = {n for n, unit in enumerate(machine.memories) if unit.contents is None}
        for _ in range(2 if behind else 1):
            for node, kind in enumerate(graph.kinds):
                if node in behind:
                    self.masks[node] = self.union(behind[node])
                elif kind is Kind.LEAF or (kind is Kind.READ and graph.args[node][0] in written):
                    if node not in own:
                        own[node] = 1 << len(self.leaves)
                        self.leaves.append(node)
                    self.masks[node] = own[node]
                else:
                    self.masks[node] = self.union(graph.operands(node))

    def union(self, nodes: Iterable[int]) -> int:
        """The leaves behind any of some nodes."""
        mask = 0
        for node in nodes:
            mask |= self.masks[node]
        return mask

    def reads(self, memory: int, bit: int | None = None) -> int:
        """All bits that are read from a memory, or those of one place."""
        graph = self.machine.graph
        mask = 0
        for node in self.leaves:
            of, at = graph.args[node][:2] if graph.kinds[node] is Kind.READ else (-1, -1)
            if of == memory and bit in (None, at):
                mask |= self.masks[node]
        return mask

    def nodes(self, mask: int) -> list[int]:
        """The leaves of a mask."""
        found = []
        while mask:
            low = mask & -mask
            found.append(self.leaves[low.bit_length() - 1])
            mask ^= low
        return found

    def alike(self, memory: int, what: str) -> list[list[int]]:
        """For each place (least significant first) of a memory's "address" or "data" the leaves of
        the state that carry it."""
        places = self._seeds(memory) if what == "address" else self._words(memory)
        for _ in range(SWEEPS):
            places = self._followed(places)
        found = []
        for mask in places:
            kept = [node for node in self.nodes(mask) if self._is_state(node)]
            found.append(kept[:MAX_ALIKE])
        return found

    def _is_state(self, node: int) -> bool:
        leaf = self.machine.graph.leaf_of(node)
        return leaf is not None and leaf.kind in ("control", "store", "free", "loop", "monitor")

    def _seeds(self, memory: int) -> list[int]:
        """What leads to one place of an address alone, of all addresses of a memory."""
        graph, unit = self.machine.graph, self.machine.memories[memory]
        every = {tuple(unit.address)} | {
            graph.args[node][2:]
            for node in self.leaves
            if graph.kinds[node] is Kind.READ and graph.args[node][0] == memory
        }
        places = [0] * len(unit.address)
        for address in sorted(every):
            masks = [self.masks[node] for node in reversed(address)]
            for place, mask in enumerate(_alone(masks)):
                places[place] |= mask
        return _alone(places)

    def _words(self, memory: int) -> list[int]:
        """What is written to, or read from, one place of a word alone."""
        unit = self.machine.memories[memory]
        written = _alone([self.masks[node] for node in unit.data])
        shown = [self.reads(memory, bit) for bit in range(unit.bits)]
        return _alone([a | b for a, b in zip(written, shown, strict=True)])

    def _followed(self, places: Sequence[int]) -> list[int]:
        """The places with what storage and comparisons add to them."""
        graph, found = self.machine.graph, list(places)
        links = [(store.leaf, store.next) for store in self.machine.stores]
        links += [(monitor.leaf, monitor.next) for monitor in self.machine.logic.monitors]
        for leaf, following in links:
            self._link(found, places, self.masks[leaf], self.masks[following])
            back = [p for p, mask in enumerate(places) if mask & self.masks[leaf]]
            if len(back) == 1:
                found[back[0]] |= self.masks[following]
        for node, kind in enumerate(graph.kinds):
            if kind is Kind.XOR:
                left, right = (self.masks[one] for one in graph.args[node])
                self._link(found, places, left, right)
                self._link(found, places, right, left)
        return _alone(found)

    def _link(self, found: list[int], places: Sequence[int], to: int, source: int) -> None:
        at = [place for place, mask in enumerate(places) if mask & source]
        if len(at) == 1:
            found[at[0]] |= to


def _alone(masks: Sequence[int]) -> list[int]:
    """What is in one of the masks only, of each."""
    once = twice = 0
    for mask in masks:
        twice |= once & mask
        once |= mask
    return [mask & ~twice for mask in masks]
