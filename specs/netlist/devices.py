"""Parts that are no chips: switches, passives, lamps, oscillators, connectors, supervisors.

Pin numbering is that of design.md section 5 (the usual one, common practice).
"""

from __future__ import annotations

import re
from typing import get_args

from breadproof.specs.catalogue.part import PartType, PinKind, PinType, Role
from breadproof.specs.netlist.model import Device
from breadproof.specs.netlist.segments import PINS
from breadproof.specs.netlist.supervisors import Reset, supervisor_type
from breadproof.specs.reading.yamltree import near

DEVICES: tuple[str, ...] = tuple(name for name in get_args(Device) if name != "chip")

OPTIONS: dict[str, tuple[str, ...]] = {
    "push-button": (),
    "spdt": ("positions", "makes-before-breaks"),
    "dip-switch": ("ways",),
    "resistor": ("value",),
    "resistor-network": ("ways", "value", "isolated"),
    "capacitor": ("value",),
    "led": ("colour",),
    "led-bar": ("ways", "colour"),
    "diode": (),
    "oscillator": ("frequency",),
    "connector": ("pins",),
    "display": ("common", "colour"),
    "rotary-dip": ("positions", "complement"),
    "jumper": ("pins", "positions", "closed"),
    "supervisor": ("output", "active", "manual-reset"),
    "crystal": ("frequency",),
    "potentiometer": ("value",),
    "test-point": (),
}
"""Options of each device in the board file, beside ``part``."""

_OTHER_WORDS = {
    "7-segment": "display", "seven-segment": "display", "segment-display": "display",
    "rotary": "rotary-dip", "rotary-switch": "rotary-dip", "hex-switch": "rotary-dip",
    "bcd-switch": "rotary-dip", "link": "jumper", "link-3": "jumper", "bridge": "jumper",
    "slide-switch": "spdt", "toggle": "spdt", "toggle-switch": "spdt", "change-over": "spdt",
    "button": "push-button", "pushbutton": "push-button", "key": "push-button",
    "reset-supervisor": "supervisor", "power-on-reset": "supervisor",
    "quartz": "crystal", "xtal": "crystal", "clock": "oscillator",
    "trimmer": "potentiometer", "pot": "potentiometer", "header": "connector",
    "testpoint": "test-point", "pin-header": "connector", "dip": "dip-switch",
}  # fmt: skip
"""What these parts are called elsewhere."""


def called_here(word: str) -> str:
    """The hint for a word that names no part: what such a part is called here; "" if unknown."""
    name = _OTHER_WORDS.get(word.lower())
    return f"Here it is called '{name}'." if name else near(word, DEVICES)


_TITLES = {
    "push-button": "push-button, closed while pressed",
    "spdt": "change-over switch",
    "dip-switch": "DIP switch",
    "resistor": "resistor",
    "resistor-network": "resistor network",
    "capacitor": "capacitor",
    "led": "LED",
    "led-bar": "LED bar",
    "diode": "diode",
    "oscillator": "crystal oscillator module",
    "connector": "connector",
    "display": "seven-segment display, one digit",
    "rotary-dip": "rotary DIP switch, coded",
    "jumper": "jumper (link) of two or three pins",
    "supervisor": "reset supervisor",
    "crystal": "crystal beside a gate that makes it swing",
    "potentiometer": "potentiometer or trimmer",
    "test-point": "test point",
}

NOTES: dict[str, tuple[str, ...]] = {
    "display": (
        "{part: display, common: cathode}: pins 3 and 8 are joined inside",
        "a formula reads DS1 as {dp, g, f, e, d, c, b, a}, 1 where lit; shows(DS1, 5) is true while"
        " it shows a 5 (10 to 15: A to F), with or without the point",
    ),
    "rotary-dip": (
        "{part: rotary-dip, positions: 16}: contact k joins pin k and C, where the position has"
        " bit k (complement: true: where it has not)",
        "one control, ROT == 5 in formulas; while it is turned its contacts make and break in any"
        " order, so in one step it goes from any code to any other",
    ),
    "jumper": (
        "{part: jumper, closed: true}: as the board file says (true or false; of three pins 1-2,"
        " 2-3 or false)",
        "without 'closed' a control: JP1 is true while plugged; three pins name their positions as"
        " an spdt does",
    ),
    "supervisor": (
        "{part: supervisor, output: push-pull}: active low unless 'active: high'; with"
        " 'manual-reset: true' the pins are 1 GND, 2 RESET_n, 3 MR_n, 4 VCC",
        "resets when power comes on, lets go at a moment that the world chooses, and never resets"
        " again while power stays; a low MR_n resets, until another such moment",
    ),
    "crystal": (
        "{part: crystal, frequency: 4 MHz}: the pin at a gate's input that nothing else drives"
        " is a clock source, as an oscillator's output is; that it swings is not checked",
    ),
    "potentiometer": ("2 is the tap; both halves are taken at the full value",),
}
"""What the page of a part says beside its pins."""


