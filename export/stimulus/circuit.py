"""Conditions as single assignments, for text in another language: one line a node, in order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.export.stimulus.program import Program
from breadproof.export.stimulus.sights import Sights
from breadproof.specs.machine.graph import Kind

Plain = tuple[Kind, tuple[int, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """``roots`` are the conditions' nodes; ``nodes`` all behind them, each behind its operands.

    ``remembered`` and ``gathered`` are those of `Sights` that matter: leaf and node.
    """

    roots: tuple[int, ...]
    nodes: tuple[int, ...]
    remembered: tuple[tuple[int, int], ...]
    gathered: tuple[tuple[int, int], ...]


def circuit_of(sights: Sights, program: Program) -> Circuit:
    """What the conditions of a program need."""
    roots = [one.node for one in program.conditions]
    needed = set(sights.graph.cone(roots))
    while True:
        behind = [
            node
            for table in (sights.remembered, sights.gathered)
            for leaf, node in table.items()
            if leaf in needed
        ]
        more = set(sights.graph.cone([*roots, *behind]))
        if more == needed:
            break
        needed = more
    return Circuit(
        roots=tuple(roots),
        nodes=tuple(node for node in sorted(needed) if node > 1),
        remembered=tuple(pair for pair in sights.remembered.items() if pair[0] in needed),
        gathered=tuple(pair for pair in sights.gathered.items() if pair[0] in needed),
    )


def plain_nodes(sights: Sights, circuit: Circuit) -> Iterator[tuple[int, Plain]]:
    """The nodes that are no leaves, each with its kind and arguments."""
    graph = sights.graph
    for node in circuit.nodes:
        if graph.kinds[node] is not Kind.LEAF:
            yield node, (graph.kinds[node], graph.args[node])
