"""Rules of edges: capacitors that make them slow."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.part import PinType, Role
from breadproof.specs.netlist.charging import HARD, SMALLEST, charges
from breadproof.specs.netlist.model import Net, Part, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

PATIENT = (Role.CLEAR, Role.PRESET, Role.LOAD)
"""Roles of pins that look at a level: a slow one only lets go later."""


def edge_slow(survey: Survey) -> Iterator[Finding]:
    """A net that a capacitor slows down, read by inputs without hysteresis, or driven hard."""
    slow = {charge.net: charge.part for charge in charges(survey.netlist)}
    for net in survey.netlist.nets:
        if net.index in slow:
            yield from _slow(survey, net, slow[net.index])
        else:
            yield from _loaded(survey, net)


def _type(survey: Survey, pin: Pin) -> PinType | None:
    return survey.part(pin).type.pin(pin.number)


def _slow(survey: Survey, net: Net, capacitor: Part) -> Iterator[Finding]:
    pins = [
        pin
        for pin in survey.readers(net)
        if pin.role not in PATIENT and (kind := _type(survey, pin)) is not None and not kind.schmitt
    ]
    if not pins:
        return
    reads = "reads" if len(pins) == 1 else "read"
    yield Finding(
        code="edge-slow",
        severity=Severity.WARNING,
        message=f"{listed([called(pin) for pin in pins])} {reads} net '{net.name}', which "
        f"{capacitor.name} makes rise and fall slowly: one slow edge can be seen as several",
        net=net.name,
        pins=tuple(pin.label for pin in pins),
        span=pins[0].span,
        hint="Put a Schmitt input between, such as a gate of a 14 or 132.",
    )


def _loaded(survey: Survey, net: Net) -> Iterator[Finding]:
    """A capacitor from an output to a supply: it takes the output's current at every edge."""
    outputs = survey.outputs(net, *HARD)
    if net.rail is not None or not outputs:
        return
    for pin in net.pins:
        part = survey.part(pin)
        if part.device != "capacitor" or (part.value or SMALLEST) < SMALLEST:
            continue
        ends = [survey.net(other) for other in part.pins if other.number != pin.number]
        if not any(end is not None and end.rail is not None for end in ends):
            continue
        yield Finding(
            code="edge-slow",
            severity=Severity.WARNING,
            message=f"{part.name} hangs on output {called(outputs[0])}: it makes net "
            f"'{net.name}' slow, and takes the output's current at every edge",
            net=net.name,
            pins=(outputs[0].label, pin.label),
            span=pin.span,
            hint="Take it off. To delay a level: 1k to 100k from the output, then the "
            "capacitor, then a Schmitt input.",
        )
