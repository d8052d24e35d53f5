"""Rule of diodes: a net to which they bring one level, and nothing gives the other."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.netlist.model import Net, Pin
from breadproof.specs.netlist.ways import controls_of
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey


def diode_no_pull(survey: Survey) -> Iterator[Finding]:
    """A net that is read, that only diodes drive, all to one level, and no resistor to the other.

    Where open-collector outputs sit on the net as well, `outputs.pull_up_missing` tells it; where
    every way goes through a button or switch, `buttons.switch_no_pull`.
    """
    for net in survey.netlist.nets:
        readers, drivers = survey.readers(net), survey.drivers(net)
        if not readers or not drivers or net.rail is not None or survey.leaves_board(net):
            continue
        levels = {driver.passes for driver in drivers}
        switched = all(controls_of(path) for driver in drivers for path in driver.paths)
        if len(levels) != 1 or "both" in levels or switched:
            continue
        high = "high" in levels
        if any(_pulls(survey, net, high=not high)):
            continue
        yield _finding(survey, net, readers, high=high)


def _pulls(survey: Survey, net: Net, *, high: bool) -> Iterator[bool]:
    """For each resistor from which the net could get that level, whether it does."""
    for pull in survey.plans[net.index].pulls:
        rail = survey.netlist.nets[pull.end].rail
        if pull.passes == ("low" if high else "high"):
            continue
        yield rail is None or (rail > 0) == high


def _finding(survey: Survey, net: Net, readers: tuple[Pin, ...], *, high: bool) -> Finding:
    level, missing = ("high", "pull-down") if high else ("low", "pull-up")
    diodes = [
        diode.part
        for diode in survey.netlist.diodes
        if (diode.cathode if high else diode.anode) == net.index
    ]
    families = [survey.family(pin) for pin in readers]
    bipolar = all(family is not None and family.bipolar for family in families)
    what = listed(diodes) if diodes else "the diodes behind it"
    one = len(readers) == 1
    to = "GND" if high else "VCC"
    ohms = "1k to 10k; 2k at most for an LS input" if high else "1k to 10k"
    return Finding(
        code="diode-no-pull",
        severity=Severity.WARNING if bipolar and not high else Severity.ERROR,
        message=f"net '{net.name}' has no {missing}: {what} can only bring a {level}, and "
        f"{listed([called(pin) for pin in readers])} {'reads' if one else 'read'} it",
        net=net.name,
        pins=tuple(pin.label for pin in readers),
        span=net.span,
        hint=f"Put a resistor from '{net.name}' to {to} ({ohms}).",
    )
