"""Part formulas read directly: IEEE 1364-2005 clause 5 on rows of three-valued bits.

A word is a tuple of bits, least significant first; a bit is 0, 1 or X ("not known yet").
Bitwise operators and reductions go bit by bit, as gates would; where an operator is no row of
gates (a sum, a comparison), one unknown bit makes all of the result unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from breadproof.specs.formula import syntax as s

X = 2
Word = tuple[int, ...]


class Meaning(Protocol):
    """What names mean inside one part."""

    def whole(self, name: str) -> Word:
        """All bits of a name."""

    def bit(self, name: str, number: int) -> int:
        """Bit ``number`` of a vector or of storage."""

    def is_memory(self, name: str) -> bool:
        """Whether the name is a memory."""

    def word(self, name: str, address: Word) -> Word:
        """The word of a memory."""


def inverted(bit: int) -> int:
    return X if bit == X else 1 - bit


def both(bits: Sequence[int]) -> int:
    if 0 in bits:
        return 0
    return X if X in bits else 1


def either(bits: Sequence[int]) -> int:
    if 1 in bits:
        return 1
    return X if X in bits else 0


def odd(bits: Sequence[int]) -> int:
    return X if X in bits else sum(bits) % 2


def to_int(bits: Word, signed: bool = False) -> int:
    """The number that known bits stand for; two's complement if ``signed``."""
    value = sum(bit << place for place, bit in enumerate(bits))
    return value - (1 << len(bits)) if signed and bits and bits[-1] else value


def to_word(value: int, width: int) -> Word:
    return tuple((value >> place) & 1 for place in range(width))


_RELATIONS: dict[str, Callable[[int, int], bool]] = {
    "==": lambda a, b: a == b,
    "===": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
    "!==": lambda a, b: a != b,
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
}
_GATES: dict[str, Callable[[Sequence[int]], int]] = {"&": both, "|": either, "^": odd}
_SUMS: dict[str, Callable[[int, int], int]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
}
_REDUCTIONS = ("&", "|", "^", "~&", "~|", "~^")


