"""Rule of levels: what an output guarantees against what an input asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.loads import guaranteed, load_of
from breadproof.specs.netlist.model import Net, Part, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, volts
from breadproof.verify.wiring.survey import Survey


@dataclass(frozen=True, slots=True)
class _Level:
    pin: Pin
    part: Part
    volts: float


def level_mismatch(survey: Survey) -> Iterator[Finding]:
    """A guaranteed level of a driver that is no guaranteed level for a reader."""
    for net in survey.netlist.nets:
        if net.rail is not None or not survey.readers(net):
            continue
        load = _load(survey, net)
        if not _pulled_up(survey, net):
            yield from _compare(survey, net, load, high=True)
        yield from _compare(survey, net, load, high=False)


def _pulled_up(survey: Survey, net: Net) -> bool:
    """Whether a resistor brings a high up to the rail, as open TTL outputs let it."""
    return any(
        pull.high and not pull.closed and (survey.netlist.nets[pull.end].rail or 0.0) > 0
        for pull in survey.pulls(net)
    )


def _compare(survey: Survey, net: Net, load: float | None, *, high: bool) -> Iterator[Finding]:
    """The weakest driver against each reader; a pin does not read itself."""
    given = _outputs(survey, net, load, high=high)
    if not given:
        return
    weakest = min(given, key=lambda level: level.volts if high else -level.volts)
    failing = [
        level
        for level in _inputs(survey, net, high=high)
        if level.pin != weakest.pin
        and (level.volts > weakest.volts if high else level.volts < weakest.volts)
    ]
    if not failing:
        return
    picky = max(failing, key=lambda level: level.volts if high else -level.volts)
    word, bound = ("high", "least") if high else ("low", "most")
    others = [called(level.pin) for level in failing if level is not picky]
    does = "does" if len(others) == 1 else "do"
    yield Finding(
        code="level-mismatch",
        severity=Severity.ERROR,
        message=f"{called(weakest.pin)}, a {weakest.part.printed}, guarantees only "
        f"{volts(weakest.volts)} as a {word} on net '{net.name}'; "
        f"{called(picky.pin)}, a {picky.part.printed}, needs {volts(picky.volts)} at {bound}"
        f"{f' (as {does} {listed(others)})' if others else ''}",
        net=net.name,
        pins=(weakest.pin.label, *(level.pin.label for level in failing)),
        span=picky.pin.span,
        hint="Use an HCT (or ACT) part there, or put 1k to 10k from the net to VCC."
        if high
        else "Put a buffer between them that takes the one level and gives the other.",
    )


def _outputs(survey: Survey, net: Net, load: float | None, *, high: bool) -> list[_Level]:
    found: list[_Level] = []
    for driver in survey.drivers(net):
        pin = driver.pin
        if pin is None:
            continue
        if driver.passes == ("low" if high else "high"):
            continue  # a diode keeps this level back
        part = survey.part(pin)
        if part.limits is None:
            continue
        asked = load if pin.net == net.index else None
        low_level, high_level = guaranteed(survey.netlist, part, pin, asked)
        level = high_level if high else low_level
        if level is not None:
            found.append(_Level(pin, part, level))
    return found


def _load(survey: Survey, net: Net) -> float | None:
    """What is asked of a net's outputs where only inputs are on it, in amperes; else None."""
    if survey.leaves_board(net) or any(
        survey.part(pin).device != "chip" or pin.kind is PinKind.PASSIVE for pin in net.pins
    ):
        return None
    load = load_of(survey.netlist, survey.parts, net.pins)
    return max(load.low, load.high)


def _inputs(survey: Survey, net: Net, *, high: bool) -> list[_Level]:
    found: list[_Level] = []
    for pin in survey.readers(net):
        part = survey.part(pin)
        if part.limits is not None:
            inputs = part.limits.inputs(pin.name)
            v_il, v_ih = inputs.thresholds(survey.netlist.volts(part))
            found.append(_Level(pin, part, v_ih if high else v_il))
    return found
