"""Columns and cells of row tables (specs/parts/README.md): what they name and what they say."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.catalogue.vectors import indices, pin_names, split
from breadproof.specs.reading.yamltree import near

VARIABLES = frozenset("abcefg")
"""Letters of cells that stand for any value; d and h begin numbers."""
MAX_COLUMN = 64

_INDEXED = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)\[([0-9]{1,7})\]")
_VECTORS = "D[7:0] stands for the pins D7 to D0."
_NUMBER = re.compile(r"h([0-9A-Fa-f]+)|d([0-9]+)")


class Says(Enum):
    """What a cell says."""

    NUMBER = "number"
    ANY = "any"
    NOTHING = "nothing"
    """On the input side: not driven from outside; on the output side: drives nothing."""
    RISING = "rising"
    FALLING = "falling"
    VARIABLE = "variable"
    COMPLEMENT = "complement"
    SAME = "same"
    INVERTED = "inverted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell: its kind, its value if it is a number, its letter if it is a variable."""

    says: Says
    value: int = 0
    variable: str = ""


class BadCell(ValueError):
    """A cell or column that means nothing; carries the message and the way out."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


def looped(column: str, loop: str) -> str:
    """A column for one value of ``#``."""
    return column.replace("#", loop)


def input_bits(part: PartType, column: str) -> tuple[str, ...]:
    """The pins of an input column, most significant first; of a ROM's word, its bits.

    Raises:
        BadCell: a pin that does not exist or that the part does not read.
    """
    indexed = _INDEXED.fullmatch(column)
    if indexed is not None:
        return _word_bits(part, indexed[1], int(indexed[2]), rom_only=True)
    names = _pins(part, column)
    for name in names:
        pin = part.pin(name)
        if pin is None or not (pin.kind.reads or name in part.switch_pins):
            raise BadCell(f"'{name}' is no input", "Columns left of | are inputs.")
    return names


def output_bits(part: PartType, column: str) -> tuple[str, ...]:
    """The pins, storage bits (``R[3]``) or bits of a word (``M[5][3]``) of an output column.

    Raises:
        BadCell: a name that is none of these.
    """
    widths = {storage.name: storage.width for storage in part.storage}
    vector = split(column)
    if column in widths:
        return tuple(f"{column}[{bit}]" for bit in indices(widths[column] - 1, 0))
    if vector is not None and vector[0] in widths:
        return tuple(_stored(vector[0], bit, widths) for bit in _few(vector[1], vector[2]))
    indexed = _INDEXED.fullmatch(column)
    if indexed is not None and indexed[1] in widths:
        return (_stored(indexed[1], int(indexed[2]), widths),)
    if indexed is not None:
        return _word_bits(part, indexed[1], int(indexed[2]), rom_only=False)
    names = _pins(part, column)
    for name in names:
        pin = part.pin(name)
        if pin is None or not (pin.kind.drives or name in part.switch_pins):
            raise BadCell(f"'{name}' is no output", "Columns right of | are outputs or storage.")
    return names


def _few(left: int, right: int) -> tuple[int, ...]:
    if abs(left - right) >= MAX_COLUMN:
        raise BadCell(f"a column has at most {MAX_COLUMN} bits", "Make it two columns.")
    return indices(left, right)


def _stored(name: str, bit: int, widths: dict[str, int]) -> str:
    if bit >= widths[name]:
        raise BadCell(f"'{name}' has no bit {bit}", f"Its bits are [{widths[name] - 1}:0].")
    return f"{name}[{bit}]"


def _word_bits(part: PartType, name: str, word: int, *, rom_only: bool) -> tuple[str, ...]:
    memory = next((memory for memory in part.memories if memory.name == name), None)
    if memory is None:
        raise BadCell(f"there is no memory or storage '{name}'", "A pin is written D3, not D[3].")
    if rom_only and memory.write is not None:
        raise BadCell(
            f"the words of '{name}' are written by the part",
            "Only a ROM's words can be given on the left of |.",
        )
    if word >= memory.words:
        raise BadCell(f"'{name}' has no word {word}", f"Its last is {memory.words - 1}.")
    return tuple(f"{name}[{word}][{bit}]" for bit in indices(memory.bits - 1, 0))


