"""Rules of resistors and lamps: pulls that are too weak, LEDs that have no resistor."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.netlist.drive import Pull
from breadproof.specs.netlist.loads import LOWEST, load_of
from breadproof.specs.netlist.model import Lamp, Net
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, milliamps, ohms, volts
from breadproof.verify.wiring.survey import Survey


def pull_weak(survey: Survey) -> Iterator[Finding]:
    """A resistor to a rail that leaves the inputs on its net between high and low."""
    for net in survey.netlist.nets:
        if not survey.readers(net) or net.rail is not None or survey.always_driven(net):
            continue
        pulls = survey.pulls(net)
        for up in (True, False):
            towards = [pull for pull in pulls if _rail_is(survey, pull, up)]
            if towards and not any(pull.high if up else pull.low for pull in towards):
                yield _weak(survey, net, towards[0], up)


def _rail_is(survey: Survey, pull: Pull, up: bool) -> bool:
    rail = survey.netlist.nets[pull.end].rail
    return rail is not None and (rail > 0) == up


def _weak(survey: Survey, net: Net, pull: Pull, up: bool) -> Finding:
    load = load_of(survey.netlist, survey.parts, net.pins)
    rail = survey.netlist.nets[pull.end]
    current = load.high if up else load.low
    pins = load.takers if up else load.givers
    start = LOWEST * (rail.rail or 0.0)
    room = start - load.v_ih if up else load.v_il
    moved = volts(_level(start, pull.ohms, current, up))
    limit = (
        f"{volts(load.v_ih)} at least for a high" if up else f"{volts(load.v_il)} at most for a low"
    )
    one = len(pins) == 1
    asking = "it needs" if one else "they need"
    if pins != load.readers:
        asking = f"{listed([called(pin) for pin in load.readers])} "
        asking += "needs" if len(load.readers) == 1 else "need"
    return Finding(
        code="pull-weak",
        severity=Severity.ERROR,
        message=f"{listed(pull.parts)} ({ohms(pull.ohms)}) cannot pull net '{net.name}' "
        f"{'up' if up else 'down'} to '{rail.name}': "
        f"{listed([called(pin) for pin in pins])} may {'take' if up else 'give'} "
        f"{milliamps(current)}{'' if one else ' together'}, which "
        f"{'drops' if up else 'lifts'} the net to {moved}; "
        f"{asking} {limit}",
        net=net.name,
        pins=tuple(pin.label for pin in pins),
        span=survey.parts[pull.parts[0]].span,
        hint=f"Use {ohms(_rounded(room / current))} or less."
        if room > 0
        else "No resistor can hold that level here: drive the net.",
    )


def _level(start: float, resistance: float, current: float, up: bool) -> float:
    drop = resistance * current
    return max(0.0, start - drop) if up else min(drop, 5.0)


def _rounded(value: float) -> float:
    """Rounded down to two significant digits, so that what is advised is always enough."""
    scale = 1.0
    while value / scale >= 100:
        scale *= 10
    return int(value / scale + 1e-9) * scale


def led_no_resistor(survey: Survey) -> Iterator[Finding]:
    """An LED whose both ends reach a rail or an output with no resistor on the way.

    The segments of one display are told of together.
    """
    lit = _Currents(survey)
    bare = [
        lamp
        for lamp in survey.netlist.lamps
        if lit.stiff(lamp.anode, lamp, up=True) and lit.stiff(lamp.cathode, lamp, up=False)
    ]
    displays: dict[str, list[Lamp]] = {}
    for lamp in bare:
        if survey.parts[lamp.part].device == "display":
            displays.setdefault(lamp.part, []).append(lamp)
            continue
        yield _bare(survey, [lamp], f"LED {lamp.name} has no resistor")
    for name, lamps in displays.items():
        letters = [lamp.name.partition("[")[2].removesuffix("]") for lamp in lamps]
        which = f"segment{'' if len(lamps) == 1 else 's'} {listed(letters)} of {name}"
        yield _bare(survey, lamps, f"{which} {'has' if len(lamps) == 1 else 'have'} no resistor")


def _bare(survey: Survey, lamps: list[Lamp], what: str) -> Finding:
    first = lamps[0]
    anode, cathode = (survey.netlist.nets[end].name for end in (first.anode, first.cathode))
    part = survey.parts[first.part]
    pins = dict.fromkeys(label for lamp in lamps for label in lamp.pins)
    one = part.pin(next(iter(pins)).rpartition(".")[2])
    return Finding(
        code="led-no-resistor",
        severity=Severity.ERROR,
        message=f"{what}: nothing limits the current from '{anode}' to '{cathode}'"
        if len(lamps) == 1
        else f"{what}: nothing limits their current",
        net=anode,
        pins=tuple(label for label in pins),
        span=one.span if one else part.span,
        hint="Put 220 ohm to 1k in series with it, on either side."
        if len(lamps) == 1
        else "Put 220 ohm to 1k in series with each of them (one in the common pin makes the "
        "brightness change with the digit).",
    )


class _Currents:
    """Where a current can go from a net without passing a resistor."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        count = len(survey.netlist.nets)
        self.contacts: list[list[int]] = [[] for _ in range(count)]
        joined = [(contact.a, contact.b) for contact in survey.netlist.contacts]
        joined += [(link.a, link.b) for link in survey.netlist.links]
        for a, b in joined:
            self.contacts[a].append(b)
            self.contacts[b].append(a)
        self.to_anode: list[list[int]] = [[] for _ in range(count)]
        self.to_cathode: list[list[int]] = [[] for _ in range(count)]
        for diode in survey.netlist.diodes:
            self.to_anode[diode.cathode].append(diode.anode)
            self.to_cathode[diode.anode].append(diode.cathode)
        self.from_anode: list[list[Lamp]] = [[] for _ in range(count)]
        self.from_cathode: list[list[Lamp]] = [[] for _ in range(count)]
        for lamp in survey.netlist.lamps:
            self.from_anode[lamp.anode].append(lamp)
            self.from_cathode[lamp.cathode].append(lamp)

    def stiff(self, net: int, but: Lamp, *, up: bool) -> bool:
        """Whether the net reaches what holds a level hard.

        Through contacts, and through diodes and further LEDs in the direction in which the current
        flows (``up``: towards the supply).
        """
        seen: set[int] = set()
        stack = [net]
        while stack:
            here = stack.pop()
            if here in seen:
                continue
            seen.add(here)
            if self._holds(self.survey.netlist.nets[here], up=up):
                return True
            if self.survey.netlist.nets[here].rail is not None:
                continue
            stack.extend(self.contacts[here])
            stack.extend((self.to_anode if up else self.to_cathode)[here])
            if up:
                stack.extend(lamp.anode for lamp in self.from_cathode[here] if lamp is not but)
            else:
                stack.extend(lamp.cathode for lamp in self.from_anode[here] if lamp is not but)
        return False

    def _holds(self, net: Net, *, up: bool) -> bool:
        if net.rail is not None:
            return (net.rail > 0) == up
        return any(pin.kind.drives and not (up and pin.kind.sinks) for pin in net.pins)
