"""Pulses that pass through open storage: a transparent latch, an asynchronous load.

In a round storage is one level; but while a latch is open, what pulses at its input pulses at its
output. Where that output reaches a clock, clear, preset, load, latch or write pin, or a loop of
gates, the input must not pulse either while the latch is open.
"""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine, Strobe


def that_matter(machine: Machine, candidates: Sequence[Strobe]) -> tuple[Strobe, ...]:
    """Those of the inputs of open storage from which a pulse reaches a strobe or a loop."""
    reached = _reached(machine)
    return tuple(
        strobe
        for strobe in candidates
        if strobe.condition > Graph.TRUE
        and any(machine.stores[number].leaf in reached for number in strobe.stores)
    )


def _reached(machine: Machine) -> set[int]:
    """Leaves of storage that pulse into strobes and loops, through open storage again."""
    graph = machine.graph
    loop_of = {leaf: loop for loop in machine.loops for leaf in loop.leaves}
    source_of = {
        store.leaf: (store.source, store.open, store.load)
        for store in machine.stores
        if (store.open, store.load) != (Graph.FALSE, Graph.FALSE)
    }
    stack = [strobe.condition for strobe in machine.strobes]
    for loop in machine.loops:
        if loop.holds:
            stack += [*loop.externals, *loop.functions]
    seen: set[int] = set()
    while stack:
        node = stack.pop()
        if node in seen:
            continue
        seen.add(node)
        stack.extend(source_of.get(node, ()))
        if node in loop_of:
            stack += [*loop_of[node].externals, *loop_of[node].functions]
        if graph.kinds[node] is not Kind.WAS:
            stack.extend(graph.operands(node))
    return seen & set(source_of)
