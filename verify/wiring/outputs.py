"""Rules of outputs: joined to each other, to a supply, or with nothing to pull them up."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey


def outputs_joined(survey: Survey) -> Iterator[Finding]:
    """Two outputs that always drive on one net, or one and an input port."""
    for net in survey.netlist.nets:
        if net.rail is not None:
            continue  # output-on-rail
        outputs = survey.outputs(net, PinKind.OUT)
        port = survey.ports.get(net.index)
        outside = port is not None and port.direction == "in"
        if len(outputs) + outside < 2:
            continue
        names = [called(pin) for pin in outputs]
        if port is not None and outside:
            names.append(f"the input port '{port.name}'")
        yield Finding(
            code="outputs-joined",
            severity=Severity.ERROR,
            message=f"{listed(names)} are joined in net '{net.name}', and each always drives it",
            net=net.name,
            pins=tuple(pin.label for pin in outputs),
            span=outputs[-1].span,
            hint="Part them: combine the signals with a gate, choose with a selector, or use "
            "three-state outputs of which one is enabled.",
        )


def outputs_twinned(survey: Survey) -> Iterator[Finding]:
    """Two outputs of one chip, enabled by the same pins, on one net."""
    for net in survey.netlist.nets:
        groups: dict[tuple[str, int], list[Pin]] = {}
        for pin in survey.outputs(net, PinKind.THREE_STATE, PinKind.BIDIRECTIONAL):
            part = survey.part(pin)
            if part.device == "chip" and net.rail is None:
                drive = survey.chip(part).drives[pin.number]
                groups.setdefault((part.name, drive.when), []).append(pin)
        for (name, _), pins in groups.items():
            if len(pins) < 2 or _only_lows(survey, pins):
                continue
            yield Finding(
                code="outputs-twinned",
                severity=Severity.ERROR,
                message=f"{listed([called(pin) for pin in pins])} are joined in net '{net.name}', "
                f"and {name} always enables them together",
                net=net.name,
                pins=tuple(pin.label for pin in pins),
                span=pins[-1].span,
                hint="Look for a wire one hole off, or two lines of a bus that touch.",
            )


def _only_lows(survey: Survey, pins: list[Pin]) -> bool:
    """Outputs that only ever pull low, as a blanking pin does."""
    chip = survey.chip(survey.part(pins[0]))
    return all(chip.drives[pin.number].level == chip.graph.FALSE for pin in pins)


def output_on_rail(survey: Survey) -> Iterator[Finding]:
    """An output wired straight to a supply or to ground."""
    kinds = (PinKind.OUT, PinKind.THREE_STATE, PinKind.OPEN_COLLECTOR)
    for net in survey.netlist.nets:
        if net.rail is None:
            continue
        for pin in survey.outputs(net, *kinds):
            yield Finding(
                code="output-on-rail",
                severity=Severity.ERROR,
                message=f"output {called(pin)} is wired straight to the "
                f"{'supply' if net.rail else 'ground'} rail '{net.name}'",
                net=net.name,
                pins=(pin.label,),
                span=pin.span,
                hint="Take it off the rail; an output that is not used is left open.",
            )


def pull_up_missing(survey: Survey) -> Iterator[Finding]:
    """A net that is read, and that only open-collector outputs drive, with no pull-up."""
    for net in survey.netlist.nets:
        outputs = survey.outputs(net, PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND)
        readers = survey.readers(net)
        if not outputs or not readers or survey.leaves_board(net):
            continue
        others = [
            driver
            for driver in survey.drivers(net)
            if driver.pin not in outputs
            and driver.passes != "low"
            and (driver.kind != "rail" or driver.high)
        ]
        if others or any(_raises(survey, pull.end) for pull in survey.pulls(net)):
            continue
        yield Finding(
            code="pull-up-missing",
            severity=Severity.ERROR,
            message=f"net '{net.name}' has no pull-up: the open-collector "
            f"{'output' if len(outputs) == 1 else 'outputs'} "
            f"{listed([called(pin) for pin in outputs])} can only pull it low, and "
            f"{listed([called(pin) for pin in readers])} "
            f"{'reads' if len(readers) == 1 else 'read'} it",
            net=net.name,
            pins=tuple(pin.label for pin in (*outputs, *readers)),
            span=net.span,
            hint=f"Put a resistor of 1k to 10k from '{net.name}' to VCC.",
        )


def _raises(survey: Survey, end: int) -> bool:
    """Whether a net at the far end of a resistor can be high."""
    rail = survey.netlist.nets[end].rail
    return rail is None or rail > 0
