"""The same formula over other names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from breadproof.specs.formula import syntax as s

_Operator = (
    s.Unary | s.Always | s.Next | s.Eventually | s.Binary | s.Ordering | s.Implies | s.Clocked
)


def renamed(expr: s.Expr, new: Callable[[str], str]) -> s.Expr:
    """The expression with each name's path through ``new``; everything else stays as written.

    As deep as formulas are nested, which the parser limits.
    """

    def go(here: s.Expr) -> s.Expr:
        match here:
            case s.Number():
                return here
            case s.Name():
                return replace(here, path=new(here.path))
            case s.Part():
                return replace(here, base=go(here.base))
            case s.Index() | s.Slide():
                return replace(here, base=go(here.base), at=go(here.at))
            case s.Conditional():
                return replace(here, test=go(here.test), then=go(here.then), other=go(here.other))
            case s.Concat():
                return replace(here, items=tuple(go(item) for item in here.items))
            case s.Call():
                return replace(here, arguments=tuple(go(item) for item in here.arguments))
            case _:
                return operators(here)

    def operators(here: _Operator) -> s.Expr:
        match here:
            case s.Unary() | s.Always() | s.Next() | s.Eventually():
                return replace(here, operand=go(here.operand))
            case s.Binary() | s.Ordering() | s.Implies():
                return replace(here, left=go(here.left), right=go(here.right))
            case s.Clocked():
                return replace(here, operand=go(here.operand), event=go(here.event))

    return go(expr)
