"""Parts that are no chips: switches, passives, lamps, oscillators, connectors.

Pin numbering is that of design.md section 5 (the usual one, common practice).
"""

from __future__ import annotations

import re
from typing import get_args

from breadproof.specs.catalogue.part import PartType, PinKind, PinType, Role
from breadproof.specs.netlist.model import Device

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
    "oscillator": ("frequency",),
    "connector": ("pins",),
}
"""Options of each device in the board file, beside ``part``."""

_TITLES = {
    "push-button": "push-button, closed while pressed",
    "spdt": "change-over switch",
    "dip-switch": "DIP switch",
    "resistor": "resistor",
    "resistor-network": "resistor network",
    "capacitor": "capacitor",
    "led": "LED",
    "led-bar": "LED bar",
    "oscillator": "crystal oscillator module",
    "connector": "connector",
}


def device_type(device: str, ways: int = 0, isolated: bool = False) -> PartType:
    """The part type of a device; ``ways`` is also a connector's number of pins."""
    return PartType(
        number=device,
        title=_TITLES[device],
        does=_TITLES[device],
        package="",
        families=(),
        bus_driver=False,
        source="common practice",
        pins=tuple(_pins(device, ways, isolated)),
    )


def _passive(number: int, name: str = "") -> PinType:
    return PinType(number=str(number), name=name or str(number), kind=PinKind.PASSIVE)


def _pins(device: str, ways: int, isolated: bool) -> list[PinType]:
    match device:
        case "spdt":
            return [_passive(1), _passive(2, "common"), _passive(3)]
        case "dip-switch":
            return [_passive(number) for number in range(1, 2 * ways + 1)]
        case "resistor-network":
            if isolated:
                return [_passive(number) for number in range(1, 2 * ways + 1)]
            return [_passive(1, "common"), *(_passive(n) for n in range(2, ways + 2))]
        case "led":
            return [_passive(1, "A"), _passive(2, "K")]
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
        case _:
            return [_passive(1), _passive(2)]


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
