"""Formulas as trees: a closed set of kinds, each with the stretch of text it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

UnaryOp = Literal["!", "~", "-", "+", "&", "|", "^", "~&", "~|", "~^"]
BinaryOp = Literal[
    "||", "&&", "|", "^", "~^", "&", "==", "!=", "===", "!==", "<", "<=", ">", ">=",
    "<<", ">>", "<<<", ">>>", "+", "-", "*", "/", "%", "**",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Where in the formula's text something stands: characters ``start`` to ``end``."""

    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A constant. ``width`` is None for an unsized one, which is 32 bits (IEEE 1364, 3.5.1)."""

    value: int
    width: int | None
    signed: bool
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """A net, pin, storage, control, position, port or vector: ``bus``, ``U1.Y1``, ``U1.15``."""

    path: str
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Index:
    """``base[at]``: one bit of a vector, or one word of a memory."""

    base: Expr
    at: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """``base[left:right]``, both constants."""

    base: Expr
    left: Expr
    right: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Slide:
    """``base[at +: width]``, or ``-:`` if ``down``; the width is constant."""

    base: Expr
    at: Expr
    width: Expr
    down: bool
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Unary:
    """An operator before its operand; reductions included."""

    op: UnaryOp
    operand: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Binary:
    """An operator between two operands; ``^~`` is read as ``~^``."""

    op: BinaryOp
    left: Expr
    right: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditional:
    """``test ? then : other``."""

    test: Expr
    then: Expr
    other: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Concat:
    """``{a, b}``, the first one most significant; ``times`` > 1 for a replication."""

    items: tuple[Expr, ...]
    times: Expr | None
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """``rose(clk)``, ``writes(U7)``, ``$signed(a)``."""

    function: str
    arguments: tuple[Expr, ...]
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Always:
    """``always F`` or ``never F`` (IEEE 1850, 6.2.1)."""

    operand: Expr
    never: bool
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """``next F`` is ``next[1] F``."""

    count: int
    operand: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Eventually:
    """``eventually! F``."""

    operand: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordering:
    """``left until right`` and ``left before right``, weak or strong."""

    kind: Literal["until", "before"]
    strong: bool
    left: Expr
    right: Expr
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Implies:
    """``left -> right``, or ``<->`` if ``both``."""

    left: Expr
    right: Expr
    both: bool
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocked:
    """``F @(event)``: F looked at only in the steps in which the event holds."""

    operand: Expr
    event: Expr
    stretch: Stretch


Expr = (
    Number | Name | Index | Part | Slide | Unary | Binary | Conditional | Concat | Call
    | Always | Next | Eventually | Ordering | Implies | Clocked
)  # fmt: skip
Temporal = Always | Next | Eventually | Ordering | Implies | Clocked


def children(expr: Expr) -> tuple[Expr, ...]:
    """The direct parts of an expression, left to right."""
    match expr:
        case Number() | Name():
            return ()
        case Index():
            return (expr.base, expr.at)
        case Part():
            return (expr.base, expr.left, expr.right)
        case Slide():
            return (expr.base, expr.at, expr.width)
        case Unary() | Always() | Next() | Eventually():
            return (expr.operand,)
        case Binary() | Ordering() | Implies():
            return (expr.left, expr.right)
        case Conditional():
            return (expr.test, expr.then, expr.other)
        case Concat():
            return expr.items if expr.times is None else (expr.times, *expr.items)
        case Call():
            return expr.arguments
        case Clocked():
            return (expr.operand, expr.event)


def is_temporal(expr: Expr) -> bool:
    """Whether a temporal operator stands anywhere in it."""
    stack = [expr]
    while stack:
        here = stack.pop()
        if isinstance(here, Temporal):
            return True
        stack.extend(children(here))
    return False


def goes_on(expr: Expr) -> bool:
    """Whether it speaks of more than the beginning of a run: ``always``, ``until`` and their like.

    Without (``a``, ``a -> next b``) a formula is about the first moments alone (IEEE 1850).
    """
    stack = [expr]
    while stack:
        here = stack.pop()
        if isinstance(here, Always | Eventually | Ordering):
            return True
        stack += children(here)
    return False