def _pins(part: PartType, column: str) -> tuple[str, ...]:
    known = {pin.name for pin in part.pins}
    vector = split(column)
    if vector is None:
        names: tuple[str, ...] = (column,)
    else:
        _few(vector[1], vector[2])
        names = pin_names(*vector)
    for name in names:
        if name not in known:
            raise BadCell(f"the part has no pin '{name}'", near(name, sorted(known)) or _VECTORS)
    return names


def is_word(column: str) -> bool:
    """Whether an input column, already known to be good, names a word of a ROM."""
    return _INDEXED.fullmatch(column) is not None


def input_cell(text: str, width: int) -> Cell:
    """The meaning of a cell left of ``|``.

    Raises:
        BadCell: it has none.
    """
    match text:
        case "X":
            return Cell(says=Says.ANY)
        case "Z":
            return Cell(says=Says.NOTHING)
        case "^" | "v" if width == 1:
            return Cell(says=Says.RISING if text == "^" else Says.FALLING)
        case "^" | "v":
            raise BadCell(
                "an edge is of one pin, not of a vector", "Give the clock its own column."
            )
    return _common(text, width, "H L X Z ^ v, h3F, d9 or one of a b c e f g")


def output_cell(text: str, width: int) -> Cell:
    """The meaning of a cell right of ``|``.

    Raises:
        BadCell: it has none.
    """
    match text:
        case "X":
            return Cell(says=Says.ANY)
        case "Z":
            return Cell(says=Says.NOTHING)
        case "=":
            return Cell(says=Says.SAME)
        case "!":
            return Cell(says=Says.INVERTED)
    if len(text) == 2 and text[0] == "~" and text[1] in VARIABLES:
        return Cell(says=Says.COMPLEMENT, variable=text[1])
    return _common(text, width, "H L X Z = !, h3F, d9, one of a b c e f g, or ~a")


def _common(text: str, width: int, legal: str) -> Cell:
    if text in VARIABLES:
        return Cell(says=Says.VARIABLE, variable=text)
    if text in ("H", "L", "1", "0"):
        if width != 1:
            raise BadCell(f"'{text}' is one level, the column has {width}", "Write a number: h0.")
        return Cell(says=Says.NUMBER, value=int(text in "H1"))
    number = _NUMBER.fullmatch(text)
    if number is None:
        raise BadCell(f"'{text}' is no cell", f"Write {legal}.")
    value = int(number[1], 16) if number[1] else int(number[2])
    top = (1 << width) - 1
    if value >> width:
        raise BadCell(f"'{text}' does not fit in {width} bits", f"The largest is h{top:X}.")
    return Cell(says=Says.NUMBER, value=value)


def check_drive(part: PartType, bits: tuple[str, ...], cell: Cell) -> None:
    """Refuse what the output cannot do.

    Raises:
        BadCell: ``Z`` of an output that always drives or of storage; a high level of an open
            collector, which lets go.
    """
    kinds = {name: pin.kind for name in bits if (pin := part.pin(name)) is not None}
    lets_go = (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
    if cell.says is Says.NOTHING:
        for name in bits:
            kind = kinds.get(name)
            off = kind is not None and (kind.sinks or kind in lets_go)
            if not off and name not in part.switch_pins:
                raise BadCell(f"'{name}' always has a level", "Z is for what can let go.")
    open_collector = [n for n, kind in kinds.items() if kind.sinks]
    quiet = (Says.NOTHING, Says.ANY, Says.SAME)
    low = cell.says is Says.NUMBER and cell.value == 0
    if open_collector and cell.says not in quiet and not low:
        raise BadCell(f"'{open_collector[0]}' only pulls low", "Write L, or Z where it lets go.")
