"""Expressions of part files as Amaranth text, with the meaning of IEEE 1364-2005, clause 5.

Sizes are worked out as the standard says: each node's own width first (table 5-22), then the
context's width handed down to operands that are not self-determined. Amaranth's own rules differ
(sums grow, nothing is cut), so every value that is made here stands for exactly the standard's
bits: as an unsigned number of at most the context's width.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from breadproof.export.lowering import values as v
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue.part import Formula
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.formula import syntax as s
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic


class Scope(Protocol):
    """What names mean."""

    def bit(self, name: str) -> Value | None:
        """A pin or inner signal."""

    def storage(self, name: str) -> Value | None:
        """The content of a register or latch."""

    def word(self, memory: str, address: Value) -> Value | None:
        """A word of a memory."""

    def word_bits(self, memory: str) -> int | None:
        """How many bits a word of a memory has."""


_COMPARE = ("==", "!=", "===", "!==", "<", "<=", ">", ">=")
_LOGIC = ("&&", "||")
_SHIFT = ("<<", ">>", "<<<", ">>>")
_REDUCE = {"&": "all", "~&": "all", "|": "any", "~|": "any", "^": "xor", "~^": "xor"}
_PYTHON = {
    "&": ("&", v.AND), "|": ("|", v.OR), "^": ("^", v.XOR), "+": ("+", v.PLUS),
    "-": ("-", v.PLUS), "*": ("*", v.TIMES),
}  # fmt: skip
_FOLD: dict[str, Callable[[int, int], int]] = {
    "&": lambda a, b: a & b,
    "|": lambda a, b: a | b,
    "^": lambda a, b: a ^ b,
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
}


class Translator:
    """Translates the formulas of one part in one scope."""

    def __init__(self, scope: Scope) -> None:
        """Take names from ``scope``."""
        self.scope = scope
        self.formula: Formula | None = None

    def exactly(self, formula: Formula, width: int) -> Value:
        """The value as assigned to ``width`` bits (IEEE 1364, 5.4 and 5.6).

        Raises:
            BadInput: for an operator that is not exported.
        """
        self.formula = formula
        value = self.value(formula.expr, max(width, self.width(formula.expr)))
        return self.cut(value, width)

    def truth(self, formula: Formula) -> Value:
        """Whether the value is not zero, as one bit.

        Raises:
            BadInput: for an operator that is not exported.
        """
        self.formula = formula
        return self.boolean(formula.expr)

    def refuse(self, expr: s.Expr, what: str) -> BadInput:
        """An error at the place of an expression."""
        if self.formula is None:
            raise AssertionError("a formula is being translated")
        start, end = expr.stretch.start, expr.stretch.end
        return BadInput(
            [
                Diagnostic(
                    code="export-expression",
                    message=f"{what} cannot be exported",
                    span=self.formula.text.at(start, max(1, end - start)),
                    hint="Write the part's equation with gates, sums, shifts and comparisons.",
                )
            ]
        )

    # sizes ------------------------------------------------------------------------------------

    def width(self, expr: s.Expr) -> int:
        """A node's own width (IEEE 1364, table 5-22)."""
        match expr:
            case s.Number():
                return expr.width or 32
            case s.Name() | s.Index() | s.Part() | s.Slide():
                return self.select(expr).width
            case s.Unary():
                return 1 if expr.op == "!" or expr.op in _REDUCE else self.width(expr.operand)
            case s.Binary():
                if expr.op in _COMPARE or expr.op in _LOGIC:
                    return 1
                if expr.op in _SHIFT:
                    return self.width(expr.left)
                return max(self.width(expr.left), self.width(expr.right))
            case s.Conditional():
                return max(self.width(expr.then), self.width(expr.other))
            case s.Concat():
                times = 1 if expr.times is None else self.constant(expr.times)
                return times * sum(self.width(item) for item in expr.items)
            case _:
                raise self.refuse(expr, "this")

    def signed(self, expr: s.Expr) -> bool:
        """Whether an expression is signed (5.5.1): only constants can be, in a part file."""
        match expr:
            case s.Number():
                return expr.signed
            case s.Unary():
                return expr.op in ("+", "-", "~") and self.signed(expr.operand)
            case s.Binary():
                if expr.op in _COMPARE or expr.op in _LOGIC:
                    return False
                if expr.op in _SHIFT:
                    return self.signed(expr.left)
                return self.signed(expr.left) and self.signed(expr.right)
            case s.Conditional():
                return self.signed(expr.then) and self.signed(expr.other)
            case _:
                return False

    def constant(self, expr: s.Expr) -> int:
        """The value of a constant expression."""
        value = self.value(expr, self.width(expr))
        if value.number is None:
            raise self.refuse(expr, "what is not constant here")
        return value.number

    def cut(self, value: Value, width: int) -> Value:
        """The lowest ``width`` bits."""
        if value.width <= width:
            return value
        if value.number is not None:
            return v.number(value.number & ((1 << width) - 1), width)
        return self._slice(value, width - 1, 0)

    # values -----------------------------------------------------------------------------------

    def boolean(self, expr: s.Expr) -> Value:
        """Whether an expression is not zero."""
        value = self.value(expr, self.width(expr))
        if value.number is not None:
            return v.number(int(value.number != 0))
        return value if value.width == 1 else Value(text=f"{value.within(v.ATOM)}.any()")

    def own(self, expr: s.Expr) -> Value:
        """The value of a self-determined operand, in exactly its own width."""
        width = self.width(expr)
        return v.widened(self.value(expr, width), width)

    def value(self, expr: s.Expr, width: int) -> Value:
        """The value in a context of ``width`` bits, which is at least the expression's own."""
        match expr:
            case s.Number():
                own = expr.width or 32
                value = expr.value & ((1 << own) - 1)
                if expr.signed and self.signed_context(expr) and value >> (own - 1):
                    value |= (1 << width) - (1 << own) if width > own else 0
                return v.number(value, width)
            case s.Name() | s.Index() | s.Part() | s.Slide():
                return self.select(expr)
            case s.Unary():
                return self._unary(expr, width)
            case s.Binary():
                return self._binary(expr, width)
            case s.Conditional():
                return v.chosen(
                    self.boolean(expr.test),
                    self.value(expr.then, width),
                    self.value(expr.other, width),
                )
            case s.Concat():
                times = 1 if expr.times is None else self.constant(expr.times)
                items = [self.own(item) for item in reversed(expr.items)]
                return v.joined(items * times)
            case _:
                raise self.refuse(expr, "this")

    def signed_context(self, expr: s.Number) -> bool:
        """A number keeps its sign only where the whole formula is signed."""
        return self.formula is not None and self.signed(self.formula.expr)

    def _unary(self, expr: s.Unary, width: int) -> Value:
        if expr.op == "!":
            return v.inverted(self.boolean(expr.operand))
        if expr.op in _REDUCE:
            return self._reduction(expr)
        operand = self.value(expr.operand, width)
        if expr.op == "+":
            return operand
        if expr.op == "~":
            return v.inverted(v.widened(operand, width))
        if operand.number is not None:
            return v.number(-operand.number & ((1 << width) - 1), width)
        text = f"(-{v.widened(operand, width).within(v.UNARY)})[:{width}]"
        return Value(text=text, width=width)

    def _reduction(self, expr: s.Unary) -> Value:
        operand = self.own(expr.operand)
        if operand.number is not None:
            ones = operand.number.bit_count()
            kind = _REDUCE[expr.op]
            whole = ones == operand.width if kind == "all" else ones > 0
            result = v.number(ones % 2 if kind == "xor" else int(whole))
        elif operand.width == 1:
            result = operand
        else:
            result = Value(text=f"{operand.within(v.ATOM)}.{_REDUCE[expr.op]}()")
        return v.inverted(result) if expr.op[0] == "~" else result

    def _binary(self, expr: s.Binary, width: int) -> Value:
        if expr.op in _LOGIC:
            pair = (self.boolean(expr.left), self.boolean(expr.right))
            return v.all_of(pair) if expr.op == "&&" else v.any_of(pair)
        if expr.op in _COMPARE:
            return self._comparison(expr)
        if expr.op in _SHIFT:
            return self._shift(expr, width)
        left, right = self.value(expr.left, width), self.value(expr.right, width)
        if expr.op == "~^":
            return v.inverted(v.widened(self.bitwise("^", left, right, width), width))
        if expr.op not in _PYTHON:
            raise self.refuse(expr, f"the operator '{expr.op}'")
        return self.bitwise(expr.op, left, right, width)

    def bitwise(self, op: str, left: Value, right: Value, width: int) -> Value:
        """``& | ^ + - *`` of two values in a context of ``width`` bits."""
        if left.number is not None and right.number is not None:
            return v.number(_FOLD[op](left.number, right.number) & ((1 << width) - 1), width)
        python, bind = _PYTHON[op]
        if op == "-":
            left, right = v.widened(left, width), v.widened(right, width)
        text = f"{left.within(bind)} {python} {right.within(bind + (op == '-'))}"
        if op in ("&", "|", "^"):
            return Value(text=text, width=max(left.real, right.real), bind=bind)
        grown = left.real + right.real if op == "*" else max(left.real, right.real) + 1
        if op != "-" and grown <= width:
            return Value(text=text, width=grown, bind=bind)
        return Value(text=f"({text})[:{width}]", width=width)

    def _comparison(self, expr: s.Binary) -> Value:
        if expr.op not in ("==", "!=", "===", "!==") and (
            self.signed(expr.left) and self.signed(expr.right)
        ):
            raise self.refuse(expr, "a comparison of signed constants")
        width = max(self.width(expr.left), self.width(expr.right))
        left, right = self.value(expr.left, width), self.value(expr.right, width)
        python = {"===": "==", "!==": "!="}.get(expr.op, expr.op)
        if left.number is not None and right.number is not None:
            order = (left.number > right.number) - (left.number < right.number)
            holds = {
                "==": order == 0, "!=": order != 0, "<": order < 0, "<=": order <= 0,
                ">": order > 0, ">=": order >= 0,
            }  # fmt: skip
            return v.number(int(holds[python]))
        text = f"{left.within(v.OR)} {python} {right.within(v.OR)}"
        return Value(text=text, bind=v.COMPARE)

    def _shift(self, expr: s.Binary, width: int) -> Value:
        if expr.op == ">>>" and self.signed(expr.left):
            raise self.refuse(expr, "a shift of a signed constant")
        left, amount = self.value(expr.left, width), self.own(expr.right)
        if amount.number is not None:
            places = min(amount.number, width)
            if left.number is not None:
                moved = left.number << places if expr.op[0] == "<" else left.number >> places
                return v.number(moved & ((1 << width) - 1), width)
            if expr.op[0] == "<":
                whole = v.joined([v.number(0, places), left]) if places else left
                return self.cut(whole, width)
            if places >= left.width:
                return v.number(0, width)
            return Value(text=f"{left.within(v.ATOM)}[{places}:]", width=left.width - places)
        wide = v.widened(left, width)
        base = wide.sized if wide.number is not None else wide.within(v.SHIFT)
        text = f"{base} {expr.op[:2]} {amount.within(v.PLUS)}"
        return Value(text=f"({text})[:{width}]", width=width)

    # names ------------------------------------------------------------------------------------

    def select(self, expr: s.Name | s.Index | s.Part | s.Slide) -> Value:
        """A name, or bits of it."""
        match expr:
            case s.Name():
                found = self.scope.storage(expr.path) or self.scope.bit(expr.path)
                if found is None:
                    raise self.refuse(expr, f"'{expr.path}'")
                return found
            case s.Index(base=s.Name() as base):
                if self.scope.word_bits(base.path) is not None:
                    word = self.scope.word(base.path, self.own(expr.at))
                    if word is not None:
                        return word
                return self._index(base, expr)
            case s.Part(base=s.Name() as base):
                return self.range(base, self.constant(expr.left), self.constant(expr.right), expr)
            case s.Slide(base=s.Name() as base):
                at, width = self.constant(expr.at), self.constant(expr.width)
                low = at - width + 1 if expr.down else at
                return self.range(base, low + width - 1, low, expr)
            case s.Part():
                low, high = self.constant(expr.right), self.constant(expr.left)
                return self._slice(self.select_base(expr.base), high, low)
            case s.Index():
                place = self.constant(expr.at)
                return self._slice(self.select_base(expr.base), place, place)
            case _:
                raise self.refuse(expr, "a selection from this")

    def select_base(self, expr: s.Expr) -> Value:
        """What is selected from twice, as in ``M[a][3:0]``."""
        if not isinstance(expr, s.Name | s.Index | s.Part | s.Slide):
            raise self.refuse(expr, "a selection from this")
        return self.select(expr)

    def _slice(self, value: Value, high: int, low: int) -> Value:
        if low == 0 and high == value.width - 1:
            return value
        if value.of is not None:
            of = value.of
            return v.stretch(of.base, of.low + low, high - low + 1, of.whole)
        base = value.within(v.ATOM)
        if high == low:
            return Value(text=f"{base}[{low}]")
        text = f"{base}[{low if low else ''}:{high + 1 if high + 1 < value.width else ''}]"
        return Value(text=text, width=high - low + 1)

    def _index(self, base: s.Name, expr: s.Index) -> Value:
        content = self.scope.storage(base.path)
        if content is None:
            raise self.refuse(expr, f"a bit of '{base.path}'")
        at = self.own(expr.at)
        if at.number is not None:
            return self._slice(content, at.number, at.number)
        return Value(text=f"{content.text}.bit_select({at.text}, 1)")

    def range(self, base: s.Name, left: int, right: int, expr: s.Expr) -> Value:
        """``R[3:0]`` of storage, or the pins D3 to D0."""
        content = self.scope.storage(base.path)
        if content is not None:
            return self._slice(content, left, right)
        bits = [self.scope.bit(f"{base.path}{k}") for k in indices(left, right)]
        found = [bit for bit in bits if bit is not None]
        if len(found) < len(bits):
            raise self.refuse(expr, f"'{base.path}[{left}:{right}]'")
        return v.joined(reversed(found))
