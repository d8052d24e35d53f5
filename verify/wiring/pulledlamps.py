"""Lamps on nets that a resistor holds: the lamp's current moves the level that the pull is to give.

Such as a lamp from an open-collector net to ground, beside the pull-up that readers rely on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.netlist.loads import HIGHEST, LOWEST, load_of
from breadproof.specs.netlist.model import Net
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, ohms, volts
from breadproof.verify.wiring.hanging import Branch, Hanging, parallel
from breadproof.verify.wiring.survey import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """A pull, what it reaches without the lamps and with them, and what its readers need."""

    pull: Branch
    lamps: Branch
    alone: float
    with_lamps: float
    needed: float


def pulled_lamps(survey: Survey, hanging: Hanging) -> Iterator[Finding]:
    """Nets whose pull would do without the lamps on them, and does not with them."""
    if not survey.netlist.lamps:
        return
    for net in survey.netlist.nets:
        if net.rail is not None or not survey.readers(net) or survey.always_driven(net):
            continue
        for up in (True, False):
            held = _held(survey, hanging, net, up=up)
            if held is not None and _fails(held, up=up):
                yield _finding(survey, net, held, up=up)


def _held(survey: Survey, hanging: Hanging, net: Net, *, up: bool) -> _Held | None:
    def level(end: Net) -> float | None:
        return None if end.rail is None else end.rail * (LOWEST if up else HIGHEST)

    nets = hanging.linked(net.index)
    branches = hanging.branches(nets, level, up=up)
    pulls = [branch for branch in branches if not branch.lamps]
    pull, lamps = parallel(pulls), parallel([branch for branch in branches if branch.lamps])
    if pull is None or lamps is None or any((branch.volts > 0.0) != up for branch in pulls):
        return None
    pins = [pin for index in nets for pin in survey.netlist.nets[index].pins]
    load = load_of(survey.netlist, survey.parts, pins)
    alone = pull.volts + pull.ohms * (-load.high if up else load.low)
    both = (alone / pull.ohms + lamps.volts / lamps.ohms) / (1 / pull.ohms + 1 / lamps.ohms)
    return _Held(
        pull=pull,
        lamps=lamps,
        alone=alone,
        with_lamps=min(alone, both) if up else max(alone, both),
        needed=load.v_ih if up else load.v_il,
    )


def _fails(held: _Held, *, up: bool) -> bool:
    """What fails without the lamps too is told by pull-weak."""
    if up:
        return held.alone >= held.needed > held.with_lamps
    return held.alone <= held.needed < held.with_lamps


def _finding(survey: Survey, net: Net, held: _Held, *, up: bool) -> Finding:
    readers = survey.readers(net)
    names = [lamp.name for lamp in held.lamps.lamps]
    one, word, bound = len(readers) == 1, "high" if up else "low", "least" if up else "most"
    return Finding(
        code="led-loads",
        severity=Severity.ERROR,
        message=f"{listed(names)} on net '{net.name}' let{'s' if len(names) == 1 else ''} "
        f"{listed(held.pull.parts)} ({ohms(held.pull.ohms)}) bring it {'up' if up else 'down'} to "
        f"{volts(held.with_lamps)} only; {listed([called(pin) for pin in readers])} "
        f"need{'s' if one else ''} {volts(held.needed)} at {bound} for a {word}",
        net=net.name,
        pins=tuple(pin.label for pin in readers),
        span=survey.parts[held.lamps.lamps[0].part].span,
        hint="Hang the lamp on the other side, from the supply that it is pulled to; or drive it "
        "from an output of its own.",
    )
