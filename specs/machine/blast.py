"""Expressions to bits: sizes, signs and operators of IEEE 1364-2005, clause 5.

An expression is sized in two passes, as the standard says (5.4 and 5.5): first each node's own
width and sign, then the context's width is handed down. Levels are 0 and 1 only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.graph import Graph

Bits = tuple[int, ...]
"""Nodes, least significant first."""
MAX_WIDTH = 4096
MAX_PRODUCT = 256
"""Wider products, powers and quotients are refused: their gates grow with the square."""


class WrongFormula(Exception):
    """The formula means nothing here; the stretch says where."""

    def __init__(self, message: str, stretch: s.Stretch, hint: str = "") -> None:
        """Take what is wrong, where, and the way out."""
        super().__init__(message)
        self.message = message
        self.stretch = stretch
        self.hint = hint


class Scope(Protocol):
    """What names and functions mean: a part file's, or a board's."""

    def name(self, name: s.Name) -> Bits:
        """The bits of a name. Raises `WrongFormula` if there is none."""

    def numbering(self, name: s.Name) -> tuple[int, int] | None:
        """The (left, right) numbers that a vector was declared with; None is [width-1:0]."""

    def word(self, name: s.Name, at: Callable[[], Bits]) -> Bits | None:
        """A word of a memory; None if the name is no memory."""

    def call(self, call: s.Call, blaster: Blaster) -> Bits:
        """The value of a function that is not of IEEE 1364."""

    def compare(self, left: s.Expr, right: s.Expr) -> int | None:
        """A comparison that only this scope knows (a switch with a position); None otherwise."""


@dataclass(frozen=True, slots=True)
class Sized:
    """A node's own width and sign (IEEE 1364, tables 5-22 and 5.5.1)."""

    width: int
    signed: bool


_COMPARE = {"==", "!=", "===", "!==", "<", "<=", ">", ">="}
_LOGIC = {"&&", "||"}
_SHIFT = {"<<", ">>", "<<<", ">>>", "**"}
_REDUCE = {"&", "|", "^", "~&", "~|", "~^"}


