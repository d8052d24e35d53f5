"""Rules of supplies: supply pins, their rails and voltages, decoupling."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.model import Net, Part, Pin, board_of
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, a, called, listed, volts
from breadproof.verify.wiring.holes import unfed
from breadproof.verify.wiring.survey import Survey

DECOUPLING = (10e-9, 1e-6)
"""Farads: what counts as one of the 100 nF class (common practice)."""


def supply_missing(survey: Survey) -> Iterator[Finding]:
    """A supply or ground pin that is on no net."""
    for part, pin in _supply_pins(survey):
        if not survey.joined_to_nothing(pin):
            continue
        net = survey.net(pin)
        where = "is on no net" if net is None else f"is alone on net '{net.name}'"
        rail = "VCC" if pin.kind is PinKind.SUPPLY else "GND"
        what = "supply" if pin.kind is PinKind.SUPPLY else "ground"
        yield Finding(
            code="supply-missing",
            severity=Severity.ERROR,
            message=f"{part.name} has no {what}: {called(pin)} {where}",
            net=net.name if net else None,
            pins=(pin.label,),
            span=pin.span,
            hint=f"Join {pin.label} to {rail}.",
        )


def supply_wrong_rail(survey: Survey) -> Iterator[Finding]:
    """A supply pin on ground or a signal, a ground pin on a supply or a signal."""
    cold = unfed(survey)
    for part, pin in _supply_pins(survey):
        net = survey.net(pin)
        if net is None or survey.joined_to_nothing(pin) or _feeds(survey, pin, net):
            continue
        if net.index in survey.shorted or net.index in cold:
            continue  # supplies-joined, rail-unfed
        if net.rail is None and survey.leaves_board(net):
            continue  # fed from another board
        high = pin.kind is PinKind.SUPPLY
        what = "supply" if high else "ground"
        on = "which is no supply" if net.rail is None else f"the {volts(net.rail)} rail"
        if net.rail == 0.0:
            on = "the ground rail"
        yield Finding(
            code="supply-wrong-rail",
            severity=Severity.ERROR,
            message=f"{called(pin)} is the {what} pin of {a(part.printed)}, "
            f"and is on net '{net.name}', {on}",
            net=net.name,
            pins=(pin.label,),
            span=pin.span,
            hint=f"Join it to {'VCC' if high else 'GND'}; a chip with its supply the wrong way "
            "round gets hot at once, so take power off first."
            if net.rail is not None
            else f"Join it to {'VCC' if high else 'GND'}.",
        )


def _feeds(survey: Survey, pin: Pin, net: Net) -> bool:
    """Whether the right kind of rail reaches the net, through a power switch too."""
    high = pin.kind is PinKind.SUPPLY
    if net.rail is not None:
        return (net.rail > 0) == high
    return any(driver.kind == "rail" and driver.high == high for driver in survey.drivers(net))


def supply_voltage(survey: Survey) -> Iterator[Finding]:
    """A rail whose voltage is outside what the chip's family is made for."""
    for part, pin in _supply_pins(survey):
        net = survey.net(pin)
        limits = part.limits
        if pin.kind is not PinKind.SUPPLY or limits is None or net is None or not net.rail:
            continue
        low, high = limits.supply
        if low <= net.rail <= high:
            continue
        yield Finding(
            code="supply-voltage",
            severity=Severity.ERROR,
            message=f"{part.name}, a {part.printed}, is on {volts(net.rail)} at {called(pin)}; "
            f"{_made(limits)} made for {volts(low)} to {volts(high)}",
            net=net.name,
            pins=(pin.label,),
            span=pin.span,
            hint="Feed it from a rail in that range, or take the part of another family "
            "(HC and AC work from 2 V to 6 V).",
        )


def _made(limits: Limits) -> str:
    own = limits.type.limits
    return "it is" if own and own.supply else f"the {limits.family.name} family is"


def _supply_pins(survey: Survey) -> Iterator[tuple[Part, Pin]]:
    for part in survey.netlist.parts:
        if part.device not in ("chip", "oscillator"):
            continue
        for pin in part.pins:
            if pin.kind in (PinKind.SUPPLY, PinKind.GROUND):
                yield part, pin


def decoupling_missing(survey: Survey) -> Iterator[Finding]:
    """Fewer capacitors between a rail and ground than there are chips on that rail and board."""
    if survey.shorted:
        return  # supplies-joined
    missing = 0
    found = 0
    concerned: list[Part] = []
    pins: list[str] = []
    for (rail, board), chips in _by_rail(survey).items():
        beside = [part for part in survey.netlist.parts if board_of(part.name) == board]
        there = sum(1 for part in beside if _decouples(survey, part, rail))
        found += there
        if there >= len(chips):
            continue
        missing += len(chips) - there
        concerned += [part for part, _ in chips]
        pins += [pin.label for _, pin in chips]
    if not missing:
        return
    names = listed([part.name for part in concerned])
    chips_are = "is 1 chip" if len(concerned) == 1 else f"are {len(concerned)} chips"
    yield Finding(
        code="decoupling-missing",
        severity=Severity.WARNING,
        message=f"{missing} decoupling {'capacitor is' if missing == 1 else 'capacitors are'} "
        f"missing: there {chips_are} ({names}), and between supply and ground "
        f"{'is' if found < 2 else 'are'} {found or 'no'} "
        f"{'capacitor' if found < 2 else 'capacitors'} of 10 nF to 1 uF",
        net=None,
        pins=tuple(pins),
        span=concerned[0].span,
        hint="Put 100 nF from supply to ground right beside each chip, with short legs.",
    )


def _by_rail(survey: Survey) -> dict[tuple[int, str], list[tuple[Part, Pin]]]:
    """The chips on each supply rail of each board, in the board's order; chips without supply are
    no matter."""
    chips: dict[tuple[int, str], list[tuple[Part, Pin]]] = {}
    for part in survey.chips:
        for pin in part.pins:
            net = survey.net(pin)
            if pin.kind is PinKind.SUPPLY and net is not None and net.rail:
                chips.setdefault((net.index, board_of(part.name)), []).append((part, pin))
                break
    return chips


def _decouples(survey: Survey, part: Part, rail: int) -> bool:
    if part.device != "capacitor":
        return False
    if part.value is not None and not DECOUPLING[0] <= part.value <= DECOUPLING[1]:
        return False
    ends = [survey.net(pin) for pin in part.pins]
    return any(net is not None and net.index == rail for net in ends) and any(
        net is not None and net.rail == 0.0 for net in ends
    )
