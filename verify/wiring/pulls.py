"""Rules of resistors and lamps: pulls that are too weak, LEDs that have no resistor."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.families import Family
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import Pull
from breadproof.specs.netlist.model import Lamp, Net, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, milliamps, ohms, volts
from breadproof.verify.wiring.survey import Survey

LOWEST_SUPPLY = 0.95
"""The supply at the low end of a 5 % tolerance, as `drive.strong_enough` takes it."""


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
    inputs: list[tuple[Pin, Family]] = []
    for pin in survey.readers(net):
        family = survey.family(pin)
        if family is not None:
            inputs.append((pin, family))
    rail = survey.netlist.nets[pull.end]
    current = sum(family.i_ih if up else family.i_il for _, family in inputs)
    least = min(family.v_il for _, family in inputs)
    most = max(family.v_ih for _, family in inputs)
    start = LOWEST_SUPPLY * (rail.rail or 0.0)
    room = start - most if up else least
    moved = volts(_level(start, pull.ohms, current, up))
    limit = f"{volts(most)} at least for a high" if up else f"{volts(least)} at most for a low"
    one = len(inputs) == 1
    return Finding(
        code="pull-weak",
        severity=Severity.ERROR,
        message=f"{listed(pull.parts)} ({ohms(pull.ohms)}) cannot pull net '{net.name}' "
        f"{'up' if up else 'down'} to '{rail.name}': "
        f"{listed([called(pin) for pin, _ in inputs])} may {'take' if up else 'give'} "
        f"{milliamps(current)}{'' if one else ' together'}, which "
        f"{'drops' if up else 'lifts'} the net to {moved}; "
        f"{'it needs' if one else 'they need'} {limit}",
        net=net.name,
        pins=tuple(pin.label for pin, _ in inputs),
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
    """An LED whose both ends reach a rail or an output with no resistor on the way."""
    lit = _Currents(survey)
    for lamp in survey.netlist.lamps:
        if not (lit.stiff(lamp.anode, lamp, up=True) and lit.stiff(lamp.cathode, lamp, up=False)):
            continue
        part = survey.parts[lamp.part]
        pins = [
            pin
            for pin in part.pins
            if pin.net in (lamp.anode, lamp.cathode) and _of_lamp(lamp, pin, part.ways)
        ]
        anode, cathode = (survey.netlist.nets[end].name for end in (lamp.anode, lamp.cathode))
        yield Finding(
            code="led-no-resistor",
            severity=Severity.ERROR,
            message=f"LED {lamp.name} has no resistor: nothing limits the current from "
            f"'{anode}' to '{cathode}'",
            net=anode,
            pins=tuple(pin.label for pin in pins),
            span=pins[0].span if pins else part.span,
            hint="Put 220 ohm to 1k in series with it, on either side.",
        )


def _of_lamp(lamp: Lamp, pin: Pin, ways: int) -> bool:
    """Whether a pin belongs to this lamp of an LED bar; an LED has only its own."""
    if not lamp.name.endswith("]"):
        return True
    number = int(lamp.name[lamp.name.rindex("[") + 1 : -1])
    return pin.number in (str(number), str(2 * ways + 1 - number))


class _Currents:
    """Where a current can go from a net without passing a resistor."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        count = len(survey.netlist.nets)
        self.contacts: list[list[int]] = [[] for _ in range(count)]
        for contact in survey.netlist.contacts:
            self.contacts[contact.a].append(contact.b)
            self.contacts[contact.b].append(contact.a)
        self.from_anode: list[list[Lamp]] = [[] for _ in range(count)]
        self.from_cathode: list[list[Lamp]] = [[] for _ in range(count)]
        for lamp in survey.netlist.lamps:
            self.from_anode[lamp.anode].append(lamp)
            self.from_cathode[lamp.cathode].append(lamp)

    def stiff(self, net: int, but: Lamp, *, up: bool) -> bool:
        """Whether the net reaches what holds a level hard: through contacts, and through further
        LEDs in the direction in which the current flows (``up``: towards the supply)."""
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
            if up:
                stack.extend(lamp.anode for lamp in self.from_cathode[here] if lamp is not but)
            else:
                stack.extend(lamp.cathode for lamp in self.from_anode[here] if lamp is not but)
        return False

    def _holds(self, net: Net, *, up: bool) -> bool:
        if net.rail is not None:
            return (net.rail > 0) == up
        return any(
            pin.kind.drives and not (up and pin.kind is PinKind.OPEN_COLLECTOR) for pin in net.pins
        )
