"""The order in which a round is evaluated: every node after what it is made of, loops in one go."""

from __future__ import annotations

import networkx as nx

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine

BEYOND_A_ROUND = ("monitor", "gathered")
"""Leaves that have a level only at a quiet moment."""


def roots(machine: Machine) -> list[int]:
    """All nodes that a round must know."""
    found: list[int] = []
    for net in machine.nets:
        found += [net.level, net.known, net.driven, net.fights, *net.drivers]
    for pin in machine.pins.values():
        found += [pin.level, pin.known]
    for drive in machine.drives.values():
        found += [drive.level, drive.when]
    for store in machine.stores:
        found += [store.leaf, store.next, store.edge, store.captured, store.clear, store.preset]
        found += [store.load, store.open, store.source, store.clock]
    for memory in machine.memories:
        found += [*memory.address, memory.write, *memory.data]
    found += [strobe.condition for strobe in machine.strobes]
    found += [function for loop in machine.loops for function in loop.functions]
    found += [*machine.lamps.values(), *machine.switches.values(), *machine.counted.values()]
    found += [machine.legal, *(leaf for bits in machine.controls.values() for leaf in bits)]
    found += [gathered.node for gathered in machine.logic.gathered]
    for leaf in formula_support(machine):
        kind = machine.graph.leaf_of(leaf)
        if kind is None or kind.kind not in BEYOND_A_ROUND:
            found.append(leaf)
    return found


def formula_roots(machine: Machine) -> list[int]:
    """The nodes that formulas look at, at quiet moments."""
    found = [monitor.next for monitor in machine.logic.monitors]
    for formula in machine.logic.formulas:
        found += formula.nodes()
    return found


def formula_support(machine: Machine) -> list[int]:
    """Leaves in the cones of the formulas."""
    graph = machine.graph
    return [node for node in graph.cone(formula_roots(machine)) if graph.kinds[node] is Kind.LEAF]


def formula_order(machine: Machine, known: frozenset[int]) -> list[int]:
    """Nodes of formulas that a round does not know, in topological order, leaves left out."""
    graph = machine.graph
    return [
        node
        for node in graph.cone(formula_roots(machine))
        if node not in known and graph.kinds[node] not in (Kind.CONST, Kind.LEAF)
    ]


def counted_in_order(machine: Machine) -> dict[int, int]:
    """`Machine.counted` without those that would wait for each other.

    Levels wait for each other only in loops, but a drawing may keep what its level is simplified
    from. Where it would wait for itself, the level's own drawing counts: more changes, never fewer.
    """
    if not machine.counted:
        return {}
    loop_of = {leaf: k for k, loop in enumerate(machine.loops) for leaf in loop.leaves}
    waits: nx.DiGraph[int] = nx.DiGraph()
    stack, seen = list(machine.counted), set[int]()
    while stack:
        entry = stack.pop()
        if entry not in seen:
            seen.add(entry)
            needed = _needed(machine, entry, loop_of)
            waits.add_edges_from((entry, other) for other in needed)
            stack += needed
    knot_of = {
        entry: number
        for number, knot in enumerate(nx.strongly_connected_components(waits))
        for entry in knot
    }
    return {
        level: drawn for level, drawn in machine.counted.items() if knot_of[level] != knot_of[drawn]
    }


def evaluation_order(machine: Machine) -> tuple[int, ...]:
    """Nodes in order, with ``~k`` where loop ``k`` is settled; loop leaves are left out.

    What is asked of the round before is among them, for the round after.
    """
    loop_of = {leaf: k for k, loop in enumerate(machine.loops) for leaf in loop.leaves}
    order: list[int] = []
    done: set[int] = {0, 1}
    stack = list(reversed(roots(machine)))
    while stack:
        entry = stack[-1]
        if entry in done:
            stack.pop()
            continue
        needed = _needed(machine, entry, loop_of)
        missing = [item for item in needed if item not in done]
        if missing:
            stack.extend(reversed(missing))
            continue
        stack.pop()
        done.add(entry)
        if entry not in loop_of:
            order.append(entry)
        if entry > 0 and machine.graph.kinds[entry] is Kind.WAS:
            stack[:0] = machine.graph.operands(entry)
    return tuple(order)


def _needed(machine: Machine, entry: int, loop_of: dict[int, int]) -> list[int]:
    """What must be done before an entry: its operands and what counts its changes; for a loop, its
    outside and choices."""
    if entry < 0:
        loop = machine.loops[~entry]
        return [*loop.externals, *loop.choices]
    if entry in loop_of:
        return [~loop_of[entry]]
    if machine.graph.kinds[entry] is Kind.WAS:
        return []
    counted = [machine.counted[entry]] if entry in machine.counted else []
    return [*machine.graph.operands(entry), *counted]
