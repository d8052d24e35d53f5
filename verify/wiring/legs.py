"""Rules of parts with two legs: one that is wired nowhere makes the part do nothing."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.netlist.model import Part, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

WORDS = {
    "push-button": "pressing {name} does nothing",
    "spdt": "turning {name} does nothing",
    "dip-switch": "that way of {name} does nothing",
    "jumper": "{name} joins nothing",
    "led": "{name} stays dark",
    "led-bar": "that lamp of {name} stays dark",
    "diode": "{name} does nothing",
    "resistor": "{name} does nothing",
    "resistor-network": "{name} does nothing",
    "isolated": "that resistor of {name} does nothing",
    "capacitor": "{name} does nothing",
    "crystal": "{name} does not swing",
}
"""What the builder sees."""


def leg_open(survey: Survey) -> Iterator[Finding]:
    """A part of two legs of which one is wired and the other is not."""
    for part in survey.netlist.parts:
        if part.device not in WORDS:
            continue
        for one, other in _pairs(part):
            wired = [pin for pin in one + other if pin.net is not None]
            if wired and not (_any(one) and _any(other)):
                bare = one if not _any(one) else other
                yield _finding(survey, part, bare, wired)


def _any(pins: tuple[Pin, ...]) -> bool:
    return any(pin.net is not None for pin in pins)


def _pairs(part: Part) -> Iterator[tuple[tuple[Pin, ...], tuple[Pin, ...]]]:
    """The two ends of each thing in a part; an end is some pins of which one is enough."""
    pins = part.pins
    match part.device:
        case "dip-switch" | "led-bar":
            by_number = {int(pin.number): pin for pin in pins}
            for way in range(1, part.ways + 1):
                yield (by_number[way],), (by_number[2 * part.ways + 1 - way],)
        case "resistor-network":
            if part.isolated:
                for place in range(0, len(pins), 2):
                    yield (pins[place],), (pins[place + 1],)
            else:
                yield (pins[0],), pins[1:]
        case "spdt":
            yield (pins[1],), (pins[0], pins[2])
        case _ if len(pins) == 2:
            yield (pins[0],), (pins[1],)
        case _:
            return


def _finding(survey: Survey, part: Part, bare: tuple[Pin, ...], wired: list[Pin]) -> Finding:
    net = survey.net(wired[0])
    verb = "is" if len(bare) == 1 else "are"
    return Finding(
        code="leg-open",
        severity=Severity.WARNING,
        message=f"{listed([called(pin) for pin in bare])} {verb} wired to nothing: "
        f"{WORDS['isolated' if part.isolated else part.device].format(name=part.name)}",
        net=None if net is None else net.name,
        pins=tuple(pin.label for pin in (*bare, *wired)),
        span=wired[0].span,
        hint="Wire the other leg, or take the part out.",
    )
