"""Which formulas are strong, and what they say when a clock stops (IEEE 1850)."""

from __future__ import annotations

from breadproof.specs.formula import syntax as s


def is_fairness(expr: s.Expr) -> bool:
    """``eventually! P`` or ``always eventually! P``."""
    if isinstance(expr, s.Always) and not expr.never:
        expr = expr.operand
    return isinstance(expr, s.Eventually)


def is_strong(expr: s.Expr) -> bool:
    """Whether a strong operator stands anywhere in a formula."""
    stack = [expr]
    while stack:
        one = stack.pop()
        if isinstance(one, s.Eventually) or (isinstance(one, s.Ordering) and one.strong):
            return True
        stack.extend(s.children(one))
    return False


def holds_without_ticks(expr: s.Expr) -> bool:
    """What a formula says of a run in which its clock never ticks (IEEE 1850-2010, annex B).

    All is weak but the strong operators. ``a -> F`` is ``!a || F``; a level that is never looked at
    holds, so that its inversion does not, and F decides. This is the stricter of two readings.
    """
    match expr:
        case s.Eventually():
            return False
        case s.Ordering():
            return not expr.strong
        case s.Implies(both=False):
            return holds_without_ticks(expr.right)
        case s.Binary(op="&&"):
            return holds_without_ticks(expr.left) and holds_without_ticks(expr.right)
        case s.Binary(op="||"):
            return holds_without_ticks(expr.left) or holds_without_ticks(expr.right)
        case _:
            return True
