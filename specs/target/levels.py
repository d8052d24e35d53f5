"""What a control is fixed at, in the words of the target file."""

from __future__ import annotations

from breadproof.specs.formula.parse import parse, plain
from breadproof.specs.formula.syntax import Number
from breadproof.specs.netlist.model import Control
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.yamltree import Text, near

WORDS = ("open", "closed")
"""Of a DIP switch: all of its ways."""
HIGH = ("pressed", "closed", "high", "1")
LOW = ("released", "open", "low", "0")
NOBODY = "nobody"
"""Of a ``both`` port: nobody outside drives it."""


def number_of(word: str, bits: int) -> int | None:
    """A number of so many bits, written as its digits or as IEEE 1364 has it; None if it is none.

    ``0101``, ``4'b0101`` and ``4'h5`` are the same.
    """
    if len(word) == bits and set(word) <= {"0", "1"}:
        return int(word, 2)
    try:
        found = parse(plain(word))
    except BadInput:
        return None
    return found.value if isinstance(found, Number) and found.width == bits else None


def fixed_levels(control: Control, text: Text, problems: Problems) -> tuple[int, ...] | None:
    """The levels of a control's bits; None, with a problem noted, if the word means nothing.

    A button is pressed or released, a way or jumper closed or open, a change-over switch in a
    position; of others the bits as digits, most significant first, or a number. All words are good
    for anything of one bit.
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
        words = (*HIGH, *LOW)
        if word in words:
            return (int(word in HIGH),)
    else:
        words = ("0" * len(control.bits),)
        number = number_of(word, len(control.bits))
        if number is not None:
            return tuple(int(digit) for digit in f"{number:0{len(control.bits)}b}")
    problems.error(
        "fixed-unknown",
        f"'{control.name}' cannot be fixed at '{word}'",
        text.span,
        hint=near(word, words) or f"Write {' or '.join(words)}.",
    )
    return None
