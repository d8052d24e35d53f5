"""Amaranth expressions as text, with what is needed to join them: width, binding, constants."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import combinations, groupby

ATOM, UNARY, TIMES, PLUS, SHIFT, AND, XOR, OR, COMPARE = range(9, 0, -1)
"""How tightly the outermost operator of a text binds (Python's order)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Within:
    """A signal of ``whole`` bits, of which a value is those from ``low`` on."""

    base: str
    low: int
    whole: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """An unsigned expression of ``width`` bits, or a ``number`` that is known.

    ``of`` tells the signal that it is a stretch of, where it is nothing more than that; ``terms``
    what a conjunction of single bits, or where ``nand`` an inverted one, is made of.
    """

    text: str
    width: int = 1
    bind: int = ATOM
    number: int | None = None
    of: Within | None = field(default=None, compare=False)
    terms: tuple[Value, ...] = field(default=(), compare=False)
    nand: bool = field(default=False, compare=False)

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
    return Value(text=text, width=width, of=Within(base=text, low=0, whole=width))


def stretch(base: str, low: int, width: int, whole: int) -> Value:
    """``width`` bits from ``low`` on of a signal of ``whole`` bits."""
    of = Within(base=base, low=low, whole=whole)
    end = low + width
    if width == whole:
        text = base
    elif width == 1:
        text = f"{base}[{low}]"
    else:
        text = f"{base}[{low or ''}:{end if end < whole else ''}]"
    return Value(text=text, width=width, of=of)


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
    if value.nand:
        return all_of(value.terms)
    if value.text.startswith("~") and value.bind == UNARY:
        return Value(text=value.text[1:], width=value.width)
    text = f"~{value.within(UNARY)}"
    many = len(value.terms) > 1
    terms = value.terms if many else ()
    return Value(text=text, width=value.width, bind=UNARY, terms=terms, nand=many)


def all_of(values: Iterable[Value]) -> Value:
    """Conjunction of single bits: each once, and of ``a & ~(a & b)`` no more than ``a & ~b``."""
    kept: list[Value] = []
    for value in values:
        for term in (value,) if value.nand or not value.terms else value.terms:
            if term.number == 0:
                return ZERO
            if term.number is None and term not in kept:
                kept.append(term)
    if any(inverted(value) in kept for value in kept):
        return ZERO
    for place, value in enumerate(kept):
        others = kept[:place] + kept[place + 1 :]
        if value.nand and any(term in others for term in value.terms):
            left = all_of(term for term in value.terms if term not in others)
            return all_of([*kept[:place], inverted(left), *kept[place + 1 :]])
        if value.nand and any(inverted(term) in others for term in value.terms):
            return all_of(others)
    if len(kept) < 2:
        return kept[0] if kept else ONE
    text = " & ".join(value.within(AND) for value in kept)
    return Value(text=text, bind=AND, terms=tuple(kept))


def any_of(values: Iterable[Value]) -> Value:
    """Disjunction of single bits: each once, and of ``a & b | a & ~b`` no more than ``a``."""
    kept: list[Value] = []
    for value in values:
        if value.number == 1:
            return ONE
        if value.number is None and value not in kept:
            kept.append(value)
    if any(inverted(value) in kept for value in kept):
        return ONE
    for (place, one), (other_place, other) in combinations(enumerate(kept), 2):
        common = _without_one(one, other)
        if common is not None:
            rest = [v for k, v in enumerate(kept) if k not in (place, other_place)]
            return any_of([*rest[:place], common, *rest[place:]])
    if len(kept) < 2:
        return kept[0] if kept else ZERO
    return Value(text=" | ".join(value.within(OR) for value in kept), bind=OR)


def _without_one(one: Value, other: Value) -> Value | None:
    """What two conjunctions come to together that differ in one term, inverted in the other."""
    if one.nand or other.nand or not one.terms or len(one.terms) != len(other.terms):
        return None
    left = [term for term in one.terms if term not in other.terms]
    right = [term for term in other.terms if term not in one.terms]
    if len(left) != 1 or len(right) != 1 or inverted(left[0]) != right[0]:
        return None
    return all_of(term for term in one.terms if term != left[0])


def chosen(test: Value, then: Value, other: Value) -> Value:
    """``then`` if the single bit ``test`` holds, else ``other``."""
    if test.number is not None:
        return then if test.number else other
    width = max(then.real, other.real)
    return Value(text=f"Mux({test.text}, {then.text}, {other.text})", width=width)


def joined(parts: Iterable[Value]) -> Value:
    """A concatenation, the least significant part first; neighbours in a signal stay together."""
    items = _side_by_side(parts)
    width = sum(item.width for item in items)
    pieces: list[Value] = []
    for item, same in groupby(items):
        times = len(list(same))
        pieces.append(repeated(item, times))
    if len(pieces) == 1:
        return pieces[0]
    return Value(text=f"Cat({', '.join(piece.sized for piece in pieces)})", width=width)


def both(one: Value, other: Value) -> Value:
    """``one & other``, bit by bit, of the same width."""
    return Value(text=f"{one.within(AND)} & {other.within(AND)}", width=one.width, bind=AND)


def repeated(value: Value, times: int) -> Value:
    """The same value ``times`` times side by side."""
    if times == 1:
        return value
    if value.number is not None:
        ones = ((1 << times * value.width) - 1) // ((1 << value.width) - 1)
        return number(value.number * ones, times * value.width)
    text = f"{value.within(ATOM)}.replicate({times})"
    return Value(text=text, width=value.width * times)


def _side_by_side(parts: Iterable[Value]) -> list[Value]:
    """Parts, those that follow each other in one signal as one, and constants as one."""
    items: list[Value] = []
    for part in parts:
        last = items[-1] if items else None
        if last is not None and last.number is not None and part.number is not None:
            both = last.number | part.number << last.width
            items[-1] = number(both, last.width + part.width)
        elif last is not None and follows(last, part) and last.of is not None:
            of = last.of
            items[-1] = stretch(of.base, of.low, last.width + part.width, of.whole)
        else:
            items.append(part)
    return items


def follows(low: Value, high: Value) -> bool:
    """Whether ``high`` is the stretch of a signal that comes next after ``low``."""
    if low.of is None or high.of is None or low.of.base != high.of.base:
        return False
    return low.of.low + low.width == high.of.low