class Blaster:
    """Turns expressions of one scope into bits of one graph."""

    def __init__(self, graph: Graph, scope: Scope) -> None:
        """Work on ``graph`` with the names of ``scope``."""
        self.graph = graph
        self.scope = scope

    def boolean(self, expr: s.Expr) -> int:
        """Whether the expression is not zero."""
        return self.graph.or_(*self.bits(expr))

    def bits(self, expr: s.Expr, width: int = 0) -> Bits:
        """The expression's bits, at least ``width`` of them (the context's width)."""
        own = self.size(expr)
        return self.build(expr, max(own.width, width), own.signed)

    def exactly(self, expr: s.Expr, width: int) -> Bits:
        """The bits as an assignment to ``width`` bits keeps them: extended or cut."""
        return self.bits(expr, width)[:width]

    # sizes ------------------------------------------------------------------------------------

    def size(self, expr: s.Expr) -> Sized:
        """Own width and sign of an expression."""
        match expr:
            case s.Number():
                return Sized(expr.width or 32, expr.signed)
            case s.Name() | s.Index() | s.Part() | s.Slide():
                return Sized(len(self.leaf(expr)), False)
            case s.Unary():
                if expr.op == "!" or expr.op in _REDUCE:
                    self.size(expr.operand)
                    return Sized(1, False)
                return self.size(expr.operand)
            case s.Binary():
                return self._size_binary(expr)
            case s.Conditional():
                self.size(expr.test)
                return self._joined(expr.then, expr.other)
            case s.Concat():
                return self._size_concat(expr)
            case s.Call():
                if expr.function in ("$signed", "$unsigned"):
                    return Sized(self.size(self.one(expr)).width, expr.function == "$signed")
                return Sized(len(self.scope.call(expr, self)), False)
            case _:
                raise WrongFormula(
                    "a temporal operator stands where a level is needed",
                    expr.stretch,
                    "Temporal operators stand outside of expressions (IEEE 1850, simple subset).",
                )

    def _joined(self, left: s.Expr, right: s.Expr) -> Sized:
        a, b = self.size(left), self.size(right)
        return Sized(max(a.width, b.width), a.signed and b.signed)

    def _size_binary(self, expr: s.Binary) -> Sized:
        if expr.op in _COMPARE:
            if self.scope.compare(expr.left, expr.right) is None:
                self._joined(expr.left, expr.right)
            return Sized(1, False)
        if expr.op in _LOGIC:
            self._joined(expr.left, expr.right)
            return Sized(1, False)
        if expr.op in _SHIFT:
            self.size(expr.right)
            left = self.size(expr.left)
            if expr.op == "**":
                return Sized(left.width, left.signed and self.size(expr.right).signed)
            return left
        return self._joined(expr.left, expr.right)

    def _size_concat(self, expr: s.Concat) -> Sized:
        times = 1 if expr.times is None else self._times(expr.times)
        for item in expr.items:
            if isinstance(item, s.Number) and item.width is None:
                raise WrongFormula(
                    "a number without a width cannot be joined to others",
                    item.stretch,
                    f"Say how many bits it has, such as 4'd{item.value}.",
                )
        width = times * sum(self.size(item).width for item in expr.items)
        if not 1 <= width <= MAX_WIDTH:
            raise WrongFormula(
                f"this is {width} bits wide", expr.stretch, f"1 to {MAX_WIDTH} bits are possible."
            )
        return Sized(width, False)

    def _times(self, expr: s.Expr) -> int:
        """How often a replication repeats: the digits as they stand, whatever their sign."""
        if isinstance(expr, s.Number):
            return expr.value
        return self.constant(expr)

    def one(self, call: s.Call) -> s.Expr:
        """The only argument of a call."""
        if len(call.arguments) != 1:
            raise WrongFormula(
                f"{call.function} takes one argument", call.stretch, f"Write {call.function}(x)."
            )
        return call.arguments[0]

    def constant(self, expr: s.Expr) -> int:
        """The value of a constant expression, two's complement if it is signed."""
        own = self.size(expr)
        bits = self.build(expr, own.width, own.signed)
        if any(bit > 1 for bit in bits):
            raise WrongFormula("a constant is needed here", expr.stretch, "Write a number.")
        value = sum(bit << position for position, bit in enumerate(bits))
        return value - (1 << own.width) if own.signed and bits[-1] else value

    # bits -------------------------------------------------------------------------------------

    def number(self, value: int, width: int) -> Bits:
        """A constant as bits."""
        return tuple((value >> position) & 1 for position in range(width))

    def extend(self, bits: Bits, width: int, signed: bool) -> Bits:
        """Sign or zero extension to ``width``."""
        filler = bits[-1] if signed else Graph.FALSE
        return (bits + (filler,) * (width - len(bits)))[:width]

    def leaf(self, expr: s.Name | s.Index | s.Part | s.Slide) -> Bits:
        """A name or a selection, unsigned (IEEE 1364, 5.5.1: selections are)."""
        match expr:
            case s.Name():
                return self.scope.name(expr)
            case s.Index():
                if isinstance(expr.base, s.Name):
                    word = self.scope.word(expr.base, lambda: self.bits(expr.at))
                    if word is not None:
                        return word
                return self._index(expr)
            case s.Part():
                return self.part(expr, self.constant(expr.left), self.constant(expr.right))
            case s.Slide():
                return self._slide(expr)

    def selectable(self, expr: s.Expr) -> tuple[Bits, tuple[int, int]]:
        """The bits of what is selected from, and its numbering."""
        if not isinstance(expr, s.Name | s.Index | s.Part | s.Slide):
            raise WrongFormula(
                "only a name can be selected from", expr.stretch, "Name a net or vector first."
            )
        bits = self.leaf(expr)
        found = self.scope.numbering(expr) if isinstance(expr, s.Name) else None
        return bits, found or (len(bits) - 1, 0)

    def part(self, expr: s.Part | s.Slide | s.Index, left: int, right: int) -> Bits:
        """Bits ``left`` to ``right`` by the vector's own numbering, in its direction."""
        bits, (first, last) = self.selectable(expr.base)
        low, high = min(first, last), max(first, last)
        backwards = left != right and (left > right) != (first > last)
        if backwards or not (low <= left <= high and low <= right <= high):
            what = f"bit {left}" if isinstance(expr, s.Index) else f"[{left}:{right}]"
            raise WrongFormula(
                f"{what} is outside of [{first}:{last}]",
                expr.stretch,
                "Select inside of it, in the direction in which it is declared.",
            )
        start, end = abs(right - last), abs(left - last)
        return bits[start : end + 1]

    def _index(self, expr: s.Index) -> Bits:
        at = self.bits(expr.at)
        if all(bit <= 1 for bit in at):
            place = self.constant(expr.at)
            return self.part(expr, place, place)
        bits, (first, last) = self.selectable(expr.base)
        step = 1 if first >= last else -1
        return (
            self.graph.or_(
                *(
                    self.graph.and_(self._equals(at, last + step * position), bit)
                    for position, bit in enumerate(bits)
                )
            ),
        )

    def _equals(self, bits: Bits, value: int) -> int:
        if value >> len(bits):
            return Graph.FALSE
        graph = self.graph
        return graph.and_(
            *(bit if (value >> k) & 1 else graph.not_(bit) for k, bit in enumerate(bits))
        )

    def _slide(self, expr: s.Slide) -> Bits:
        width = self.constant(expr.width)
        at = self.constant(expr.at)
        if width < 1:
            raise WrongFormula("the width is at least 1", expr.stretch, "Write [3 +: 2].")
        low = at - width + 1 if expr.down else at
        _, (first, last) = self.selectable(expr.base)
        ends = (low + width - 1, low) if first >= last else (low, low + width - 1)
        return self.part(expr, *ends)

    def build(self, expr: s.Expr, width: int, signed: bool) -> Bits:
        """The bits in a context of ``width`` and sign; never more, never fewer."""
        match expr:
            case s.Number():
                return self.extend(
                    self.number(expr.value, expr.width or 32), width, expr.signed and signed
                )
            case s.Name() | s.Index() | s.Part() | s.Slide():
                return self.extend(self.leaf(expr), width, False)
            case s.Unary():
                return self._build_unary(expr, width, signed)
            case s.Binary():
                return self._build_binary(expr, width, signed)
            case s.Conditional():
                test = self.boolean(expr.test)
                then = self.build(expr.then, width, signed)
                other = self.build(expr.other, width, signed)
                return tuple(self.graph.mux(test, a, b) for a, b in zip(then, other, strict=True))
            case s.Concat():
                times = 1 if expr.times is None else self.constant(expr.times)
                joined = tuple(bit for item in reversed(expr.items) for bit in self.bits(item))
                return self.extend(joined * times, width, False)
            case s.Call():
                if expr.function in ("$signed", "$unsigned"):
                    inner = self.bits(self.one(expr))
                    return self.extend(inner, width, signed and expr.function == "$signed")
                return self.extend(self.scope.call(expr, self), width, False)
            case _:
                self.size(expr)
                raise AssertionError("unreachable: sizes refuse temporal operators")

    def _build_unary(self, expr: s.Unary, width: int, signed: bool) -> Bits:
        graph = self.graph
        if expr.op == "!":
            return self.extend((graph.not_(self.boolean(expr.operand)),), width, False)
        if expr.op in _REDUCE:
            return self.extend((self._reduce(expr.op, self.bits(expr.operand)),), width, False)
        operand = self.build(expr.operand, width, signed)
        if expr.op == "+":
            return operand
        inverted = tuple(graph.not_(bit) for bit in operand)
        if expr.op == "~":
            return inverted
        return self.add(inverted, self.number(0, width), Graph.TRUE)

    def _reduce(self, op: str, bits: Bits) -> int:
        graph = self.graph
        if op in ("&", "~&"):
            result = graph.and_(*bits)
        elif op in ("|", "~|"):
            result = graph.or_(*bits)
        else:
            result = Graph.FALSE
            for bit in bits:
                result = graph.xor(result, bit)
        return graph.not_(result) if op[0] == "~" else result

    def _build_binary(self, expr: s.Binary, width: int, signed: bool) -> Bits:
        graph, op = self.graph, expr.op
        if op in _COMPARE:
            return self.extend((self._comparison(expr),), width, False)
        if op in _LOGIC:
            join = graph.and_ if op == "&&" else graph.or_
            left, right = self.boolean(expr.left), self.boolean(expr.right)
            return self.extend((join(left, right),), width, False)
        if op in ("*", "/", "%", "**") and width > MAX_PRODUCT:
            raise WrongFormula(
                f"'{op}' over {width} bits is too much to work out",
                expr.stretch,
                f"At most {MAX_PRODUCT} bits are multiplied or divided.",
            )
        left_bits = self.build(expr.left, width, signed)
        if op == "**":
            return self._power(expr, left_bits, width)
        if op in _SHIFT:
            return self.shift(op, left_bits, self.bits(expr.right), signed)
        right_bits = self.build(expr.right, width, signed)
        if op in ("/", "%"):
            return self.divide(expr, left_bits, right_bits, signed)
        return self._word_operator(op, left_bits, right_bits)

    def _word_operator(self, op: str, left: Bits, right: Bits) -> Bits:
        graph = self.graph
        pairs = list(zip(left, right, strict=True))
        match op:
            case "&":
                return tuple(graph.and_(a, b) for a, b in pairs)
            case "|":
                return tuple(graph.or_(a, b) for a, b in pairs)
            case "^":
                return tuple(graph.xor(a, b) for a, b in pairs)
            case "~^":
                return tuple(graph.not_(graph.xor(a, b)) for a, b in pairs)
            case "+":
                return self.add(left, right, Graph.FALSE)
            case "-":
                return self.add(left, tuple(graph.not_(bit) for bit in right), Graph.TRUE)
            case _:
                return self._multiply(left, right)

    def _comparison(self, expr: s.Binary) -> int:
        graph, op = self.graph, expr.op
        special = self.scope.compare(expr.left, expr.right)
        if special is not None:
            if op in ("==", "==="):
                return special
            if op in ("!=", "!=="):
                return graph.not_(special)
            raise WrongFormula(
                "a switch is compared with == or != only", expr.stretch, "Write MODE == SET."
            )
        both = self._joined(expr.left, expr.right)
        left = self.build(expr.left, both.width, both.signed)
        right = self.build(expr.right, both.width, both.signed)
        if op in ("==", "===", "!=", "!=="):
            differ = graph.or_(*(graph.xor(a, b) for a, b in zip(left, right, strict=True)))
            return differ if op[0] == "!" else graph.not_(differ)
        if op in (">", "<="):
            left, right = right, left
        less = self._less(left, right, both.signed)
        return less if op in ("<", ">") else graph.not_(less)

    def _less(self, left: Bits, right: Bits, signed: bool) -> int:
        graph = self.graph
        if signed:
            left = (*left[:-1], graph.not_(left[-1]))
            right = (*right[:-1], graph.not_(right[-1]))
        less = Graph.FALSE
        for a, b in zip(left, right, strict=True):
            less = graph.or_(
                graph.and_(graph.not_(a), b), graph.and_(graph.not_(graph.xor(a, b)), less)
            )
        return less

    def add(self, left: Bits, right: Bits, carry: int) -> Bits:
        """Ripple carry; what is carried out is lost (IEEE 1364, 5.4)."""
        graph = self.graph
        total: list[int] = []
        for a, b in zip(left, right, strict=True):
            half = graph.xor(a, b)
            total.append(graph.xor(half, carry))
            carry = graph.or_(graph.and_(a, b), graph.and_(half, carry))
        return tuple(total)

    def _multiply(self, left: Bits, right: Bits) -> Bits:
        graph, width = self.graph, len(left)
        total = self.number(0, width)
        for position, bit in enumerate(right):
            row = (Graph.FALSE,) * position + tuple(
                graph.and_(a, bit) for a in left[: width - position]
            )
            total = self.add(total, row, Graph.FALSE)
        return total

    def _negate(self, bits: Bits) -> Bits:
        inverted = tuple(self.graph.not_(bit) for bit in bits)
        return self.add(inverted, self.number(0, len(bits)), Graph.TRUE)

    def divide(self, expr: s.Binary, left: Bits, right: Bits, signed: bool) -> Bits:
        """Long division, towards zero; the remainder has the dividend's sign (5.1.5)."""
        graph = self.graph
        if any(bit > 1 for bit in right) or not any(right):
            raise WrongFormula(
                "the divisor may be zero",
                expr.right.stretch,
                "Divide by a constant that is not zero.",
            )
        sign_left, sign_right = (left[-1], right[-1]) if signed else (Graph.FALSE, Graph.FALSE)
        a = tuple(graph.mux(sign_left, n, p) for n, p in zip(self._negate(left), left, strict=True))
        b = self._negate(right) if sign_right else right
        wide = (*b, Graph.FALSE)
        rest = self.number(0, len(wide))
        quotient: list[int] = []
        for bit in reversed(a):
            rest = (bit, *rest[:-1])
            fits = graph.not_(self._less(rest, wide, False))
            less = self.add(rest, tuple(graph.not_(x) for x in wide), Graph.TRUE)
            rest = tuple(graph.mux(fits, x, y) for x, y in zip(less, rest, strict=True))
            quotient.insert(0, fits)
        result, negative = tuple(quotient), graph.xor(sign_left, sign_right)
        if expr.op == "%":
            result, negative = rest[: len(left)], sign_left
        return tuple(
            graph.mux(negative, n, p) for n, p in zip(self._negate(result), result, strict=True)
        )

    def _power(self, expr: s.Binary, base: Bits, width: int) -> Bits:
        exponent = self.constant(expr.right)
        if not 0 <= exponent <= 64:
            raise WrongFormula(
                "the exponent is a constant from 0 to 64", expr.right.stretch, "Write x ** 2."
            )
        result = self.number(1, width)
        for _ in range(exponent):
            result = self._multiply(result, base)
        return result

    def shift(self, op: str, bits: Bits, amount: Bits, signed: bool) -> Bits:
        """Shifts by an unsigned amount; >>> fills with the sign of a signed result (5.1.12)."""
        graph = self.graph
        left = op in ("<<", "<<<")
        filler = bits[-1] if op == ">>>" and signed else Graph.FALSE
        width = len(bits)
        for stage, bit in enumerate(amount):
            by = min(1 << stage, width) if stage < 16 else width
            pad = (filler,) * by
            moved = ((Graph.FALSE,) * by + bits)[:width] if left else (bits + pad)[by:]
            bits = tuple(graph.mux(bit, m, b) for m, b in zip(moved, bits, strict=True))
        return bits
