"""Controls as a script names them, and what they can be set to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import parse
from breadproof.specs.netlist.model import Control, Netlist, NetlistNames, written
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.yamltree import Text, near

WORDS: Final = {
    "button": {"pressed": 1, "released": 0},
    "way": {"closed": 1, "open": 0},
    "jumper": {"plugged": 1, "open": 0},
}
"""What may stand instead of 1 and 0."""

Bits = tuple[tuple[int, int], ...]
"""Bits of a control, by number, and their levels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """How a control gets where it is to be: bits that are set first, and those of the step after.

    A change-over switch needs both: it lets go first.
    """

    control: str
    first: Bits
    then: Bits = ()


def resting(netlist: Netlist) -> dict[str, tuple[int, ...]]:
    """The controls when power comes on: change-over switches in their first position, others at 0
    (let go, open, unplugged, and a port that others may drive is not driven)."""
    return {control.name: _rest(netlist, control) for control in netlist.controls}


def _rest(netlist: Netlist, control: Control) -> tuple[int, ...]:
    rest = [0] * len(control.bits)
    if control.kind == "changeover":
        rest[0] = 1
    part = None if control.part is None else netlist.part(control.part)
    if control.kind == "rotary" and part is not None and part.complement:
        rest = [1] * len(control.bits)
    return tuple(rest)


def single(netlist: Netlist, text: Text, kinds: Sequence[str], problems: Problems) -> str | None:
    """The name of a control of one bit of these kinds; None if there is none, which is noted."""
    control = _find(netlist, text, problems)
    if control is None:
        return None
    if control.kind in kinds and len(control.bits) == 1:
        return control.name
    good = [one.name for one in netlist.controls if one.kind in kinds and len(one.bits) == 1]
    what = "a button" if kinds == ("button",) else "a control of one bit"
    hint = f"There are {', '.join(map(written, good[:12]))}." if good else "This board has none."
    problems.error("control-kind", f"{text.value} is not {what}", text.span, hint=hint)
    return None


def _called(netlist: Netlist, text: Text) -> str:
    """What the board calls ``store.STEP``, which may also be written as reports have it."""
    return NetlistNames(netlist).called(text.value) if "." in text.value else text.value


def _find(netlist: Netlist, text: Text, problems: Problems) -> Control | None:
    name = _called(netlist, text)
    found = next((one for one in netlist.controls if one.name == name), None)
    part = netlist.part(name)
    if part is not None and part.device == "dip-switch":
        problems.error(
            "control-kind",
            f"{text.value} is {part.ways} controls, one for each way",
            text.span,
            hint=f"Name one, such as {text.value}[1]; 'drive: {{{text.value}: {part.ways}'h1}}' "
            "sets all.",
        )
    elif found is None:
        names = [*(control.name for control in netlist.controls), *_switches(netlist)]
        names = [written(name) for name in names]
        shown = [name for name in names if "[" not in name]
        hint = near(written(text.value), names) or (
            f"Its controls are {', '.join(shown)}." if shown else "It has none."
        )
        problems.error(
            "control-unknown", f"this board has no control '{text.value}'", text.span, hint=hint
        )
    return found


def _switches(netlist: Netlist) -> list[str]:
    return [part.name for part in netlist.parts if part.device == "dip-switch"]


def moves_of(netlist: Netlist, name: Text, value: Text, problems: Problems) -> list[Moves]:
    """How a control, or all ways of a DIP switch, get to a value; none if it cannot be."""
    part = netlist.part(_called(netlist, name))
    if part is not None and part.device == "dip-switch":
        number = _number(value, part.ways, f"{name.value} has {part.ways} ways", problems)
        if number is None:
            return []
        return [
            Moves(control=f"{part.name}[{way}]", first=((0, number >> (way - 1) & 1),))
            for way in range(1, part.ways + 1)
        ]
    control = _find(netlist, name, problems)
    if control is None:
        return []
    if control.kind == "changeover":
        return _changeover(netlist, control, value, problems)
    bits = _plain(netlist, control, value, problems)
    return [] if bits is None else [Moves(control=control.name, first=bits)]


