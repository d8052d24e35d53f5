"""The levels of rounds in numbers, quickly: a machine's nodes as lines of code.

What `Settler` does for levels alone, without its way over each node's kind: straight code for the
nodes between two loops, and `Settler`'s own way through loops. Swings are kept only of what loops
that hold depend on. Who uses it compares the nets with those of a trace that was found without it
(see `replay`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Reader, Round, Settler
from breadproof.specs.machine.walk import Numbers

Stretch = Callable[
    [list[int], Callable[[int], int], Callable[[int, int, Sequence[int]], int], list[int]], None
]
"""Sets levels; from leaves, memories, and the levels of the round before."""


class LevelCode(Settler[int]):
    """A settler of numbers that knows no swings but those that decide loops, and counts no
    changes."""

    def __init__(self, machine: Machine) -> None:
        """Write the code of a machine."""
        super().__init__(machine, Numbers(), [])
        self.parts: list[tuple[Stretch, list[int]] | int] = []
        """Loops by number; between them code, and the nodes in it whose swings are kept."""
        for loops, entries in groupby(machine.order, key=lambda entry: entry < 0):
            nodes = list(entries)
            if loops:
                self.parts += [~entry for entry in nodes]
            else:
                swinging = [node for node in nodes if self.swinging[node]]
                self.parts.append((_stretch(machine.graph, nodes), swinging))

    def settle(
        self,
        leaf: Callable[[int], int],
        read: Reader[int],
        before: Round[int] | None,
        quiet_loops: Callable[[int], int] | None = None,
    ) -> Round[int]:
        """One round, as `Settler.settle`."""
        if quiet_loops is not None:
            return super().settle(leaf, read, before, quiet_loops)
        size = len(self.graph)
        now: Round[int] = Round([0] * size, [None] * size, 0, [None] * size)
        now.levels[Graph.TRUE] = 1
        now.swings[0], now.swings[1] = self.known(0), self.known(1)
        was = now.levels if before is None else before.levels
        for part in self.parts:
            if isinstance(part, int):
                self._settle_loop(self.machine.loops[part], leaf, read, before, now)
            else:
                stretch, swinging = part
                stretch(now.levels, leaf, read, was)
                for node in swinging:
                    now.swings[node] = self._node_swing(node, before, now)
        return now


def _stretch(graph: Graph, nodes: Sequence[int]) -> Stretch:
    """The code of nodes in order. It has nothing in it but numbers."""
    lines = [f" v[{node}] = {_code(graph, node)}" for node in nodes]
    names: dict[str, Stretch] = {}
    text = "\n".join(["def stretch(v, leaf, read, was):", *lines])
    exec(compile(text, "<levels>", "exec"), {"__builtins__": {}}, names)
    return names["stretch"]


def _code(graph: Graph, node: int) -> str:
    args = graph.args[node]
    match graph.kinds[node]:
        case Kind.LEAF:
            return f"leaf({node})"
        case Kind.WAS:
            return f"was[{args[0]}]"
        case Kind.NOT:
            return f"1 - v[{args[0]}]"
        case Kind.AND:
            return " & ".join(f"v[{arg}]" for arg in args) or "1"
        case Kind.OR:
            return " | ".join(f"v[{arg}]" for arg in args) or "0"
        case Kind.XOR:
            return f"v[{args[0]}] ^ v[{args[1]}]"
        case Kind.READ:
            address = ", ".join(f"v[{arg}]" for arg in args[2:])
            return f"read({args[0]}, {args[1]}, ({address},))"
        case Kind.CONST:
            return "1" if node == Graph.TRUE else "0"
