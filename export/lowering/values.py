"""Amaranth expressions as text, with what is needed to join them: width, binding, constants."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

ATOM, UNARY, TIMES, PLUS, SHIFT, AND, XOR, OR, COMPARE = range(9, 0, -1)
"""How tightly the outermost operator of a text binds (Python's order)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """An unsigned expression of ``width`` bits, or a ``number`` that is known."""

    text: str
    width: int = 1
    bind: int = ATOM
    number: int | None = None

    def within(self, bind: int) -> str:
        """The text as an operand of an operator that binds so tightly."""
        return self.text if self.bind >= bind else f"({self.text})"

    @property
    def real(self) -> int:
        """The width that Amaranth sees: a bare number has as many bits as it needs."""
        return self.width if self.number is None else max(1, self.number.bit_length())

    @property
    def sized(self) -> str:
        """The text where the width matters, as in a concatenation."""
        if self.number is None:
            return self.text
        return f"Const({self.number}, {self.width})"


def number(value: int, width: int = 1) -> Value:
    """A constant."""
    return Value(text=str(value), width=width, number=value)


ZERO = number(0)
ONE = number(1)


def name(text: str, width: int = 1) -> Value:
    """A signal."""
    return Value(text=text, width=width)


def widened(value: Value, width: int) -> Value:
    """The value with zeros in front, where its width matters."""
    if value.number is not None:
        return number(value.number, width)
    if value.width >= width:
        return value
    return Value(text=f"Cat({value.text}, Const(0, {width - value.width}))", width=width)


def inverted(value: Value) -> Value:
    """``~value`` in its own width."""
    if value.number is not None:
        return number(value.number ^ ((1 << value.width) - 1), value.width)
    if value.text.startswith("~") and value.bind == UNARY:
        return Value(text=value.text[1:], width=value.width)
    return Value(text=f"~{value.within(UNARY)}", width=value.width, bind=UNARY)


def all_of(values: Iterable[Value]) -> Value:
    """Conjunction of single bits."""
    kept: list[Value] = []
    for value in values:
        if value.number == 0:
            return ZERO
        if value.number is None and value not in kept:
            kept.append(value)
    if any(inverted(value) in kept for value in kept):
        return ZERO
    if len(kept) < 2:
        return kept[0] if kept else ONE
    return Value(text=" & ".join(value.within(AND) for value in kept), bind=AND)


def any_of(values: Iterable[Value]) -> Value:
    """Disjunction of single bits."""
    kept: list[Value] = []
    for value in values:
        if value.number == 1:
            return ONE
        if value.number is None and value not in kept:
            kept.append(value)
    if any(inverted(value) in kept for value in kept):
        return ONE
    if len(kept) < 2:
        return kept[0] if kept else ZERO
    return Value(text=" | ".join(value.within(OR) for value in kept), bind=OR)


def chosen(test: Value, then: Value, other: Value) -> Value:
    """``then`` if the single bit ``test`` holds, else ``other``."""
    if test.number is not None:
        return then if test.number else other
    width = max(then.real, other.real)
    return Value(text=f"Mux({test.text}, {then.text}, {other.text})", width=width)


def joined(parts: Iterable[Value]) -> Value:
    """A concatenation, the least significant part first."""
    items = tuple(parts)
    if len(items) == 1:
        return items[0]
    width = sum(item.width for item in items)
    return Value(text=f"Cat({', '.join(item.sized for item in items)})", width=width)