class Reader:
    """Evaluates the trees of one part."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning

    def truth(self, expr: s.Expr) -> int:
        """Whether it is not zero (IEEE 1364, 5.1.9)."""
        return either(self.word(expr))

    def word(self, expr: s.Expr, width: int = 0) -> Word:
        """The value in a context of ``width`` bits (5.4: the wider of both)."""
        own, signed = self.size(expr)
        return self.sized(expr, max(own, width), signed)

    def assigned(self, expr: s.Expr, width: int) -> Word:
        """The value as ``width`` bits keep it."""
        return self.word(expr, width)[:width]

    def size(self, expr: s.Expr) -> tuple[int, bool]:
        """Width and signedness by table 5-22 and 5.5.1."""
        match expr:
            case s.Number():
                return (32 if expr.width is None else expr.width), expr.signed
            case s.Name():
                return len(self.meaning.whole(expr.path)), False
            case s.Index() | s.Part():
                return len(self.select(expr)), False
            case s.Unary(op=op):
                return (1, False) if op == "!" or op in _REDUCTIONS else self.size(expr.operand)
            case s.Binary(op=op):
                if op in _RELATIONS or op in ("&&", "||"):
                    return 1, False
                left, right = self.size(expr.left), self.size(expr.right)
                if op in ("<<", ">>", "<<<", ">>>"):
                    return left
                return max(left[0], right[0]), left[1] and right[1]
            case s.Conditional():
                then, other = self.size(expr.then), self.size(expr.other)
                return max(then[0], other[0]), then[1] and other[1]
            case s.Concat():
                times = 1 if expr.times is None else to_int(self.word(expr.times))
                return times * sum(self.size(item)[0] for item in expr.items), False
            case _:
                raise ValueError(f"no expression of a part file: {expr}")

    def select(self, expr: s.Index | s.Part) -> Word:
        if not isinstance(expr.base, s.Name):
            raise ValueError("a selection of a selection")
        name = expr.base.path
        if isinstance(expr, s.Part):
            left, right = to_int(self.word(expr.left)), to_int(self.word(expr.right))
            step = 1 if left >= right else -1
            return tuple(self.meaning.bit(name, n) for n in range(right, left + step, step))
        at = self.word(expr.at)
        if self.meaning.is_memory(name):
            return self.meaning.word(name, at)
        return (self.meaning.bit(name, to_int(at)),)

    def extended(self, word: Word, width: int, signed: bool = False) -> Word:
        return word + (word[-1] if signed else 0,) * (width - len(word))

    def sized(self, expr: s.Expr, width: int, signed: bool) -> Word:
        match expr:
            case s.Number():
                own = to_word(expr.value, 32 if expr.width is None else expr.width)
                return self.extended(own, width, signed and expr.signed)
            case s.Name():
                return self.extended(self.meaning.whole(expr.path), width)
            case s.Index() | s.Part():
                return self.extended(self.select(expr), width)
            case s.Unary():
                return self.unary(expr, width, signed)
            case s.Binary():
                return self.binary(expr, width, signed)
            case s.Conditional():
                test = self.truth(expr.test)
                then = self.sized(expr.then, width, signed)
                other = self.sized(expr.other, width, signed)
                if test == X:
                    return tuple(a if a == b else X for a, b in zip(then, other, strict=True))
                return then if test else other
            case s.Concat():
                times = 1 if expr.times is None else to_int(self.word(expr.times))
                row = tuple(bit for item in reversed(expr.items) for bit in self.word(item))
                return self.extended(row * times, width)
            case _:
                raise ValueError(f"no expression of a part file: {expr}")

    def unary(self, expr: s.Unary, width: int, signed: bool) -> Word:
        if expr.op == "!":
            return self.extended((inverted(self.truth(expr.operand)),), width)
        if expr.op in _REDUCTIONS:
            level = _GATES[expr.op[-1]](self.word(expr.operand))
            return self.extended((inverted(level) if expr.op[0] == "~" else level,), width)
        operand = self.sized(expr.operand, width, signed)
        if expr.op == "~":
            return tuple(inverted(bit) for bit in operand)
        if expr.op == "+":
            return operand
        return (X,) * width if X in operand else to_word(-to_int(operand), width)

    def binary(self, expr: s.Binary, width: int, signed: bool) -> Word:
        op = expr.op
        if op in _RELATIONS:
            (left, left_signed), (right, right_signed) = self.size(expr.left), self.size(expr.right)
            common, sign = max(left, right), left_signed and right_signed
            a, b = self.sized(expr.left, common, sign), self.sized(expr.right, common, sign)
            if X in a or X in b:
                return self.extended((X,), width)
            return self.extended((int(_RELATIONS[op](to_int(a, sign), to_int(b, sign))),), width)
        if op in ("&&", "||"):
            pair = (self.truth(expr.left), self.truth(expr.right))
            return self.extended((both(pair) if op == "&&" else either(pair),), width)
        left_word = self.sized(expr.left, width, signed)
        if op in ("<<", ">>", "<<<", ">>>"):
            return self.shifted(op, left_word, self.word(expr.right), signed)
        right_word = self.sized(expr.right, width, signed)
        pairs = zip(left_word, right_word, strict=True)
        if op == "~^":
            return tuple(inverted(odd(pair)) for pair in pairs)
        if op in _GATES:
            return tuple(_GATES[op](pair) for pair in pairs)
        if op in _SUMS:
            if X in left_word or X in right_word:
                return (X,) * width
            return to_word(_SUMS[op](to_int(left_word), to_int(right_word)), width)
        raise ValueError(f"no operator of a part file: {op}")

    def shifted(self, op: str, word: Word, by: Word, signed: bool) -> Word:
        if X in by:
            return (X,) * len(word)
        count = min(to_int(by), len(word))
        filler = word[-1] if op == ">>>" and signed else 0
        if op in ("<<", "<<<"):
            return ((0,) * count + word)[: len(word)]
        return word[count:] + (filler,) * count
