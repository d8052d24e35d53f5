"""Boards with their memories cut to a few words, so that bit-level checkers can take them."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine, MemoryUnit


def cut_memories(machine: Machine, bits: int = 4) -> Machine:
    """The machine with at most ``2 ** bits`` words in each memory: the last address lines count."""
    graph = deepcopy(machine.graph)
    for node, kind in enumerate(graph.kinds):
        if kind is Kind.READ:
            memory, bit, *address = graph.args[node]
            graph.args[node] = (memory, bit, *address[-bits:])
    return replace(machine, graph=graph, memories=tuple(_cut(m, bits) for m in machine.memories))


def _cut(unit: MemoryUnit, bits: int) -> MemoryUnit:
    words = min(unit.words, 1 << bits)
    contents = None if unit.contents is None else unit.contents[:words]
    return replace(unit, words=words, address=unit.address[-bits:], contents=contents)
