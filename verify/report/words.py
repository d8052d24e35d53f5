"""How things are put into words: pins, controls, steps, and lines that fit a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from breadproof.specs.machine.trace import TraceStep, control_text, vector_text
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import Control, Netlist, Pin
from breadproof.verify.report.replay import FIGHT, FLOAT
from breadproof.verify.wiring.finding import called, listed

__all__ = [
    "called",
    "change",
    "count",
    "listed",
    "moved",
    "pin_called",
    "printable",
    "standing",
    "wrapped",
]


def count(number: int, one: str, many: str = "") -> str:
    """``1 pin``, ``3 pins``."""
    return f"{number} {one if number == 1 else many or f'{one}s'}"


def printable(text: str) -> str:
    """The text without characters that would steer a terminal."""
    return "".join(character if character.isprintable() else " " for character in text)


def wrapped(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """A text as lines of at most ``width``; words that are longer stay whole."""
    return textwrap.wrap(
        printable(text),
        max(width, len(first) + 20),
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [first.rstrip()]


def pin_called(netlist: Netlist, label: str) -> str:
    """``U7.21`` as ``U7.21 (WE_n)``."""
    part_name, _, number = label.partition(".")
    part = netlist.part(part_name)
    pin: Pin | None = part.pin(number) if part else None
    return label if pin is None else called(pin)


def standing(netlist: Netlist, control: Control, bits: tuple[int, ...]) -> str:
    """How a control stands: ``MODE is at SET``, ``STORE is pressed``."""
    name = control.name
    match control.kind:
        case "button":
            return f"{name} is {'pressed' if bits[0] else 'not pressed'}"
        case "way" | "jumper":
            return f"{name} is {'closed' if bits[0] else 'open'}"
        case "rotary":
            where = control_text(netlist, name, bits)
            return f"{name} is {where}" if where.startswith("between") else f"{name} is at {where}"
        case "oscillator":
            return f"{name} is {'high' if bits[0] else 'low'}"
        case "changeover":
            where = control_text(netlist, name, bits)
            return f"{name} is between" if where == "between" else f"{name} is at {where}"
        case "moment":
            return f"{name} is still to come"
        case "in":
            return f"{name} is {_level(bits)}"
        case "both":
            if not bits[0]:
                return f"nobody outside drives {name}"
            return f"{name} is driven from outside with {_level(bits[1:])}"


def _level(bits: Sequence[int]) -> str:
    if len(bits) == 1:
        return "high" if bits[0] else "low"
    return vector_text(len(bits), int("".join(map(str, bits)), 2))


def moved(netlist: Netlist, before: TraceStep, after: TraceStep) -> str:
    """What is done in a step, in words."""
    done = [
        _done(netlist, control, after.controls[control.name])
        for control in netlist.controls
        if before.controls[control.name] != after.controls[control.name]
    ]
    return listed(done) if done else "nothing is moved"


def _done(netlist: Netlist, control: Control, bits: tuple[int, ...]) -> str:
    name = control.name
    match control.kind:
        case "button":
            return f"{'press' if bits[0] else 'release'} {name}"
        case "way":
            return f"{'close' if bits[0] else 'open'} {name}"
        case "jumper":
            return f"{'plug' if bits[0] else 'pull'} {name}"
        case "rotary":
            return f"turn {name} to {control_text(netlist, name, bits)}"
        case "oscillator":
            return f"{name} goes {'high' if bits[0] else 'low'}"
        case "changeover":
            where = control_text(netlist, name, bits)
            return f"move {name} to between" if where == "between" else f"move {name} to {where}"
        case "moment":
            finger = finger_of(control.part or "")
            says = moment_says(netlist, control)
            return f"{finger} bounces" if finger else f"{control.part}: {says}"
        case "in":
            single = len(bits) == 1
            return f"{name} goes {_level(bits)}" if single else f"set {name} to {_level(bits)}"
        case "both":
            return (
                f"drive {name} from outside with {_level(bits[1:])}"
                if bits[0]
                else (f"let go of {name} outside")
            )


def moment_says(netlist: Netlist, control: Control) -> str:
    """What happens at a moment: ``the pulse of the first half ends``."""
    part = netlist.part(control.part or "")
    pin = part.type.pin(control.name.partition(".")[2]) if part else None
    return pin.says if pin else control.name


def change(before: str | None, after: str) -> str:
    """What a net does: ``rises``, ``falls``; without a before how it is: ``is high``."""
    if before is None or before == after:
        return {"0": "is low", "1": "is high", FIGHT: "is fought over", FLOAT: "floats"}[after]
    return {
        "0": "falls" if before == "1" else "goes low",
        "1": "rises" if before == "0" else "goes high",
        FIGHT: "is fought over",
        FLOAT: "is let go",
    }[after]
