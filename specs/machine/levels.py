"""What levels are: an algebra that serves numbers and a solver's literals alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

L = TypeVar("L")


class Levels(Protocol[L]):
    """An algebra of levels: Booleans, solver literals."""

    false: L
    true: L

    def not_(self, a: L) -> L:
        """Inversion."""

    def and_(self, parts: Sequence[L]) -> L:
        """Conjunction."""

    def or_(self, parts: Sequence[L]) -> L:
        """Disjunction."""

    def xor(self, a: L, b: L) -> L:
        """Exclusive or."""


Swing = tuple[L, L]
"""(may be high, may be low); both: unknown."""
