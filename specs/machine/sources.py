"""What parts that are no chips put on nets: oscillators, crystals beside a gate, supervisors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Latched, PinDrive, PinLevel
from breadproof.specs.netlist.model import Netlist, Part, Pin


def source_drives(
    graph: Graph, netlist: Netlist, reads: Mapping[str, PinLevel]
) -> Iterator[tuple[str, PinDrive]]:
    """Pin label and drive of every such output; ``reads`` are the levels of reading pins."""
    for part in netlist.parts:
        if part.device in ("oscillator", "crystal"):
            for pin in part.pins:
                if pin.kind.drives:
                    level = graph.leaf("control", part.name, 0)
                    yield pin.label, PinDrive(level=level, when=Graph.TRUE)
        elif part.device == "supervisor":
            pin, active_high = reset_pin(part)
            free = graph.and_(
                graph.leaf("control", part.name, 0),
                *(reads[p.label].level for p in part.pins if p.kind.reads),
            )
            level = graph.not_(free) if active_high else free
            if pin.kind is PinKind.OPEN_COLLECTOR:
                yield pin.label, PinDrive(level=Graph.FALSE, when=graph.not_(level))
            else:
                yield pin.label, PinDrive(level=level, when=Graph.TRUE)


def reset_pin(part: Part) -> tuple[Pin, bool]:
    """A supervisor's output, and whether it resets while high."""
    pin = next(pin for pin in part.pins if pin.kind.drives)
    return pin, not pin.name.endswith("_n")


def latched(graph: Graph, netlist: Netlist, reads: Mapping[str, PinLevel]) -> Iterator[Latched]:
    """The controls that begin false, become true once, and stay."""
    for control in netlist.controls:
        if control.kind == "power-on":
            yield Latched(
                control=control.name,
                leaf=graph.leaf("control", control.name, 0),
                unless=graph.not_(reads[control.again].level) if control.again else Graph.FALSE,
            )
