"""Rules of inputs: left open, alone, or on a net that nobody drives."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import assert_never

from breadproof.specs.catalogue.part import PinKind, Role
from breadproof.specs.netlist.model import BETWEEN, Net, Part, Pin, written
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

PLAIN = (Role.DATA, Role.ADDRESS)
"""Roles of inputs that carry data; the others control the chip."""

THROUGH_RESISTOR = "Wire it, or tie it through 10k: tied straight, it would fight when it drives."


def input_open(survey: Survey) -> Iterator[Finding]:
    """A data or address input that is joined to nothing; any input of an unused CMOS gate."""
    for part, pin in _open_inputs(survey):
        bipolar, unused = _bipolar(part), survey.unused(pin)
        if unused and (bipolar or pin.kind.both_ways):
            continue  # gate-unused
        if pin.role not in PLAIN and not unused:
            continue  # control-open
        if bipolar:
            reads = f"it reads high (an open {_family(part)} input does)"
            hint = "Wire it, or tie it to VCC or GND so that the level is meant."
        elif unused:
            reads = (
                "its gate is unused, but an open CMOS input drifts, heats the chip and disturbs it"
            )
            hint = "Tie the unused input to GND or VCC."
        else:
            reads = "it reads anything, and changes when a finger comes near (an open CMOS input)"
            hint = "Wire it, or tie it to VCC or GND."
        if pin.kind.both_ways:
            hint = THROUGH_RESISTOR
        yield _about(
            survey,
            pin,
            "input-open",
            Severity.WARNING if bipolar else Severity.ERROR,
            f"input {called(pin)} {_open(survey, pin)}: {reads}",
            hint,
        )


def control_open(survey: Survey) -> Iterator[Finding]:
    """An enable, select, clear, preset, load, latch, write or clock pin joined to nothing."""
    for part, pin in _open_inputs(survey):
        if pin.role in PLAIN or survey.unused(pin):
            continue
        if _bipolar(part):
            text = f"{called(pin)} {_open(survey, pin)} and reads high: {_held_high(survey, pin)}"
        else:
            text = f"{called(pin)} {_open(survey, pin)} and reads anything: {_drifting(pin.role)}"
        yield _about(
            survey,
            pin,
            "control-open",
            Severity.ERROR,
            text,
            f"Wire it, or tie it to the level that is meant: {pin.name} is the {pin.role.value} "
            f"pin, active {'low' if _active_low(pin) else 'high'}."
            if pin.role not in (Role.SELECT, Role.CLOCK)
            else "Wire it, or tie it to VCC or GND.",
        )


def gate_unused(survey: Survey) -> Iterator[Finding]:
    """Open inputs of gates whose outputs are unused too, one finding a chip."""
    found: dict[str, list[Pin]] = {}
    for part, pin in _open_inputs(survey):
        both_ways = pin.kind.both_ways
        if (_bipolar(part) or both_ways) and survey.unused(pin):
            found.setdefault(part.name, []).append(pin)
    for name, pins in found.items():
        part = survey.parts[name]
        one = len(pins) == 1
        is_open = "is open" if one else "are open"
        if _bipolar(part):
            is_open += f" and {'reads' if one else 'read'} high"
        yield Finding(
            code="gate-unused",
            severity=Severity.NOTE,
            message=f"{listed([called(pin) for pin in pins])} {is_open}; "
            f"no output of {name} that is used depends on {'it' if one else 'them'}",
            net=None,
            pins=tuple(pin.label for pin in pins),
            span=part.span,
            hint=THROUGH_RESISTOR
            if any(pin.kind.both_ways for pin in pins)
            else "Tie unused inputs to GND or VCC if there is room: it saves current and noise.",
        )


def net_undriven(survey: Survey) -> Iterator[Finding]:
    """A net that is read, and that nothing drives or pulls."""
    for net in survey.netlist.nets:
        readers = survey.readers(net)
        if not readers or len(net.pins) < 2 or survey.leaves_board(net):
            continue
        if survey.drivers(net) or survey.pulls(net):
            continue
        if all(_bipolar(survey.part(pin)) and survey.unused(pin) for pin in readers):
            continue
        yield Finding(
            code="net-undriven",
            severity=Severity.ERROR,
            message=f"nothing drives net '{net.name}', which is read by "
            f"{listed([called(pin) for pin in readers])}",
            net=net.name,
            pins=tuple(pin.label for pin in readers),
            span=net.span,
            hint=f"Join it to the output that is meant to drive it; {_from_elsewhere(net)}.",
        )


def _from_elsewhere(net: Net) -> str:
    """What to write if what drives a net is on none of these boards."""
    if BETWEEN not in net.name:
        return f"if that is on another board, list '{net.name}' under 'ports:'"
    bare = re.sub(r"\W+", "_", net.name.rpartition(BETWEEN)[2]).strip("_")
    return (
        "if that is on none of these boards, bring it out at a connector: "
        f"'parts: {{J1: {{part: connector, pins: 1}}}}', 'nets: {{{bare}: [J1.1]}}', "
        f"'ports: {{{bare}: in}}', and a join 'J1.1 to {written(net.name)}'"
    )


def net_alone(survey: Survey) -> Iterator[Finding]:
    """A net with one pin that is no input (open inputs are told by what they read)."""
    for net in survey.netlist.nets:
        if len(net.pins) != 1 or net.rail is not None or survey.leaves_board(net):
            continue
        (pin,) = net.pins
        if pin.kind in (PinKind.SUPPLY, PinKind.GROUND) or pin in survey.readers(net):
            continue
        output = pin.kind.drives
        yield Finding(
            code="net-alone",
            severity=Severity.NOTE if output else Severity.WARNING,
            message=f"net '{net.name}' has one pin, {called(pin)}: "
            f"{'nothing reads it' if output else 'it is joined to nothing'}",
            net=net.name,
            pins=(pin.label,),
            span=pin.span,
            hint="Check for a wire one hole off: the pin it should reach is often alone as well.",
        )


def _open_inputs(survey: Survey) -> Iterator[tuple[Part, Pin]]:
    for part in survey.chips:
        for pin in part.pins:
            if pin.kind.reads and not _held_inside(part, pin) and survey.joined_to_nothing(pin):
                yield part, pin


def _held_inside(part: Part, pin: Pin) -> bool:
    """Whether a pin has a resistor to the supply inside, or is no pin at all but a moment."""
    return part.type.held_inside(pin.number) or pin.kind is PinKind.MOMENT


def _bipolar(part: Part) -> bool:
    return part.family is not None and part.family.bipolar


def _family(part: Part) -> str:
    return part.family.name if part.family else ""


def _open(survey: Survey, pin: Pin) -> str:
    net = survey.net(pin)
    return "is open" if net is None else f"is alone on net '{net.name}'"


def _about(
    survey: Survey, pin: Pin, code: str, severity: Severity, message: str, hint: str
) -> Finding:
    net = survey.net(pin)
    return Finding(
        code=code,
        severity=severity,
        message=message,
        net=net.name if net else None,
        pins=(pin.label,),
        span=pin.span,
        hint=hint,
    )


def _active_low(pin: Pin) -> bool:
    return pin.name.endswith("_n")


def _held_high(survey: Survey, pin: Pin) -> str:
    """What the builder will see of a control pin that reads high."""
    stuck = survey.chip(survey.part(pin)).stuck(pin, high=True)
    if stuck.silent:
        return f"{runs(stuck.silent)} never {_verb('drive', stuck.silent)}"
    if stuck.high or stuck.low:
        stays = [
            f"{runs(names)} always {_verb('stay', names)} {level}"
            for names, level in ((stuck.low, "low"), (stuck.high, "high"))
            if names
        ]
        return " and ".join(stays)
    if stuck.ignored and pin.role is Role.SELECT:
        always = f"always takes {runs(stuck.taken)}, never " if stuck.taken else "never takes "
        return f"the selector {always}{runs(stuck.ignored)}"
    return _by_role(pin.role, _active_low(pin))


def _by_role(role: Role, active_low: bool) -> str:
    always = "never" if active_low else "always"
    match role:
        case Role.CLOCK:
            return "no edge ever comes, so nothing is captured"
        case Role.CLEAR:
            return f"the chip is {always} cleared"
        case Role.PRESET:
            return f"the chip is {always} preset"
        case Role.LOAD:
            return f"the chip {always} loads"
        case Role.LATCH:
            return f"the latch is {always} open"
        case Role.WRITE:
            return f"the chip is {always} written"
        case Role.ENABLE:
            return f"the chip is {always} enabled"
        case Role.SELECT:
            return "the choice never changes"
        case Role.ADDRESS | Role.DATA:
            return "it never changes"
        case _:
            assert_never(role)


def _drifting(role: Role) -> str:
    match role:
        case Role.CLOCK:
            return "anything near the pin may clock the chip"
        case Role.CLEAR:
            return "the chip may be cleared at any moment"
        case Role.PRESET:
            return "the chip may be preset at any moment"
        case Role.LOAD:
            return "the chip may load at any moment"
        case Role.LATCH:
            return "the latch may open at any moment"
        case Role.WRITE:
            return "the chip may be written at any moment"
        case Role.ENABLE:
            return "the chip is enabled or not as the pin drifts"
        case Role.SELECT:
            return "the choice changes as the pin drifts"
        case Role.ADDRESS | Role.DATA:
            return "it changes as the pin drifts"
        case _:
            assert_never(role)


def _verb(verb: str, names: tuple[str, ...]) -> str:
    return verb if len(names) > 1 else f"{verb}s"


def runs(names: tuple[str, ...]) -> str:
    """Names in order, runs of numbers shortened: ``A1 to A4``, ``Y0_n and Y2_n``."""
    groups: list[list[str]] = []
    for name in sorted(names, key=_split):
        if groups and _follows(groups[-1], name):
            groups[-1].append(name)
        else:
            groups.append([name])
    words: list[str] = []
    for group in groups:
        words += [f"{group[0]} to {group[-1]}"] if len(group) > 2 else group
    return listed(words)


def _split(name: str) -> tuple[str, str, int]:
    """Letters before and after the number, and the number (-1: none)."""
    tail = "_n" if name.endswith("_n") else ""
    stem = name.removesuffix(tail)
    digits = len(stem) - len(stem.rstrip("0123456789"))
    return stem[: len(stem) - digits], tail, int(stem[len(stem) - digits :] or -1)


def _follows(group: list[str], name: str) -> bool:
    """Whether a name goes one on from a run."""
    *last, number = _split(group[-1])
    *this, following = _split(name)
    return last == this and number >= 0 and following == number + 1
