"""The schema of a target file. The keys are the reader's."""

from __future__ import annotations

from breadproof.specs.schemas.pieces import (
    NAME,
    Schema,
    document,
    either,
    listed,
    names,
    one_of,
    ref,
    table,
    text,
)
from breadproof.specs.target import read
from breadproof.specs.target.devices import device_names

_NAMED = rf"{NAME}([./]{NAME})*(\[[A-Za-z0-9:]{{1,9}}\])?"


def target_schema() -> Schema:
    """What a target file may be.

    Raises:
        ValueError: the reader knows a key that is not described here.
    """
    body = table("A target file.", read.KEYS, _bodies(), ("target",))
    return document("A target file of breadproof", body, _definitions())


def _bodies() -> dict[str, Schema]:
    return {
        "target": text("The name of the target."),
        "title": text("What it is, in one line."),
        "board": text("An FPGA board, called as its module in amaranth-boards."),
        "device": text(f"The FPGA: {', '.join(device_names())}."),
        "package": text("Its package, such as ct256."),
        "clock": either({"type": "null"}, _clock()),
        "chains": names(
            "Shift registers (165) with switches at their inputs; panel.1 is the first one out.",
            ref("chain"),
            empty=True,
        ),
        "controls": names("Switches, buttons, oscillators.", ref("control"), _NAMED, empty=True),
        "lamps": names("LEDs.", ref("lamp"), _NAMED, empty=True),
        "ports": names("Ports of the board.", ref("port"), _NAMED, empty=True),
    }


def _clock() -> Schema:
    bodies = {"pin": text("The pin that it comes in at."), "frequency": text("Such as 12 MHz.")}
    return table("The clock of the FPGA.", read.CLOCK_KEYS, bodies)


def _definitions() -> dict[str, Schema]:
    pin = text("A pin of the package, or an input of a chain.")
    pins = either(pin, listed("Several pins, in order.", pin, least=1))
    words: dict[str, Schema] = {
        "pin": pin,
        "pins": pins,
        "position": text("The position of a change-over switch in which its one pin is active."),
        "active": one_of("The level that means pressed, closed, lit, or 1.", read.ACTIVES),
        "pull": one_of("The resistor inside the FPGA.", read.PULLS),
        "debounce": text("How long contacts lie still before they are believed, such as 10 ms."),
        "clock": one_of(
            "Made inside: by a divider, one clock for each press at 'pin', or as fast as the board "
            "gets quiet.",
            read.MAKINGS,
        ),
        "frequency": text("Of a divider, such as 2 Hz."),
        "fixed": text("It is at no pin: pressed, released, open, closed, a position, bits."),
    }
    outside = _entry("Which pin tells that another drives the port.", read.OUTSIDE_KEYS, words)
    words["outside"] = either(pin, outside)
    return {
        "chain": table(
            "Its three pins, and how many inputs it has.",
            read.CHAIN_KEYS,
            {key: text(f"Its {key}.") for key in read.CHAIN_KEYS},
            read.CHAIN_KEYS,
        ),
        "control": either(pins, _entry("A control.", read.CONTROL_KEYS, words)),
        "lamp": either(pins, _entry("A lamp.", read.LAMP_KEYS, words)),
        "port": either(pins, _entry("A port.", read.PORT_KEYS, words)),
    }


def _entry(says: str, keys: tuple[str, ...], words: dict[str, Schema]) -> Schema:
    return table(says, keys, {key: words[key] for key in keys})
