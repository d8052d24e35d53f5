"""Comparisons that a number without a width makes wider than the vectors in them.

``q == prev(q) + 1`` is worked out in 32 bits, since ``1`` has 32 (IEEE 1364-2005, 3.5.1, 5.4.1): a
counter of two bits that goes from 3 to 0 is not one that goes from 3 to 4. That is what the
standard says, and hardly ever what was meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.blast import Blaster

UNSIZED = 32
"""The width of a number that has none (IEEE 1364-2005, 3.5.1)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wide:
    """A comparison whose widest vector has ``width`` bits; ``number`` is one without a width."""

    stretch: s.Stretch
    width: int
    number: int


@dataclass(slots=True)
class _Context:
    """What one context's width is found from (IEEE 1364-2005, table 5-22)."""

    widths: list[int] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)
    carries: bool = False
    """Whether some operator brings more bits into play than its operands have."""


def wide(expr: s.Expr, blaster: Blaster) -> Iterator[Wide]:
    """Those in which it matters: a sum, a difference or an inversion would wrap otherwise.

    Where a number does not fit into the vectors, more bits than these are meant.
    """
    stack: list[s.Expr] = [expr]
    while stack:
        here = stack.pop()
        stack += s.children(here)
        if not isinstance(here, s.Binary) or here.op not in ("==", "!="):
            continue
        if blaster.scope.compare(here.left, here.right) is not None:
            continue
        found = _Context()
        for side in (here.left, here.right):
            _look(side, blaster, found)
        width = min(UNSIZED, max(found.widths, default=UNSIZED))
        if width == UNSIZED or not found.carries or not found.numbers:
            continue
        if not any(number >> width for number in found.numbers):
            yield Wide(stretch=here.stretch, width=width, number=found.numbers[-1])


def _look(expr: s.Expr, blaster: Blaster, found: _Context) -> None:
    match expr:
        case s.Number(width=None):
            found.numbers.append(expr.value)
        case s.Unary(op="~" | "-" | "+"):
            found.carries |= expr.op != "+"
            _look(expr.operand, blaster, found)
        case s.Binary(op="+" | "-" | "*" | "/" | "%" | "&" | "|" | "^" | "~^"):
            found.carries |= expr.op in ("+", "-", "*", "~^")
            _look(expr.left, blaster, found)
            _look(expr.right, blaster, found)
        case s.Binary(op="<<" | "<<<" | ">>" | ">>>"):
            found.carries |= expr.op in ("<<", "<<<")
            _look(expr.left, blaster, found)
        case s.Conditional():
            _look(expr.then, blaster, found)
            _look(expr.other, blaster, found)
        case s.Call(function="prev"):
            _look(expr.arguments[0], blaster, found)
        case s.Call(function="rose" | "fell" | "stable"):
            found.widths.append(1)
        case _ if _calls(expr):  # to ask for its width is to remember more than the formula does
            found.widths.append(UNSIZED)
        case _:
            found.widths.append(blaster.size(expr).width)


def _calls(expr: s.Expr) -> bool:
    return isinstance(expr, s.Call) or any(_calls(part) for part in s.children(expr))
