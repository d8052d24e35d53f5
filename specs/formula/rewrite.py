"""The same formula over other names."""

from __future__ import annotations

from collections.abc import Callable, Container
from dataclasses import dataclass, replace

from breadproof.specs.formula import syntax as s

_Operator = (
    s.Unary | s.Always | s.Next | s.Eventually | s.Binary | s.Ordering | s.Implies | s.Clocked
)


def renamed(expr: s.Expr, new: Callable[[str], str], switches: Container[str] = ()) -> s.Expr:
    """The expression with each name's path through ``new``; everything else stays as written.

    So does what is compared with a change-over switch, one of ``switches`` as the expression calls
    them: it is one of its positions, whatever else bears that name. As deep as formulas are
    nested, which the parser limits.
    """
    return _Renaming(new, switches).of(expr)


@dataclass(frozen=True, slots=True)
class _Renaming:
    new: Callable[[str], str]
    switches: Container[str]

    def of(self, here: s.Expr) -> s.Expr:
        of = self.of
        match here:
            case s.Number():
                return here
            case s.Name():
                return replace(here, path=self.new(here.path))
            case s.Part():
                return replace(here, base=of(here.base))
            case s.Index() | s.Slide():
                return replace(here, base=of(here.base), at=of(here.at))
            case s.Conditional():
                return replace(here, test=of(here.test), then=of(here.then), other=of(here.other))
            case s.Concat():
                return replace(here, items=tuple(of(item) for item in here.items))
            case s.Call():
                return replace(here, arguments=tuple(of(item) for item in here.arguments))
            case _:
                return self.operator(here)

    def operator(self, here: _Operator) -> s.Expr:
        match here:
            case s.Unary() | s.Always() | s.Next() | s.Eventually():
                return replace(here, operand=self.of(here.operand))
            case s.Binary(op="==" | "!=", left=s.Name() as left, right=s.Name() as right):
                # As the comparison is read: the left one is the switch, if both could be.
                first = left.path in self.switches
                second = not first and right.path in self.switches
                return replace(
                    here,
                    left=left if second else self.of(left),
                    right=right if first else self.of(right),
                )
            case s.Binary() | s.Ordering() | s.Implies():
                return replace(here, left=self.of(here.left), right=self.of(here.right))
            case s.Clocked():
                return replace(here, operand=self.of(here.operand), event=self.of(here.event))
