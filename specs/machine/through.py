"""Pulses that pass through open storage: a transparent latch, an asynchronous load.

In a round storage is one level; but while a latch is open, what pulses at its input pulses at its
output. Where that output reaches a clock, clear, preset, load, latch or write pin, or a loop of
gates, the input must not pulse either while the latch is open.
"""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.machine.graph import Graph
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
    source_of = {
        store.leaf: (store.source, store.open, store.load)
        for store in machine.stores
        if (store.open, store.load) != (Graph.FALSE, Graph.FALSE)
    }
    roots = [strobe.condition for strobe in machine.strobes]
    for loop in machine.loops:
        if loop.holds:
            roots += [*loop.externals, *loop.functions]
    beyond = machine.through_loops() | source_of
    return set(machine.graph.cone(roots, through_was=False, beyond=beyond)) & set(source_of)
