"""Memories whose reads are clocked, as those of an FPGA's memory blocks are."""

from __future__ import annotations

from typing import Any

import networkx as nx
from amaranth.lib.memory import Memory, ReadPort

from breadproof.export.lowering.cuts import Cuts
from breadproof.specs.netlist.model import Netlist

READS = "reads"
"""The clock domain of read ports: it goes on while storage stands still."""


class ClockedMemory(Memory):  # type: ignore[misc]  # Amaranth has no types
    """A memory that shows a word a clock after it is addressed."""

    def read_port(self, *, domain: str = READS, **more: Any) -> ReadPort:
        """A read port, clocked even where one was asked for that is not."""
        return super().read_port(domain=READS if domain == "comb" else domain, **more)


def longest_reads(netlist: Netlist, cuts: Cuts) -> int:
    """How many memories at most are read one after the other within a tick.

    A net that a chip with a memory drives is taken to wait for a read of it, and the chip's
    storage, which may capture a word, for one more; that can only be too many.
    """
    reading = {
        part.name: len(part.type.memories)
        for part in netlist.parts
        if part.device == "chip" and part.type.memories
    }
    weight: dict[int, int] = {}
    for net in netlist.nets:
        drivers = [reading.get(pin.part, 0) for pin in net.pins if pin.kind.drives]
        weight[net.index] = max(drivers, default=0)
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(weight)
    graph.add_edges_from(cuts.within)
    depth: dict[int, int] = {}
    for net_index in nx.topological_sort(graph):
        before = max((depth[one] for one in graph.predecessors(net_index)), default=0)
        depth[net_index] = before + weight[net_index]
    inside = [
        reading[part.name] + depth[pin.net]
        for part in netlist.parts
        if part.name in reading
        for pin in part.pins
        if pin.kind.reads and pin.net is not None
    ]
    return max([*depth.values(), *inside], default=0)
