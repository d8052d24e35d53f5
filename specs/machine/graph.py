"""The hash-consed graph of one-bit expressions that a Machine is made of.

Nodes are numbers. Their drawn structure is kept (product terms and all), since glitches depend on
it: only constants are folded and equal nodes shared; ``a & !a`` stays what it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

LeafKind = Literal[
    "control",
    "store",
    "net",
    "loop",
    "free",
    "choice",
    "monitor",
    "gathered",
    "open",
    "held",
    "any",
]


class Kind(IntEnum):
    """The closed set of node kinds."""

    CONST = 0
    LEAF = 1
    NOT = 2
    AND = 3
    OR = 4
    XOR = 5
    READ = 6
    """One bit of a memory word; arguments: memory, bit, address bits (most significant first)."""
    WAS = 7
    """The level of a node in the round before."""


@dataclass(frozen=True, slots=True)
class Leaf:
    """What a leaf stands for.

    ``control`` and ``store``: (name, bit number from the right); ``net``: a net's level while the
    machine is being built; ``loop``: the level of a net that is part of a loop; ``free``: any
    level, chosen once a step, for a reader; ``choice``: any level, chosen once a round, for a loop.
    ``monitor``: a bit that a formula remembers from the step before; ``gathered``: whether
    something held in any round of the step. ``open``: the high level of a bipolar input that is
    connected to nothing, a leaf so that it is seen what rests on it. ``held`` and ``any`` are those
    of a board that is let loose (`loose`).
    """

    kind: LeafKind
    name: str
    bit: int = 0


class Graph:
    """Nodes in topological order: an argument's number is below its user's."""

    FALSE = 0
    TRUE = 1

    def __init__(self) -> None:
        """Start with the two constants."""
        self.kinds: list[Kind] = [Kind.CONST, Kind.CONST]
        self.args: list[tuple[int, ...]] = [(0,), (1,)]
        self.leaves: list[Leaf] = []
        self._leaf_nodes: dict[Leaf, int] = {}
        self._memo: dict[tuple[Kind, tuple[int, ...]], int] = {}

    def __len__(self) -> int:
        """Number of nodes."""
        return len(self.kinds)

    def _node(self, kind: Kind, args: tuple[int, ...]) -> int:
        key = (kind, args)
        found = self._memo.get(key)
        if found is None:
            found = self._memo[key] = len(self.kinds)
            self.kinds.append(kind)
            self.args.append(args)
        return found

    def leaf(self, kind: LeafKind, name: str, bit: int = 0) -> int:
        """The leaf of that meaning; the same one each time."""
        leaf = Leaf(kind, name, bit)
        found = self._leaf_nodes.get(leaf)
        if found is None:
            self.leaves.append(leaf)
            found = self._leaf_nodes[leaf] = self._node(Kind.LEAF, (len(self.leaves) - 1,))
        return found

    def leaf_nodes(self) -> Mapping[Leaf, int]:
        """All leaves with their nodes, in the order of these."""
        return self._leaf_nodes

    def leaf_of(self, node: int) -> Leaf | None:
        """What a leaf node stands for; None for other nodes."""
        return self.leaves[self.args[node][0]] if self.kinds[node] is Kind.LEAF else None

    def not_(self, a: int) -> int:
        """Inversion; a double one falls away."""
        if a <= 1:
            return 1 - a
        return self.args[a][0] if self.kinds[a] is Kind.NOT else self._node(Kind.NOT, (a,))

    def and_(self, *parts: int) -> int:
        """Conjunction of any number."""
        return self._nary(Kind.AND, parts, self.FALSE, self.TRUE)

    def or_(self, *parts: int) -> int:
        """Disjunction of any number."""
        return self._nary(Kind.OR, parts, self.TRUE, self.FALSE)

    def _nary(self, kind: Kind, parts: tuple[int, ...], absorbing: int, neutral: int) -> int:
        if absorbing in parts:
            return absorbing
        left = tuple(sorted({part for part in parts if part != neutral}))
        if not left:
            return neutral
        return left[0] if len(left) == 1 else self._node(kind, left)

    def xor(self, a: int, b: int) -> int:
        """Exclusive or of two."""
        if a > b:
            a, b = b, a
        if a == self.FALSE:
            return b
        return self.not_(b) if a == self.TRUE else self._node(Kind.XOR, (a, b))

    def mux(self, test: int, then: int, other: int) -> int:
        """A selector as its data sheet draws it: ``test & then | !test & other``."""
        return self.or_(self.and_(test, then), self.and_(self.not_(test), other))

    def read(self, memory: int, bit: int, address: tuple[int, ...]) -> int:
        """Bit ``bit`` (0 is the least significant) of the word at ``address``."""
        return self._node(Kind.READ, (memory, bit, *address))

    def was(self, a: int) -> int:
        """The level of ``a`` in the round before."""
        return a if a <= 1 else self._node(Kind.WAS, (a,))

    def operands(self, node: int) -> tuple[int, ...]:
        """The nodes a node is made of, in this round and (`WAS`) in the one before."""
        match self.kinds[node]:
            case Kind.CONST | Kind.LEAF:
                return ()
            case Kind.READ:
                return self.args[node][2:]
            case _:
                return self.args[node]

    def cone(
        self,
        roots: list[int],
        *,
        through_was: bool = True,
        beyond: Mapping[int, Sequence[int]] | None = None,
    ) -> list[int]:
        """All nodes that the roots are made of, roots included, in topological order.

        ``beyond`` are nodes that leaves are made of in their turn; with it the order is that of the
        nodes' numbers only.
        """
        behind = beyond or {}
        seen: set[int] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            stack.extend(behind.get(node, ()))
            if through_was or self.kinds[node] is not Kind.WAS:
                stack.extend(self.operands(node))
        return sorted(seen)

    def rebuild(self, node: int, args: list[int]) -> int:
        """The node with other operands."""
        match self.kinds[node]:
            case Kind.CONST | Kind.LEAF:
                return node
            case Kind.NOT:
                return self.not_(args[0])
            case Kind.AND:
                return self.and_(*args)
            case Kind.OR:
                return self.or_(*args)
            case Kind.XOR:
                return self.xor(args[0], args[1])
            case Kind.READ:
                memory, bit = self.args[node][:2]
                return self.read(memory, bit, tuple(args))
            case Kind.WAS:
                return self.was(args[0])

    def substitute(self, roots: list[int], new: dict[int, int]) -> None:
        """Extend ``new`` (node -> node) to all nodes of the roots' cones."""
        stack = list(roots)
        while stack:
            node = stack[-1]
            if node in new:
                stack.pop()
                continue
            missing = [arg for arg in self.operands(node) if arg not in new]
            if missing:
                stack.extend(missing)
                continue
            stack.pop()
            args = [new[arg] for arg in self.operands(node)]
            new[node] = self.rebuild(node, args) if args else node
