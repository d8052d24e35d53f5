"""Rule of voltages: pins that are pulled or driven above what they bear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.loads import HIGHEST
from breadproof.specs.netlist.model import Net, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, ohms, volts
from breadproof.verify.wiring.hanging import LED_VOLTS, Hanging, parallel
from breadproof.verify.wiring.survey import Survey

ABOVE_SUPPLY = 0.5
"""Volts above its supply that a pin bears where nothing else is told (data books, HC and AC)."""
HARMLESS = 1e-3
"""Amperes through a resistor that an input's diodes carry off for good (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Source:
    """What may bring a voltage to a net: ``says`` names it, ``ohms`` is what lies between."""

    volts: float
    says: str
    pins: tuple[str, ...] = ()
    ohms: float = 0.0


def over_voltage(survey: Survey) -> Iterator[Finding]:
    """The pins of a net that bear less than the highest voltage that may come there."""
    hanging = Hanging(survey)
    for net in survey.netlist.nets:
        victims = [
            (pin, most)
            for pin in net.pins
            if pin.kind.reads or pin.kind.drives
            if (most := _bears(survey, pin)) is not None
        ]
        if not victims:
            continue
        source = _highest(survey, hanging, net)
        if source is None:
            continue
        hit = [(pin, most) for pin, most in victims if _over(survey, pin, most, source)]
        if hit:
            yield _finding(survey, net, source, hit)


def _bears(survey: Survey, pin: Pin) -> float | None:
    """The highest voltage that a pin bears; None: not known.

    An output that always drives is no victim: its own driver holds the net.
    """
    part = survey.part(pin)
    limits = part.limits
    if limits is None or pin.kind in (PinKind.OUT, PinKind.MOMENT):
        return None
    supply = survey.netlist.volts(part) + ABOVE_SUPPLY
    if pin.kind.sinks:
        bears = limits.sink(pin.name).bears
    elif pin.kind is PinKind.IN:
        bears = limits.inputs(pin.name).bears
    else:  # what drives as well bears more only in LVC (data books)
        bears = limits.family.inputs.bears if limits.family.name == "LVC" else None
    return supply if bears is None else bears


def _over(survey: Survey, pin: Pin, most: float, source: _Source) -> bool:
    """Whether a source brings more than a pin bears; where that is told, at its highest."""
    supply = survey.netlist.volts(survey.part(pin)) + ABOVE_SUPPLY
    return source.volts * (1.0 if most == supply else HIGHEST) > most + 1e-9


def _highest(survey: Survey, hanging: Hanging, net: Net) -> _Source | None:
    """The source of the highest voltage; pulls do not count against what always drives."""
    found = [_Source(volts=net.rail, says=f"net '{net.name}' is it")] if net.rail else []
    for driver in survey.drivers(net):
        rail = survey.netlist.nets[driver.net]
        if driver.passes == "low":
            continue
        if driver.kind == "rail" and rail.rail and driver.net != net.index:
            found.append(_Source(volts=rail.rail, says=f"a switch brings it from '{rail.name}'"))
        pin = driver.pin
        if pin is not None and not pin.kind.sinks:
            part = survey.part(pin)
            high = survey.netlist.volts(part)
            says = f"{called(pin)}, a {part.printed} on {volts(high)}, drives it"
            found.append(_Source(volts=high, says=says, pins=(pin.label,)))
    if net.rail is None and not survey.always_driven(net):
        found += _pulled(survey, hanging, net)
    return max(found, key=lambda source: source.volts, default=None)


def _pulled(survey: Survey, hanging: Hanging, net: Net) -> Iterator[_Source]:
    """What resistors bring, all together, and what lamps do: unlit ones drop next to nothing."""

    def level(end: Net) -> float | None:
        return _level(survey, end)

    branches = hanging.branches(hanging.linked(net.index), level, up=False)
    pull = parallel([branch for branch in branches if not branch.lamps])
    if pull is not None:
        says = f"{listed(pull.parts)} ({ohms(pull.ohms)}) {_pulls(pull.parts)} it up"
        yield _Source(volts=pull.volts, says=says, ohms=pull.ohms)
    for branch in branches:
        if branch.lamps:
            names = [lamp.name for lamp in branch.lamps]
            says = f"{listed(names)} {_pulls(tuple(names))} it up"
            high = branch.volts + LED_VOLTS * len(names)
            yield _Source(volts=high, says=says, ohms=branch.ohms)


def _pulls(parts: tuple[str, ...]) -> str:
    return "pulls" if len(parts) == 1 else "pull"


def _level(survey: Survey, net: Net) -> float | None:
    """The highest voltage of a net at the end of a resistor; None: nothing holds it."""
    if net.rail is not None:
        return net.rail
    highs = [
        survey.netlist.volts(survey.part(driver.pin))
        for driver in survey.drivers(net)
        if driver.pin is not None and not driver.pin.kind.sinks
    ]
    return max(highs, default=None)


def _finding(survey: Survey, net: Net, source: _Source, hit: list[tuple[Pin, float]]) -> Finding:
    pin, most = min(hit, key=lambda one: one[1])
    current = (HIGHEST * source.volts - most) / source.ohms if source.ohms else None
    inputs = all(one.kind is PinKind.IN for one, _ in hit)
    mild = current is not None and current < HARMLESS and inputs
    others = [called(one) for one, _ in hit if one != pin]
    return Finding(
        code="over-voltage",
        severity=Severity.WARNING if mild else Severity.ERROR,
        message=f"{called(pin)}, a {survey.part(pin).printed}, bears {volts(most)} at most, and "
        f"net '{net.name}' may be at {volts(source.volts)}: {source.says}"
        f"{f' (so with {listed(others)})' if others else ''}",
        net=net.name,
        pins=tuple(dict.fromkeys((*(one.label for one, _ in hit), *source.pins))),
        span=pin.span,
        hint=f"Pull it up to {volts(most)} at most, or use a driver that bears more (a 06 or 07: "
        "30 V)."
        if pin.kind.sinks
        else "Put a part between whose inputs bear more (LVC, AHC, 4050), or two resistors as a "
        "divider; pull it up to its own supply.",
    )