def press_of(netlist: Netlist, text: Text, problems: Problems) -> list[Moves]:
    """Pressing and letting go; a change-over contact goes to its second position and back."""
    called = _called(netlist, text)
    control = next((one for one in netlist.controls if one.name == called), None)
    if control is not None and control.kind == "changeover":
        return [_to(control, 1), _to(control, 0)]
    name = single(netlist, text, ("button",), problems)
    return [] if name is None else [Moves(control=name, first=((0, level),)) for level in (1, 0)]


def _to(control: Control, chosen: int) -> Moves:
    """How a change-over switch gets to a position."""
    others = tuple((bit, 0) for bit in range(len(control.bits)) if bit != chosen)
    own = ((chosen, 1),)
    first, then = (others, own) if control.exclusive else (own, others)
    return Moves(control=control.name, first=first, then=then)


def _changeover(netlist: Netlist, control: Control, value: Text, problems: Problems) -> list[Moves]:
    part = netlist.part(control.part or "")
    positions = part.positions if part else ()
    if value.value == "between":
        level = 0 if control.exclusive else 1
        bits = tuple((bit, level) for bit in range(len(positions)))
        return [Moves(control=control.name, first=bits)]
    if value.value not in positions:
        problems.error(
            "control-value",
            f"{written(control.name)} has no position '{value.value}'",
            value.span,
            hint=near(value.value, positions)
            or f"Its positions are {' and '.join(positions)}; it can also stand 'between'.",
        )
        return []
    return [_to(control, positions.index(value.value))]


def _plain(netlist: Netlist, control: Control, value: Text, problems: Problems) -> Bits | None:
    """The bits of a control that is no change-over switch."""
    width = len(control.bits)
    if control.kind == "both":
        if value.value == "released":
            return ((0, 0),)
        number = _number(value, width - 1, f"{written(control.name)} is {width - 1} wide", problems)
        if number is None:
            return None
        return ((0, 1), *((bit, number >> (width - 1 - bit) & 1) for bit in range(1, width)))
    if control.kind == "rotary":
        return _rotary(netlist, control, value, problems)
    words = WORDS.get(control.kind, {})
    called = written(control.name)
    if value.value in words:
        return ((0, words[value.value]),)
    wide = f"{called} is {width} wide" if width > 1 else f"{called} is one bit"
    number = _number(value, width, wide, problems, tuple(words))
    if number is None:
        return None
    return tuple((bit, number >> (width - 1 - bit) & 1) for bit in range(width))


def _rotary(netlist: Netlist, control: Control, value: Text, problems: Problems) -> Bits | None:
    """A coded switch: its position as a digit, 0 to 9 or A to F, or as a number."""
    part = netlist.part(control.part or "")
    ways = 16 if part is None else part.ways
    digit = value.value.upper()
    if len(digit) == 1 and digit in "0123456789ABCDEF":
        number: int | None = int(digit, 16)
    else:
        number = _number(value, 4, f"{written(control.name)} has {ways} positions", problems)
    if number is None:
        return None
    if number >= ways:
        problems.error(
            "control-value",
            f"{written(control.name)} has no position {value.value}",
            value.span,
            hint=f"Its positions are 0 to {ways - 1:X}.",
        )
        return None
    code = number ^ 15 if part is not None and part.complement else number
    return tuple((bit, code >> (3 - bit) & 1) for bit in range(4))


def _number(
    value: Text, width: int, wide: str, problems: Problems, words: tuple[str, ...] = ()
) -> int | None:
    """A number of IEEE 1364 that fits; None, which is noted, if it is none."""
    try:
        found = parse(value)
    except BadInput:
        found = None
    if isinstance(found, s.Number) and found.value >> width == 0:
        return found.value
    ways = f", or {' or '.join(words)}" if words else ""
    problems.error(
        "control-value",
        f"'{value.value}' is no level here: {wide}",
        value.span,
        hint=f"Write a number such as {width}'h{(1 << width) - 1:X}{ways}.",
    )
    return None
