"""From a search of all states to what others can check: ranks that fall while something waits.

Of the steps in which a strong operator waits, those that lead round and round form strongly
connected sets of states. In none of these sets are all strong assumptions met, or there were a
counterexample: each set counts on one assumption that is not. Sets that lead to one another are
ranked by the longest way on from them, so that a rank never rises while the operator waits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import networkx as nx

from breadproof.specs.machine.influence import Influence
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.cubes import bit_name
from breadproof.verify.prove.proof import Falling, Ranking

MOST = 1 << 12
"""More states are not written down."""

Following = Mapping[str, Mapping[tuple[str, str], None]]
"""By state: what follows it, as (state, labels); see `statesearch`."""


def state_names(machine: Machine, part: Influence) -> tuple[str, ...]:
    """The names of the bits of `lasso.state`, in its order."""
    held = [leaf for loop in machine.loops if loop.holds for leaf in loop.leaves]
    controls = [leaf for leaves in machine.controls.values() for leaf in leaves]
    leaves = [bit.leaf for bit in machine.stores if bit.leaf in part.leaves]
    leaves += [leaf for leaf in controls if leaf in part.leaves]
    leaves += [leaf for leaf in machine.free.values() if leaf in part.leaves]
    leaves += [leaf for leaf in held if leaf in part.leaves]
    for node in part.monitors:
        monitors = (m for m in machine.logic.monitors if m.next == node and m.leaf in part.leaves)
        leaves.append(next(monitors).leaf)
    return tuple(bit_name(machine.graph, leaf) for leaf in leaves)


def ranked(bits: tuple[str, ...], following: Following, operators: int) -> Ranking | None:
    """The ranking of a search that found no counterexample; None if there are too many states.

    Labels begin with one for each of the ``operators``; the others are the strong assumptions'.

    Raises:
        AssertionError: there is a counterexample (our error).
    """
    if len(following) > MOST:
        return None
    states = sorted(following)
    falling = tuple(_falling(states, following, place, operators) for place in range(operators))
    return Ranking(bits=bits, states=tuple(states), falling=falling)


def _falling(states: Sequence[str], following: Following, place: int, operators: int) -> Falling:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(states)
    met: dict[tuple[str, str], set[int]] = {}
    fair = 0
    for before in states:
        for after, labels in following[before]:
            fair = len(labels) - operators
            if labels[place] == "1":
                graph.add_edge(before, after)
                now = {k for k in range(fair) if labels[operators + k] == "0"}
                met[before, after] = met.get((before, after), set()) | now
    sets = nx.condensation(graph)
    layer: dict[int, int] = {}
    counted: dict[int, int] = {}
    for number in reversed(list(nx.topological_sort(sets))):
        members = sets.nodes[number]["members"]
        layer[number] = max((layer[after] + 1 for after in sets.successors(number)), default=0)
        inside = [edge for edge in graph.edges(members) if edge[1] in members]
        here = set().union(*(met[edge] for edge in inside))
        unmet = [k for k in range(fair) if k not in here] if inside else [-1]
        assert unmet, "a run goes round and meets all assumptions"
        counted[number] = unmet[0]
    kinds = sorted({(layer[number], counted[number]) for number in layer})
    rank_of = {kind: rank for rank, kind in enumerate(kinds)}
    home = sets.graph["mapping"]
    return Falling(
        ranks=tuple(rank_of[layer[home[one]], counted[home[one]]] for one in states),
        counts_on=tuple(kind[1] for kind in kinds),
    )


# states as literals -------------------------------------------------------------------------------


def within(aig: Aig, bits: Sequence[int], states: Sequence[str]) -> int:
    """A literal that holds in these states alone."""

    def tree(rows: Sequence[str], place: int) -> int:
        if not rows or place == len(bits):
            return Aig.true if rows else Aig.false
        zeros, ones = _split(rows, place)
        return aig.mux(bits[place], tree(ones, place + 1), tree(zeros, place + 1))

    return tree(states, 0)


def rank_bits(aig: Aig, bits: Sequence[int], ranking: Ranking, falling: Falling) -> tuple[int, ...]:
    """The ranks of states as a word, most significant bit first; in other states it is anything."""
    width = max(1, (len(falling.counts_on) - 1).bit_length())
    found = []
    for bit in reversed(range(width)):
        pairs = zip(ranking.states, falling.ranks, strict=True)
        levels = {state: (number >> bit) & 1 for state, number in pairs}
        found.append(_choice(aig, bits, levels))
    return tuple(found)


def _choice(aig: Aig, bits: Sequence[int], levels: Mapping[str, int]) -> int:
    def tree(rows: Sequence[str], place: int) -> int:
        seen = {levels[row] for row in rows}
        if len(seen) == 1:
            return seen.pop()
        zeros, ones = _split(rows, place)
        if not zeros or not ones:
            return tree(zeros or ones, place + 1)
        return aig.mux(bits[place], tree(ones, place + 1), tree(zeros, place + 1))

    return tree(list(levels), 0)


def _split(rows: Sequence[str], place: int) -> tuple[list[str], list[str]]:
    """The rows with a 0 and those with a 1 at a place."""
    zeros = [row for row in rows if row[place] == "0"]
    return zeros, [row for row in rows if row[place] == "1"]
