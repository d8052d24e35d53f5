"""Constants of formulas, based and plain (IEEE 1364, 3.5.1)."""

from __future__ import annotations

from breadproof.specs.formula import syntax as s

MAX_DIGITS = 1100
"""Longer constants are refused; 4096 bits are 1024 hexadecimal digits."""
_BASES = {"b": 2, "o": 8, "d": 10, "h": 16}


class BadNumber(Exception):
    """A constant that means nothing: what is wrong with it, and the way out."""

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


def digits(text: str) -> str:
    """A constant without its underscores.

    Raises:
        BadNumber: it is absurdly long.
    """
    short = text.replace("_", "")
    if len(short) > MAX_DIGITS:
        raise BadNumber("the number is too long", "Widths are 1 to 4096 bits; use hex.")
    return short


def sized(text: str, stretch: s.Stretch) -> s.Number:
    """A based constant.

    Raises:
        BadNumber: it has x or z, digits of another base, or a width that it does not fit in.
    """
    size, _, rest = digits(text).replace(" ", "").replace("\t", "").partition("'")
    signed = rest[0] in "sS"
    rest = rest[1:] if signed else rest
    base, number = _BASES[rest[0].lower()], rest[1:]
    if any(digit in "xXzZ?" for digit in number):
        raise BadNumber(
            "x and z are no levels of a wire",
            "A formula speaks of 0 and 1; use floats(net) or fights(net) for the rest.",
        )
    try:
        value = int(number, base)
    except ValueError:
        raise BadNumber(
            f"'{number}' is no number of base {base}",
            "b takes 0 and 1, o 0 to 7, d 0 to 9, h 0 to 9 and a to f.",
        ) from None
    width = int(size) if size else None
    if width is not None and not 1 <= width <= 4096:
        raise BadNumber(f"a width of {width} bits", "Widths are 1 to 4096 bits.")
    bits = 32 if width is None else width
    if value >> bits:
        raise BadNumber(
            f"{text} does not fit in {bits} bits", "Give it more bits, or a smaller value."
        )
    return s.Number(value=value, width=width, signed=signed, stretch=stretch)


def plain_number(text: str, stretch: s.Stretch) -> s.Number:
    """A plain decimal number, which has 32 bits.

    Raises:
        BadNumber: it needs more.
    """
    value = int(digits(text))
    if value >> 32:
        raise BadNumber(f"{value} does not fit in 32 bits", "Write 40'd123… .")
    return s.Number(value=value, width=None, signed=True, stretch=stretch)
