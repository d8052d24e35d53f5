"""Rule of crystals: one that stands beside no gate gives no clock."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.netlist.model import Part
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, listed
from breadproof.verify.wiring.survey import Survey


def crystal_idle(survey: Survey) -> Iterator[Finding]:
    """A crystal of which not just one pin is on a gate's input that nothing else drives."""
    for part in survey.netlist.parts:
        if part.device != "crystal" or any(pin.kind.drives for pin in part.pins):
            continue
        nets = [survey.net(pin) for pin in part.pins]
        yield Finding(
            code="crystal-idle",
            severity=Severity.WARNING,
            message=f"{part.name} gives no clock: {_why(survey, part)}",
            net=next((net.name for net in nets if net is not None), None),
            pins=tuple(pin.label for pin in part.pins),
            span=part.pins[0].span,
            hint="Put it from the output of an inverter (74HCU04, 74HC04) back to its input, with "
            "1M across it and 22 pF from either side to ground; or take an 'oscillator', which "
            "has all of that inside.",
        )


def _why(survey: Survey, part: Part) -> str:
    nets = [survey.net(pin) for pin in part.pins]
    read = [net for net in nets if net is not None and any(p.kind.reads for p in net.pins)]
    driven = [net.name for net in read if any(p.kind.drives for p in net.pins)]
    if not read:
        return "neither of its nets is read by a gate"
    if driven:
        names = listed([f"'{name}'" for name in driven])
        if len(driven) == 1:
            return f"the input beside it, on net {names}, is driven by an output"
        return f"the inputs beside it, on nets {names}, are driven by outputs"
    return "both its nets are read by gates and driven by none, so which way it works is unknown"
