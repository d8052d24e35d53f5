"""Where the legs of a part are, seen from pin 1, in tenths of an inch.

Dual in-line packages: JEDEC MS-001 (0.3 inch) and MS-011 (0.6 inch), from memory; which parts are
wide: data books, from memory. Parts that are no chips: common practice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from breadproof.specs.catalogue.part import PartType

_DIP = re.compile(r"DIP-(\d{1,3})")
NARROW, WIDE = 3, 6
WIDE_FROM = 28
"""Packages from this number of pins on are 0.6 inch wide, those of fewer 0.3 inch ..."""
WIDE_24 = (
    *("150", "154", "159", "181", "198", "199", "4067", "4514", "4515"),
    *("6116", "2716", "2732", "27C16", "27C32", "28C16"),
)
"""... but for these of 24 pins."""

Offset = tuple[int, int]
"""(along, across): columns after pin 1's, and tenths of an inch from its row."""


def dual_in_line(pins: int, width: int) -> dict[str, Offset]:
    """Pins 1 to n/2 along the row of pin 1, the others back along the other row."""
    half = pins // 2
    first = {str(number): (number - 1, 0) for number in range(1, half + 1)}
    return first | {str(number): (pins - number, width) for number in range(half + 1, pins + 1)}


def footprint(
    kind: PartType, device: str, ways: int, isolated: bool
) -> Mapping[str, Offset] | None:
    """The legs of a part that has a form of its own; None for what is put hole by hole."""
    package = _DIP.fullmatch(kind.package)
    if device == "chip" and package is not None:
        pins = int(package[1])
        wide = pins >= WIDE_FROM or (pins == 24 and kind.number in WIDE_24)
        return dual_in_line(pins, WIDE if wide else NARROW)
    match device:
        case "dip-switch" | "led-bar":
            return dual_in_line(2 * ways, NARROW)
        case "oscillator":
            legs = dual_in_line(14, NARROW)
            return {number: legs[number] for number in ("1", "7", "8", "14")}
        case "display":
            return dual_in_line(10, WIDE)
        case "resistor-network":
            legs_in_line = 2 * ways if isolated else ways + 1
            return {str(number): (number - 1, 0) for number in range(1, legs_in_line + 1)}
        case _:
            return None
