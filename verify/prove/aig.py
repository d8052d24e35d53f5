"""Levels as literals: an and-inverter graph, written out as SMT-LIB 2 for any solver.

Literal ``2 * v`` is variable v, ``2 * v + 1`` its inversion; 0 is false, 1 is true.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence


class Aig:
    """An and-inverter graph with structural hashing; an algebra of levels (see `settle.Levels`)."""

    false = 0
    true = 1

    def __init__(self) -> None:
        """Start with the constant only."""
        self.fanin: list[tuple[int, int] | None] = [None]
        self._memo: dict[tuple[int, int], int] = {}

    def input(self) -> int:
        """A new variable that may have either level."""
        self.fanin.append(None)
        return 2 * (len(self.fanin) - 1)

    def not_(self, a: int) -> int:
        """Inversion."""
        return a ^ 1

    def and2(self, a: int, b: int) -> int:
        """Conjunction of two literals."""
        if a > b:
            a, b = b, a
        if a == 0 or a == b ^ 1:
            return 0
        if a == 1 or a == b:
            return b
        found = self._memo.get((a, b))
        if found is None:
            self.fanin.append((a, b))
            found = self._memo[a, b] = 2 * (len(self.fanin) - 1)
        return found

    def and_(self, parts: Sequence[int]) -> int:
        """Conjunction."""
        result = 1
        for part in parts:
            result = self.and2(result, part)
        return result

    def or_(self, parts: Sequence[int]) -> int:
        """Disjunction."""
        result = 1
        for part in parts:
            result = self.and2(result, part ^ 1)
        return result ^ 1

    def xor(self, a: int, b: int) -> int:
        """Exclusive or."""
        both = self.and2(a, b)
        neither = self.and2(a ^ 1, b ^ 1)
        return self.and2(both ^ 1, neither ^ 1)

    def mux(self, test: int, then: int, other: int) -> int:
        """``test ? then : other``."""
        if then == other:
            return then
        return self.and2(self.and2(test, then) ^ 1, self.and2(test ^ 1, other) ^ 1) ^ 1

    def equal(self, left: Sequence[int], right: Sequence[int]) -> int:
        """Whether two words are equal."""
        result = 1
        for a, b in zip(left, right, strict=True):
            if result == 0:
                return 0
            result = self.and2(result, self.xor(a, b) ^ 1)
        return result

    def conjuncts(self, literals: Iterable[int]) -> list[int]:
        """Literals that hold together just when all of these do, none of them a conjunction."""
        found: dict[int, None] = {}
        seen: set[int] = set()
        stack = list(literals)
        while stack:
            literal = stack.pop()
            gate = None if literal & 1 else self.fanin[literal >> 1]
            if gate is None:
                found[literal] = None
            elif literal not in seen:
                seen.add(literal)
                stack += gate
        return list(found)

    def depending(self, literals: Iterable[int]) -> set[int]:
        """The variables of the literals and all that depend on one of them."""
        found = {literal >> 1 for literal in literals}
        for variable, gate in enumerate(self.fanin):
            if gate is not None and (gate[0] >> 1 in found or gate[1] >> 1 in found):
                found.add(variable)
        return found

    def cone(self, literals: Iterable[int], known: Container[int]) -> list[int]:
        """Variables that the literals depend on and that are not in ``known``, in order."""
        seen: set[int] = set()
        stack = [literal >> 1 for literal in literals]
        while stack:
            variable = stack.pop()
            if variable in seen or variable in known or variable == 0:
                continue
            seen.add(variable)
            gate = self.fanin[variable]
            if gate is not None:
                stack += [gate[0] >> 1, gate[1] >> 1]
        return sorted(seen)


def name(literal: int) -> str:
    """A literal as an SMT-LIB 2 term."""
    if literal < 2:
        return "true" if literal else "false"
    return f"(not v{literal >> 1})" if literal & 1 else f"v{literal >> 1}"


def declarations(aig: Aig, variables: Sequence[int]) -> list[str]:
    """Declarations and definitions of variables, each after those that it is made of."""
    lines = [f"(declare-const v{variable} Bool)" for variable in variables]
    for variable in variables:
        gate = aig.fanin[variable]
        if gate is not None:
            lines.append(f"(assert (= v{variable} (and {name(gate[0])} {name(gate[1])})))")
    return lines
