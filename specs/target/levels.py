"""What a control is fixed at, in the words of the target file."""

from __future__ import annotations

from breadproof.specs.netlist.model import Control
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Text, near

_HIGH = ("pressed", "closed", "high", "1")
_LOW = ("released", "open", "low", "0")
NOBODY = "nobody"
"""Of a ``both`` port: nobody outside drives it."""


def fixed_levels(control: Control, text: Text, problems: Problems) -> tuple[int, ...] | None:
    """The levels of a control's bits; None, with a problem noted, if the word means nothing.

    A button is pressed or released, a way or jumper closed or open, a change-over switch in a
    position; of others the bits as digits, most significant first. All words are good for anything
    of one bit.
    """
    word = text.value.strip()
    names = [bit.rpartition(".")[2] for bit in control.bits]
    if control.kind == "changeover":
        words: tuple[str, ...] = tuple(names)
        if word in names:
            return tuple(int(name == word) for name in names)
    elif control.kind == "both":
        words = (NOBODY,)
        if word == NOBODY:
            return (0,) * len(control.bits)
    elif len(control.bits) == 1:
        words = (*_HIGH, *_LOW)
        if word in words:
            return (int(word in _HIGH),)
    else:
        words = ("0" * len(control.bits),)
        if len(word) == len(control.bits) and set(word) <= {"0", "1"}:
            return tuple(int(digit) for digit in word)
    problems.error(
        "fixed-unknown",
        f"'{control.name}' cannot be fixed at '{word}'",
        text.span,
        hint=near(word, words) or f"Write {' or '.join(words)}.",
    )
    return None