def device_type(
    device: str, ways: int = 0, isolated: bool = False, reset: Reset | None = None
) -> PartType:
    """The part type of a device; ``ways`` is also a connector's or jumper's number of pins."""
    if device == "supervisor":
        return supervisor_type(reset or Reset())
    return PartType(
        number=device,
        title=_TITLES[device],
        does=_TITLES[device],
        package="",
        families=(),
        source="common practice",
        pins=tuple(_pins(device, ways, isolated)),
    )


def _passive(number: int, name: str = "") -> PinType:
    return PinType(number=str(number), name=name or str(number), kind=PinKind.PASSIVE)


_PASSIVE: dict[str, tuple[str, ...]] = {
    "spdt": ("", "common", ""),
    "led": ("A", "K"),
    "diode": ("A", "K"),
    "potentiometer": ("", "tap", ""),
    "test-point": ("",),
    "display": tuple(PINS.values()),
}
"""Names of the pins, from pin 1, of passive parts that have more than two nameless ones."""


def _pins(device: str, ways: int, isolated: bool) -> list[PinType]:
    match device:
        case "dip-switch":
            return [_passive(number) for number in range(1, 2 * ways + 1)]
        case "resistor-network":
            if isolated:
                return [_passive(number) for number in range(1, 2 * ways + 1)]
            return [_passive(1, "common"), *(_passive(n) for n in range(2, ways + 2))]
        case "led-bar":
            anodes = [_passive(k, f"A{k}") for k in range(1, ways + 1)]
            cathodes = [_passive(2 * ways + 1 - k, f"K{k}") for k in range(ways, 0, -1)]
            return anodes + cathodes
        case "oscillator":
            return [
                PinType(number="1", name="NC", kind=PinKind.NOT_CONNECTED),
                PinType(number="7", name="GND", kind=PinKind.GROUND),
                PinType(number="8", name="OUT", kind=PinKind.OUT, role=Role.DATA),
                PinType(number="14", name="VCC", kind=PinKind.SUPPLY),
            ]
        case "connector":
            return [_passive(number) for number in range(1, ways + 1)]
        case "rotary-dip":
            return [
                PinType(number=name, name=name, kind=PinKind.PASSIVE)
                for name in ("1", "2", "4", "8", "C")
            ]
        case "jumper":
            return [_passive(number) for number in range(1, (3 if ways == 3 else 2) + 1)]
        case _:
            names = _PASSIVE.get(device, ("", ""))
            return [_passive(number, name) for number, name in enumerate(names, start=1)]


_VALUE = re.compile(
    r"(?P<whole>\d+)(?:\.(?P<part>\d+))?\s*(?P<scale>[pnuµmkKMRG]?)(?P<rest>\d*)\s*"
    r"(?:ohm|Ohm|Ω|F|Hz|V)?\Z"
)
_SCALE = {
    "": 1.0, "R": 1.0, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3,
    "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9,
}  # fmt: skip


def quantity(text: str) -> float | None:
    """``10k``, ``4k7``, ``100 nF``, ``1.8432 MHz`` in the base unit; None if it is no number.

    Notation as in IEC 60062 (4k7 is 4.7 k), with the unit optional.
    """
    found = _VALUE.match(text.strip())
    if not found or (found["part"] and found["rest"]) or (found["rest"] and not found["scale"]):
        return None
    digits = f"{found['whole']}.{found['part'] or found['rest'] or '0'}"
    return float(digits) * _SCALE[found["scale"]]
