"""Constant expressions through the formula language, and a scope of constant vectors for them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import parse
from breadproof.specs.machine.blast import Bits, Blaster, WrongFormula
from breadproof.specs.machine.graph import Graph


@dataclass(frozen=True, slots=True)
class Vector:
    """``[left:right]`` with its content; bit ``right`` is the least significant."""

    left: int
    right: int
    value: int

    @property
    def width(self) -> int:
        return abs(self.left - self.right) + 1


@dataclass(frozen=True, slots=True)
class Constants:
    """The names are vectors whose bits are constants."""

    vectors: Mapping[str, Vector]

    def name(self, name: s.Name) -> Bits:
        if name.path not in self.vectors:
            raise WrongFormula(f"no {name.path}", name.stretch)
        vector = self.vectors[name.path]
        return tuple(vector.value >> place & 1 for place in range(vector.width))

    def numbering(self, name: s.Name) -> tuple[int, int] | None:
        vector = self.vectors[name.path]
        return vector.left, vector.right

    def word(self, name: s.Name, at: Callable[[], Bits]) -> Bits | None:
        return None

    def call(self, call: s.Call, blaster: Blaster) -> Bits:
        raise WrongFormula(f"no {call.function}", call.stretch)

    def compare(self, left: s.Expr, right: s.Expr) -> int | None:
        return None


def bits(text: str, width: int = 0, vectors: Mapping[str, Vector] | None = None) -> str:
    """The value as ``width`` bits keep it (0: as many as the expression has), as 0s and 1s."""
    blaster = Blaster(Graph(), Constants(vectors or {}))
    expr = parse(text)
    found = blaster.exactly(expr, width) if width else blaster.bits(expr)
    assert all(bit in (Graph.FALSE, Graph.TRUE) for bit in found), "not folded to constants"
    return "".join(map(str, reversed(found)))
