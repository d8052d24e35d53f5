"""How a verdict looks on a page: a word, a sign and a tone, so that none of them stands alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Tone = Literal["good", "bad", "open", "told"]

CHECK, CROSS, QUESTION = "\N{CHECK MARK}", "\N{MULTIPLICATION X}", "?"
TRIANGLE, DOT = "\N{BLACK UP-POINTING TRIANGLE}", "\N{BULLET}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """A word with its sign; ``tone`` names its colour in the style sheet."""

    word: str
    sign: str
    tone: Tone


_SIGNS: dict[str, tuple[str, Tone]] = {
    "pass": (CHECK, "good"),
    "holds": (CHECK, "good"),
    "covered": (CHECK, "good"),
    "clean": (CHECK, "good"),
    "fail": (CROSS, "bad"),
    "fails": (CROSS, "bad"),
    "unreachable": (CROSS, "bad"),
    "error": (CROSS, "bad"),
    "undecided": (QUESTION, "open"),
    "warning": (TRIANGLE, "open"),
    "note": (DOT, "told"),
    "accepted": (DOT, "told"),
}


def sign_of(word: str) -> Sign:
    """The look of a verdict or severity."""
    sign, tone = _SIGNS[word]
    return Sign(word=word, sign=sign, tone=tone)
