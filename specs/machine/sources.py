"""What parts that are no chips put on nets: oscillators, and crystals beside a gate."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import PinDrive
from breadproof.specs.netlist.model import Netlist


def source_drives(graph: Graph, netlist: Netlist) -> Iterator[tuple[str, PinDrive]]:
    """Pin label and drive of every such output: the level of the part's control."""
    for part in netlist.parts:
        if part.device in ("oscillator", "crystal"):
            for pin in part.pins:
                if pin.kind.drives:
                    level = graph.leaf("control", part.name, 0)
                    yield pin.label, PinDrive(level=level, when=Graph.TRUE)
