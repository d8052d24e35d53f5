"""Nets that depend on each other within a round: found, cut, and looked at for memory."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import networkx as nx

from breadproof.specs.machine.graph import Graph, Kind

MAX_INPUTS = 14
"""Loops with at most so many inputs are searched in full for whether they can keep a level."""

Step = tuple[Literal["node", "variable"], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLoop:
    """A loop's variables, the ``cut`` first, in an order that needs only earlier ones."""

    variables: tuple[int, ...]
    cut: int


def dependencies(graph: Graph, functions: dict[int, int]) -> nx.DiGraph[int]:
    """Which variable leaf needs which; an edge leads from the needed one to its user."""
    needs: nx.DiGraph[int] = nx.DiGraph()
    needs.add_nodes_from(functions)
    memo: dict[int, frozenset[int]] = {}
    for node in graph.cone(list(functions.values())):
        if node in functions:
            memo[node] = frozenset([node])
        else:
            memo[node] = frozenset().union(*(memo[arg] for arg in graph.operands(node)))
    for variable, function in functions.items():
        needs.add_edges_from((needed, variable) for needed in sorted(memo[function]))
    return needs


def components(needs: nx.DiGraph[int]) -> list[list[int]]:
    """Strongly connected components, each after those it needs; deterministic."""
    condensed = nx.condensation(needs)
    order = nx.lexicographical_topological_sort(
        condensed, key=lambda index: min(condensed.nodes[index]["members"])
    )
    return [sorted(condensed.nodes[index]["members"]) for index in order]


def cut_loop(needs: nx.DiGraph[int], members: Iterable[int]) -> CutLoop:
    """A small set of variables that cuts all cycles (greedy: the busiest first), then the rest."""
    left: nx.DiGraph[int] = nx.DiGraph(needs.subgraph(sorted(members)))
    cut: list[int] = []
    while True:
        cyclic = [
            part
            for part in nx.strongly_connected_components(left)
            if len(part) > 1 or left.has_edge(*(2 * tuple(part)))
        ]
        if not cyclic:
            break
        busiest = min(
            sorted(set().union(*cyclic)),
            key=lambda node: (
                not left.has_edge(node, node),
                -left.in_degree(node) * left.out_degree(node),
                node,
            ),
        )
        cut.append(busiest)
        left.remove_node(busiest)
    rest = list(nx.lexicographical_topological_sort(left))
    return CutLoop(variables=(*cut, *rest), cut=len(cut))


def schedule(
    graph: Graph, leaves: Sequence[int], functions: Sequence[int], cut: int
) -> tuple[tuple[Step, ...], tuple[int, ...]]:
    """The order of one pass over a loop, and the nodes it takes from outside.

    Nodes and variables that are not cut in order, the cut variables last.
    """
    own = set(leaves)
    depends: dict[int, bool] = {}
    for node in graph.cone(list(functions)):
        depends[node] = node in own or any(depends[arg] for arg in graph.operands(node))
    steps: list[Step] = []
    done: set[int] = set()
    externals: list[int] = []

    def add(root: int) -> None:
        stack = [root]
        while stack:
            node = stack[-1]
            if node in done or node in own:
                stack.pop()
                continue
            if not depends[node]:
                stack.pop()
                done.add(node)
                externals.append(node)
                continue
            missing = [a for a in graph.operands(node) if a not in done and a not in own]
            if missing:
                stack.extend(missing)
                continue
            stack.pop()
            done.add(node)
            steps.append(("node", node))

    for index in [*range(cut, len(leaves))]:
        add(functions[index])
        steps.append(("variable", index))
    for index in range(cut):
        add(functions[index])
    steps += [("variable", index) for index in range(cut)]
    return tuple(steps), tuple(sorted(externals))


def can_hold(graph: Graph, leaves: Sequence[int], functions: Sequence[int], cut: int) -> bool:
    """Whether some levels of the rest leave the loop undecided, so that it can keep a level.

    Three-valued evaluation from "all unknown" (Malik 1994: constructive circuits) over every
    combination of the loop's inputs at once, one bit of a long number a combination. Too many
    inputs count as "can hold", which is safe: a loop that is always decided keeps nothing.
    """
    own = set(leaves)
    cone = graph.cone(list(functions))
    inputs = [
        node
        for node in cone
        if node not in own and graph.kinds[node] in (Kind.LEAF, Kind.READ, Kind.WAS)
    ]
    if len(inputs) > MAX_INPUTS or _reads_itself(graph, cone, own):
        return True
    size = 1 << len(inputs)
    full = (1 << size) - 1
    base: dict[int, tuple[int, int]] = {0: (0, full), 1: (full, 0)}
    for position, node in enumerate(inputs):
        block = ((1 << (1 << position)) - 1) << (1 << position)
        pattern, period = block, 2 << position
        while period < size:
            pattern |= pattern << period
            period *= 2
        base[node] = (pattern, full & ~pattern)
    value = dict.fromkeys(leaves, (full, full))
    for _ in range(len(leaves) + 1):
        levels = {**base, **value}
        for node in cone:
            if node not in levels:
                levels[node] = _ternary(graph, node, levels, full)
        value = {leaf: levels[f] for leaf, f in zip(leaves, functions, strict=True)}
    return any(high & low for high, low in value.values())


def _reads_itself(graph: Graph, cone: Sequence[int], own: set[int]) -> bool:
    """Whether a memory is addressed by the loop: its words are then part of the question."""
    depends = set(own)
    for node in cone:
        if any(arg in depends for arg in graph.operands(node)):
            depends.add(node)
    return any(node in depends and graph.kinds[node] is Kind.READ for node in cone)


def _ternary(
    graph: Graph, node: int, levels: dict[int, tuple[int, int]], full: int
) -> tuple[int, int]:
    args = [levels[arg] for arg in graph.operands(node)]
    match graph.kinds[node]:
        case Kind.NOT:
            return args[0][1], args[0][0]
        case Kind.AND:
            high, low = full, 0
            for a_high, a_low in args:
                high, low = high & a_high, low | a_low
            return high, low
        case Kind.OR:
            high, low = 0, full
            for a_high, a_low in args:
                high, low = high | a_high, low & a_low
            return high, low
        case Kind.XOR:
            (ah, al), (bh, bl) = args
            return ah & bl | al & bh, ah & bh | al & bl
        case kind:
            raise AssertionError(f"no inner node: {kind}")
