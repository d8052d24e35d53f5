"""Where a board shows what it does, and what storage and controls can have a say in that.

Lamps, ports that lead out, connectors, test points, and outputs that no chip reads: somebody
looks there. On a board with neither lamp nor way out every output counts: it is still being built.
"""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph, Kind
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
    stores, memories, loops, leaves = _behind(machine, roots)
    return Ends(
        lamps=tuple(machine.lamps),
        nets=tuple(nets),
        stores=stores,
        memories=memories,
        loops=loops,
        leaves=leaves,
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


def _behind(
    machine: Machine, roots: list[int]
) -> tuple[frozenset[int], frozenset[int], frozenset[int], frozenset[int]]:
    graph = machine.graph
    store_of = {store.leaf: number for number, store in enumerate(machine.stores)}
    loop_of = {leaf: number for number, loop in enumerate(machine.loops) for leaf in loop.leaves}
    stores: set[int] = set()
    memories: set[int] = set()
    loops: set[int] = set()
    leaves: set[int] = set()
    seen: set[int] = set()
    stack = list(roots)
    while stack:
        node = stack.pop()
        if node in seen:
            continue
        seen.add(node)
        stack.extend(graph.operands(node))
        if node in store_of:
            stores.add(store_of[node])
            stack.append(machine.stores[store_of[node]].next)
        elif node in loop_of:
            loop = machine.loops[loop_of[node]]
            loops.add(loop_of[node])
            stack += [*loop.functions, *loop.externals, *loop.leaves]
        elif graph.kinds[node] is Kind.READ and graph.args[node][0] not in memories:
            memories.add(graph.args[node][0])
            memory = machine.memories[graph.args[node][0]]
            stack += [memory.write, *memory.address, *memory.data]
        elif (leaf := graph.leaf_of(node)) is not None and leaf.kind == "control":
            leaves.add(node)
    return frozenset(stores), frozenset(memories), frozenset(loops), frozenset(leaves)


def constant(node: int) -> bool:
    """Whether a node is tied: always low or always high by structure."""
    return node in (Graph.FALSE, Graph.TRUE)


def plain(machine: Machine, node: int) -> int:
    """A node without an inversion: a low active input is drawn as either."""
    graph = machine.graph
    return graph.args[node][0] if graph.kinds[node] is Kind.NOT else node
