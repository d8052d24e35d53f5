"""Assignments to the bits of a word as assignments of words, where the bits are all alike.

What is put to a bit is text of `netlogic`: names, bits of names, ``~ & |`` and ``Mux``. Bits whose
texts differ in nothing but names are assigned together: ``self.bus_known[0] & ~self.a`` and
``self.bus_known[1] & ~self.b`` become ``self.bus_known & ~Cat(self.a, self.b)``.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.attributes import value_at
from breadproof.export.lowering.layout import lay_out
from breadproof.export.lowering.values import Value

CHOOSE = "choose"
"""The function of generated files that is ``Mux`` bit by bit."""
_OPERATORS: dict[type[ast.operator], tuple[str, int]] = {
    ast.BitAnd: ("&", v.AND),
    ast.BitOr: ("|", v.OR),
    ast.BitXor: ("^", v.XOR),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Assignment:
    """``value`` is put to the stretch of a signal ``target``; ``note`` says why."""

    target: Value
    value: Value
    note: str


@dataclass(slots=True)
class Assignments:
    """Assignments in the order in which their signals were first named.

    ``widths`` tells how wide every signal is of which a bit is used.
    """

    widths: Mapping[str, int]
    by_base: dict[str, list[Assignment]] = field(default_factory=dict)

    def add(self, target: Value, value: Value, note: str = "") -> None:
        """Put a value to a bit."""
        if target.of is None:
            raise AssertionError("only signals are assigned to")
        one = Assignment(target=target, value=value, note=note)
        self.by_base.setdefault(target.of.base, []).append(one)

    def lines(self, depth: int, domain: str = "comb") -> list[str]:
        """The statements."""
        found: list[str] = []
        for ones in self.by_base.values():
            for run in _runs(sorted(ones, key=_low)):
                target = v.joined(one.target for one in run)
                value = merged([one.value for one in run], self.widths)
                text = f"m.d.{domain} += {target.text}.eq({value.text})"
                found += lay_out(text, depth, run[0].note)
        return found


def merged(bits: Sequence[Value], widths: Mapping[str, int]) -> Value:
    """Single bits, the least significant first, as one word."""
    if len(bits) == 1:
        return bits[0]
    return _Merger(widths).word([_tree(bit.text) for bit in bits])


def _low(one: Assignment) -> int:
    return 0 if one.target.of is None else one.target.of.low


def _runs(ones: list[Assignment]) -> list[list[Assignment]]:
    """Neighbouring bits that are alike."""
    runs: list[list[Assignment]] = []
    before = ("", "")
    for one in ones:
        alike = (shape(one.value), one.note)
        if runs and alike == before and v.follows(runs[-1][-1].target, one.target):
            runs[-1].append(one)
        else:
            runs.append([one])
        before = alike
    return runs


def shape(value: Value) -> str:
    """What must be the same of two bits that are assigned together."""
    return _shape(_tree(value.text))


def _shape(tree: ast.expr) -> str:
    match tree:
        case ast.UnaryOp(operand=operand):
            return f"~{_shape(operand)}"
        case ast.BinOp(left=left, op=op, right=right):
            return f"({_shape(left)}{_OPERATORS[type(op)][0]}{_shape(right)})"
        case ast.Call(args=args):
            return f"mux({','.join(map(_shape, args))})"
        case ast.Constant():
            return "number"
        case _:
            return "name"


def _tree(text: str) -> ast.expr:
    return ast.parse(text, mode="eval").body


@dataclass(frozen=True, slots=True)
class _Merger:
    widths: Mapping[str, int]

    def word(self, bits: list[ast.expr]) -> Value:
        """Trees of one shape as a word."""
        first, width = bits[0], len(bits)
        if not isinstance(first, ast.Constant) and len({ast.unparse(bit) for bit in bits}) == 1:
            return v.repeated(self.one(first), width)
        match first:
            case ast.UnaryOp():
                operands = [bit.operand for bit in bits if isinstance(bit, ast.UnaryOp)]
                return v.inverted(self.word(operands))
            case ast.BinOp(op=op):
                sign, bind = _OPERATORS[type(op)]
                pairs = [(bit.left, bit.right) for bit in bits if isinstance(bit, ast.BinOp)]
                left = self.word([one for one, _ in pairs])
                right = self.word([other for _, other in pairs])
                text = f"{left.within(bind)} {sign} {right.within(bind + 1)}"
                return Value(text=text, width=width, bind=bind)
            case ast.Call():
                return self.choice([bit.args for bit in bits if isinstance(bit, ast.Call)])
            case _:
                return v.joined(self.atom(bit) for bit in bits)

    def choice(self, rows: list[list[ast.expr]]) -> Value:
        """``Mux`` where all bits have one test, else a choice bit by bit."""
        tests, thens, others = ([row[place] for row in rows] for place in range(3))
        then, other = self.word(thens), self.word(others)
        if len({ast.unparse(test) for test in tests}) == 1:
            if max(then.real, other.real) < len(rows):
                # Of two bare numbers Mux is as wide as the larger needs, and no wider.
                then = Value(text=then.sized, width=len(rows))
            return v.chosen(self.one(tests[0]), then, other)
        test = self.word(tests)
        text = f"{CHOOSE}({test.sized}, {then.text}, {other.text})"
        return Value(text=text, width=len(rows))

    def one(self, tree: ast.expr) -> Value:
        """A single bit, told as it was."""
        match tree:
            case ast.UnaryOp(operand=operand):
                return v.inverted(self.one(operand))
            case ast.BinOp(left=left, op=op, right=right):
                sign, bind = _OPERATORS[type(op)]
                text = f"{self.one(left).within(bind)} {sign} {self.one(right).within(bind + 1)}"
                return Value(text=text, bind=bind)
            case ast.Call(args=[test, then, other]):
                return v.chosen(self.one(test), self.one(then), self.one(other))
            case _:
                return self.atom(tree)

    def atom(self, tree: ast.expr) -> Value:
        if isinstance(tree, ast.Constant):
            return v.number(int(str(tree.value)))
        text = ast.unparse(tree)
        if text in self.widths:
            return v.name(text, self.widths[text])
        return value_at(text, self.widths)
