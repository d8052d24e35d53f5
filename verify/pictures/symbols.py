"""What stands in a block: the qualifying symbols of IEC 60617-12, from memory.

A gate's comes from its part file's equation; of larger chips what their title says they are. A
circle negates; a triangle at an input is an edge.
"""

from __future__ import annotations

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.formula import syntax as s

_BY_TITLE = (
    ("first-in", "FIFO"),
    ("random-access", "RAM"),
    ("read-only", "ROM"),
    ("shift register", "SRG"),
    ("counter", "CTR"),
    ("data selector", "MUX"),
    ("multiplexer", "MUX"),
    ("demultiplexer", "DX"),
    ("decoder", "X/Y"),
    ("encoder", "HPRI"),
    ("arithmetic", "ALU"),
    ("adder", "\N{GREEK CAPITAL LETTER SIGMA}"),
    ("comparator", "COMP"),
    ("multivibrator", "1\N{HORIZONTAL BAR}"),
    ("transceiver", "\N{WHITE RIGHT-POINTING TRIANGLE}"),
    ("buffer", "\N{WHITE RIGHT-POINTING TRIANGLE}"),
    ("register", "REG"),
    ("latch", "REG"),
    ("flip-flop", ""),
)
_AND, _OR, _ODD = "&", "\N{GREATER-THAN OR EQUAL TO}1", "=1"
_BY_OPERATOR = {"&": _AND, "&&": _AND, "|": _OR, "||": _OR, "^": _ODD, "~^": _ODD}


def symbol_of(kind: PartType, output: str) -> tuple[str, bool]:
    """The symbol of the unit with that output pin (by name), and whether the output is negated."""
    title = kind.title.lower()
    equation = next((one for one in kind.logic if output in one.names), None)
    gate = _gate(equation.level.expr) if equation is not None and not kind.storage else None
    named = next((sign for word, sign in _BY_TITLE if word in title), None)
    if gate is not None and (named is None or "buffer" in title):
        return gate
    return named or "", False


def _gate(expr: s.Expr) -> tuple[str, bool] | None:
    """The symbol of a single gate; None if it is more than one."""
    negated = False
    while isinstance(expr, s.Unary) and expr.op in ("!", "~"):
        expr, negated = expr.operand, not negated
    if isinstance(expr, s.Name):
        return "1", negated
    if not isinstance(expr, s.Binary) or expr.op not in _BY_OPERATOR:
        return None
    sign = _BY_OPERATOR[expr.op]
    stack: list[s.Expr] = [expr.left, expr.right]
    while stack:
        here = stack.pop()
        if isinstance(here, s.Binary) and _BY_OPERATOR.get(here.op) == sign:
            stack += [here.left, here.right]
        elif not isinstance(here, s.Name):
            both = {_AND, _OR}
            inner = isinstance(here, s.Binary) and _BY_OPERATOR.get(here.op)
            return ("&" + _OR, negated) if {sign, inner} == both else None
    return sign, negated != (expr.op == "~^")
