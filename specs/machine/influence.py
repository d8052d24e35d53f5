"""What decides about a node, now and in all steps to come: a part of the state that is closed.

If a run is twice in the same state of this part, it can go round from there for ever, whatever the
rest of the board does (a control that has no influence stays as it is; the rest gets quiet).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """``leaves`` are all leaves of the closed part, ``monitors`` the nodes that say what formulas
    remember for the next step, ``memories`` index `Machine.memories` (ROMs left out).

    ``legal`` are the conjuncts of `Machine.legal` about controls of the part.
    """

    leaves: frozenset[int]
    monitors: tuple[int, ...]
    memories: tuple[int, ...]
    legal: tuple[int, ...]


def assumed(machine: Machine) -> tuple[CompiledFormula, ...]:
    """All assumptions."""
    return tuple(one for one in machine.logic.formulas if one.kind == "assume")


def influence(machine: Machine, formulas: Sequence[CompiledFormula]) -> Influence:
    """What decides about some formulas."""
    roots = []
    for one in formulas:
        roots += [one.bad, *(awaited.node for awaited in one.awaited)]
    graph = machine.graph
    limits = _conjuncts(graph, machine.legal)
    seen, memories = closure(machine, roots)
    while more := [node for node in limits if _split(graph, node, seen)]:
        roots += more
        seen, memories = closure(machine, roots)
    leaves = frozenset(node for node in seen if graph.leaf_of(node) is not None)
    nexts = {m.next: None for m in machine.logic.monitors if m.leaf in leaves and m.next > 1}
    return Influence(
        leaves=leaves,
        monitors=tuple(nexts),
        memories=tuple(sorted(memories)),
        legal=tuple(n for n in limits if leaves & set(graph.cone([n]))),
    )


def near_assumptions(machine: Machine, formula: CompiledFormula) -> tuple[CompiledFormula, ...]:
    """The strong assumptions, and the weak ones that are about no more controls than these and the
    formula. With fewer assumptions there are more runs: what holds in all of them holds."""
    graph = machine.graph

    def controls(formulas: Sequence[CompiledFormula]) -> set[int]:
        leaves = influence(machine, formulas).leaves
        kinds = ((leaf, graph.leaf_of(leaf)) for leaf in leaves)
        return {leaf for leaf, what in kinds if what is not None and what.kind == "control"}

    strong = [one for one in assumed(machine) if one.awaited]
    here = controls([formula, *strong])
    return tuple(one for one in assumed(machine) if one in strong or controls([one]) <= here)


def _conjuncts(graph: Graph, node: int) -> list[int]:
    return list(graph.operands(node)) if graph.kinds[node] is Kind.AND else [node]


def _split(graph: Graph, node: int, seen: set[int]) -> bool:
    """Whether a limit of controls is about some that are in the part, and some that are not."""
    leaves = {one for one in graph.cone([node]) if graph.leaf_of(one) is not None}
    return bool(leaves & seen) and not leaves <= seen


def closure(machine: Machine, roots: Sequence[int]) -> tuple[set[int], set[int]]:
    """All nodes that decide about the roots, and the memories among them that can be written.

    In this round or any before it: through logic, loops, storage, memories (indices of
    `Machine.memories`), and what formulas remember and gather.
    """
    graph = machine.graph
    behind: dict[int, list[int]] = {store.leaf: [store.next] for store in machine.stores}
    for loop in machine.loops:
        whole = [*loop.externals, *loop.functions, *loop.leaves, *loop.choices]
        behind |= dict.fromkeys(loop.leaves, whole)
    behind |= {monitor.leaf: [monitor.next] for monitor in machine.logic.monitors}
    behind |= {one.leaf: [one.node] for one in machine.logic.gathered}
    seen: set[int] = set()
    memories: set[int] = set()
    stack = list(roots)
    while stack:
        node = stack.pop()
        if node in seen:
            continue
        seen.add(node)
        stack += [*graph.operands(node), *behind.get(node, ())]
        if graph.kinds[node] is Kind.READ:
            index = graph.args[node][0]
            memory = machine.memories[index]
            if memory.contents is None:
                memories.add(index)
                stack += [memory.write, *memory.address, *memory.data]
    return seen, memories
