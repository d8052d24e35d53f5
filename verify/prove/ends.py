"""Where a board shows what it does, and what storage and controls can have a say in that.

Lamps, ports that lead out, connectors, test points, and outputs that no chip reads: somebody
looks there. On a board with neither lamp nor way out every output counts: it is still being built.
"""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Net, Netlist

LEADS_OUT = ("connector", "test-point", "display", "led", "led-bar")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """``lamps`` and ``nets`` (by index) are looked at; the rest is what can structurally matter.

    ``stores``, ``memories`` and ``loops`` are numbers in the Machine, ``leaves`` those of controls.
    The set is closed: what is in it depends on nothing outside but the world.
    """

    lamps: tuple[str, ...]
    nets: tuple[int, ...]
    stores: frozenset[int]
    memories: frozenset[int]
    loops: frozenset[int]
    leaves: frozenset[int]


def find_ends(machine: Machine) -> Ends:
    """The ends of a board and all that is behind them."""
    netlist = machine.netlist
    outgoing = {n for port in netlist.ports if port.direction != "in" for n in port.nets}
    nets = [
        net.index
        for net in netlist.nets
        if net.rail is None and (net.index in outgoing or _is_end(netlist, net))
    ]
    if not (machine.lamps or outgoing or any(p.device == "connector" for p in netlist.parts)):
        nets = [net.index for net in netlist.nets if net.rail is None and _driven_by_chip(net)]
    roots = [*machine.lamps.values()]
    for index in nets:
        roots += [machine.nets[index].level, machine.nets[index].driven]
    graph = machine.graph
    seen, _ = closure(machine, roots)
    controls = {leaf for leaves in machine.controls.values() for leaf in leaves}
    return Ends(
        lamps=tuple(machine.lamps),
        nets=tuple(nets),
        stores=frozenset(n for n, store in enumerate(machine.stores) if store.leaf in seen),
        memories=frozenset(graph.args[n][0] for n in seen if graph.kinds[n] is Kind.READ),
        loops=frozenset(n for n, loop in enumerate(machine.loops) if seen & set(loop.leaves)),
        leaves=frozenset(seen & controls),
    )


def _driven_by_chip(net: Net) -> bool:
    return any(pin.kind.drives for pin in net.pins)


def _is_end(netlist: Netlist, net: Net) -> bool:
    devices = {part.name: part.device for part in netlist.parts}
    if any(devices[pin.part] in LEADS_OUT for pin in net.pins):
        return True
    return _driven_by_chip(net) and not any(
        pin.kind.reads and not pin.kind.drives for pin in net.pins
    )


def constant(node: int) -> bool:
    """Whether a node is tied: always low or always high by structure."""
    return node in (Graph.FALSE, Graph.TRUE)


def plain(machine: Machine, node: int) -> int:
    """A node without an inversion: a low active input is drawn as either."""
    graph = machine.graph
    return graph.args[node][0] if graph.kinds[node] is Kind.NOT else node
