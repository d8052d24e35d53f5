"""Seven-segment displays: which segments are which digit.

Segment letters a to g and the decimal point dp are common practice: a on top, then clockwise to f,
g in the middle. The shapes are the usual ones of hexadecimal displays (common practice); 6 and 9
are drawn with a tail by some decoders and without by others, 7 with or without its left serif.
"""

from __future__ import annotations

from collections.abc import Collection

SEGMENTS = ("a", "b", "c", "d", "e", "f", "g", "dp")
"""In the order of the bits in formulas: ``DS1[0]`` is segment a, ``DS1[7]`` the point."""

PINS: dict[str, str] = {
    "1": "e", "2": "d", "3": "COM", "4": "c", "5": "dp",
    "6": "b", "7": "a", "8": "COM2", "9": "f", "10": "g",
}  # fmt: skip
"""The usual single digit in ten pins (common practice); 3 and 8 are joined inside."""

SHAPES: tuple[tuple[str, ...], ...] = (
    ("abcdef",), ("bc",), ("abdeg",), ("abcdg",), ("bcfg",), ("acdfg",), ("acdefg", "cdefg"),
    ("abc", "abcf"), ("abcdefg",), ("abcdfg", "abcfg"), ("abcefg",), ("cdefg",), ("adef",),
    ("bcdeg",), ("adefg",), ("aefg",),
)  # fmt: skip
"""The shapes of 0 to 15. A 6 without a tail is also the letter b."""

_GLYPHS = "0123456789AbCdEF"


def shown(lit: Collection[str]) -> str:
    """What a display with these segments lit shows: ``5``, ``5.``, ``blank`` or ``segments bg``.

    A shape that is two digits is called by both: ``6 or b``.
    """
    shape = "".join(segment for segment in SEGMENTS[:7] if segment in lit)
    digits = [_GLYPHS[value] for value, shapes in enumerate(SHAPES) if shape in shapes]
    text = " or ".join(digits) or (f"segments {shape}" if shape else "blank")
    if "dp" not in lit:
        return text
    return f"{text}." if len(text) == 1 else f"{text} and the point"
