"""A board file to begin with: the chips that are given, and every pin of theirs on a line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from breadproof.specs.catalogue.catalogue import Chip
from breadproof.specs.catalogue.part import PinKind, PinType, Role

WIDE = 38
"""The column of comments."""

_HEAD = """\
# A board file for breadproof. Every pin is on a line of its own below: join pins by putting them
# into one line, and give the line the name that you call the net by.
#   breadproof check {file}       what is not joined yet, and what is wrong
#   breadproof watch {file}       the same, whenever you save
#   breadproof parts {example}          the pins of a chip, drawn
board: {name}
# title: What the board does, in a few words
"""
_PARTS = """\

parts:
"""
_OTHER = """\
  # What is no chip:
  # GO: {part: push-button}
  # MODE: {part: spdt, positions: [SET, SHOW]}       2 is the common pin; 1 is SET, 3 is SHOW
  # SW1: {part: dip-switch, ways: 8}
  # R1: {part: resistor, value: 1k}
  # L1: {part: led}                                  A is the anode, K the cathode
"""
_END = """\

# Nets that leave the board, and in which direction:
# ports: {clk: in, "bus[7:0]": both}

# What must always hold. A formula with { or : in it is written in quotes.
# assert:
#   go-lights:
#     says: The lamp is lit while GO is pressed.
#     formula: always (GO -> L1)
"""


def board_start(name: str, file: str, chips: Sequence[tuple[str, Chip]]) -> str:
    """The text of a board file; ``chips`` are names as printed, each with its chip.

    ``file`` is its own name, for the commands that it tells of.
    """
    parts = [(f"U{number}", printed, chip) for number, (printed, chip) in enumerate(chips, 1)]
    example = parts[0][1] if parts else "157"
    lines = [_HEAD.format(name=name, file=file, example=example).rstrip()]
    lines += [_PARTS.rstrip(), *_parts(parts), _OTHER.rstrip(), "", "nets:", *_nets(parts), _END]
    return "\n".join(lines)


_Parts = Sequence[tuple[str, str, Chip]]


def _parts(parts: _Parts) -> Iterator[str]:
    for name, printed, chip in parts:
        shown = f'"{printed}"' if printed.isdigit() else printed
        yield _line(f"  {name}: {shown}", chip.type.title)
    for number in range(1, len(parts) + 1):
        text = f"  C{number}: {{part: capacitor, value: 100n}}"
        yield _line(text, f"close to the supply pins of U{number}")


def _nets(parts: _Parts) -> Iterator[str]:
    yield _supply("VCC", PinKind.SUPPLY, parts, 1)
    yield _supply("GND", PinKind.GROUND, parts, 2)
    for name, printed, chip in parts:
        yield ""
        yield f"  # {name}, {printed}: {chip.type.title}"
        taken: set[str] = set()
        for pin in chip.type.pins:
            if pin.kind not in (
                PinKind.SUPPLY,
                PinKind.GROUND,
                PinKind.NOT_CONNECTED,
                PinKind.MOMENT,
            ):
                net = _net_name(name, pin.name, taken)
                yield _line(f"  {net}: [{name}.{pin.number}]", _about(pin))


def _supply(net: str, kind: PinKind, parts: _Parts, leg: int) -> str:
    pins = [
        f"{name}.{pin.number}"
        for name, _, chip in parts
        for pin in chip.type.pins
        if pin.kind is kind
    ]
    pins += [f"C{number}.{leg}" for number in range(1, len(parts) + 1)]
    lines = [""]
    for pin in pins:
        piece = f"{pin}, "
        if len(lines[-1]) + len(piece) > 84:
            lines.append("")
        lines[-1] += piece
    text = "\n    ".join(line.rstrip() for line in lines).rstrip(",")
    return f"  {net}: [{text}]"


def _net_name(part: str, pin: str, taken: set[str]) -> str:
    """``U1_A1``; different for each pin of a chip."""
    plain = f"{part}_{re.sub(r'[^A-Za-z0-9_]', '_', pin)}"
    name, number = plain, 2
    while name in taken:
        name, number = f"{plain}_{number}", number + 1
    taken.add(name)
    return name


def _about(pin: PinType) -> str:
    """``input, clock``, ``output, three-state``."""
    kinds = {
        PinKind.IN: "input",
        PinKind.OUT: "output",
        PinKind.THREE_STATE: "output, three-state",
        PinKind.OPEN_COLLECTOR: "output, open collector: it needs a pull-up resistor",
        PinKind.BIDIRECTIONAL: "input and output",
        PinKind.WIRED_AND: "input and output, open collector",
        PinKind.PASSIVE: "an end of a part inside",
    }
    role = f", {pin.role.value}" if pin.kind.reads and pin.role is not Role.DATA else ""
    low = ", active low" if pin.name.endswith("_n") else ""
    return f"{kinds[pin.kind]}{role}{low}"


def _line(text: str, comment: str) -> str:
    return f"{text:<{WIDE - 1}} # {comment}"
