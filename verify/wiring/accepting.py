"""Findings that the board file accepts: they stay told, and weigh nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.accepts import Accept
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.survey import Survey


def accepted(
    netlist: Netlist, findings: Sequence[Finding], codes: Sequence[str]
) -> tuple[Finding, ...]:
    """The findings, those that are accepted with the reason; and one for each accept that accepts
    nothing (any more), or names no rule of ``codes``."""
    used: set[int] = set()
    found: list[Finding] = []
    for finding in findings:
        place = next(
            (n for n, one in enumerate(netlist.accepts) if _meant(netlist, one, finding)), None
        )
        if place is None:
            found.append(finding)
        else:
            used.add(place)
            found.append(replace(finding, accepted=netlist.accepts[place].because))
    idle = [one for number, one in enumerate(netlist.accepts) if number not in used]
    return (*found, *(_idle(one, codes) for one in idle))


def nothing(survey: Survey) -> Iterator[Finding]:
    """The check of `accept-idle`, which is made when all others are."""
    yield from ()


def _meant(netlist: Netlist, one: Accept, finding: Finding) -> bool:
    if one.code != finding.code:
        return False
    if one.net:
        # Joined nets have one name each, and the file may know another.
        known = dict(netlist.aliases)
        name = netlist.nets[known[one.net]].name if one.net in known else one.net
        return name in (finding.net, *finding.nets)
    part_name, _, pin_name = one.pin.partition(".")
    part = netlist.part(part_name)
    pin = part.pin(pin_name) if part is not None else None
    return pin is not None and pin.label in finding.pins


def _idle(one: Accept, codes: Sequence[str]) -> Finding:
    where = f"at {one.pin}" if one.pin else f"on net '{one.net}'"
    known = one.code in codes
    return Finding(
        code="accept-idle",
        severity=Severity.WARNING,
        message=f"'{one.code}' is accepted {where}, and does not fire there"
        if known
        else f"'{one.code}' is accepted {where}, and there is no such rule",
        net=one.net or None,
        pins=(one.pin,) if one.pin else (),
        span=one.span,
        hint="Take the entry out of 'accept'." if known else "'breadproof rules' lists the codes.",
    )
