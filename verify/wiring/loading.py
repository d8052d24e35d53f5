"""Rules of load: what hangs on an output against what the output guarantees.

One sum for each output and level: the inputs on its net (through contacts too), the pull resistors
against it and the lamps. What breaks the limit gives the finding its code: the inputs alone
(``fan-out``), a pull beside them (``pull-strong``), or lamps beside both (``led-loads``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from weakref import WeakKeyDictionary

from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.loads import HIGHEST, LOWEST
from breadproof.specs.netlist.model import Net, Part, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed, milliamps, ohms, volts
from breadproof.verify.wiring.hanging import Branch, Hanging, parallel
from breadproof.verify.wiring.pulledlamps import pulled_lamps
from breadproof.verify.wiring.survey import Survey

MOST_AMPERES = {
    "HC": 25e-3, "HCT": 25e-3, "AHC": 25e-3, "AHCT": 25e-3, "AC": 50e-3, "ACT": 50e-3,
    "LVC": 50e-3, "4000B": 10e-3,
}  # fmt: skip
"""What a CMOS output bears (absolute maximum ratings of the data books, from memory)."""
_MUCH = 2.0
"""A lamp may ask a bipolar output for this many times what it guarantees before a note is made
(common practice: the books have no highest current for a low)."""
_EXACT = 1.0 + 1e-6
_4000_POINTS = ((5.0, 0.36), (10.0, 0.9), (15.0, 2.4))
"""Volts of supply, and milliamperes of an output of the 4000 series (JEDEC standard 13-B, at 85
degrees, from memory); at 10 V and 15 V its low is higher, which is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What is asked of an output at one level, in amperes; ``limit`` is given at ``volts``."""

    pin: Pin
    part: Part
    limits: Limits
    high: bool
    volts: float
    limit: float
    inputs: float
    askers: tuple[Pin, ...]
    readers: tuple[Pin, ...]
    pulls: tuple[Branch, ...]
    lamps: tuple[Branch, ...]

    @property
    def pulled(self) -> float:
        return sum(branch.current(self.volts, up=self.high) for branch in self.pulls)

    @property
    def lit(self) -> float:
        return sum(branch.current(self.volts, up=self.high) for branch in self.lamps)

    @property
    def total(self) -> float:
        return self.inputs + self.pulled + (self.lit if self.readers else 0.0)

    @property
    def ratio(self) -> float:
        """How many times too much it is."""
        return self.total / self.limit if self.limit else float("inf")

    @property
    def code(self) -> str:
        """The rule that it breaks, or none: ""."""
        most = self.limit * _EXACT
        if self.inputs + min(0.0, self.pulled) > most:
            return "fan-out"
        if self.inputs + self.pulled > most:
            return "pull-strong"
        if self.total > most or (not self.readers and self.lit > self.bearable * _EXACT):
            return "led-loads"
        return ""

    @property
    def bearable(self) -> float:
        """What a lamp that nothing else reads may take."""
        return MOST_AMPERES.get(self.part.family.name if self.part.family else "", self.much)

    @property
    def much(self) -> float:
        return _MUCH * self.limit if not self.high else float("inf")


def fan_out(survey: Survey) -> Iterator[Finding]:
    """More inputs on an output than it can drive."""
    yield from _told(survey, "fan-out")


def pull_strong(survey: Survey) -> Iterator[Finding]:
    """A pull resistor that an output cannot pull against."""
    yield from _told(survey, "pull-strong")


def led_loads(survey: Survey) -> Iterator[Finding]:
    """A lamp that takes an output's level from those who read it, or more than it bears."""
    yield from _told(survey, "led-loads")
    yield from pulled_lamps(survey, Hanging(survey))


def _told(survey: Survey, code: str) -> Iterator[Finding]:
    """The worst output of each net that breaks this rule; the others are named with it."""
    if survey not in _FOUND:
        _FOUND[survey] = _Loading(survey).broken
    for net, found in _FOUND[survey]:
        own = [asked for asked in found if asked.code == code]
        if own:
            worst = max(own, key=lambda asked: asked.ratio)
            others = tuple(dict.fromkeys(a.pin.label for a in own if a.pin != worst.pin))
            yield _finding(survey, net, worst, others)


_FOUND: WeakKeyDictionary[Survey, list[tuple[Net, list[_Asked]]]] = WeakKeyDictionary()
"""What is found is found once for the three rules of a survey."""


class _Loading:
    """What is asked of all outputs of a board."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.hanging = Hanging(survey)

    @property
    def broken(self) -> list[tuple[Net, list[_Asked]]]:
        """The nets of which an output is asked too much."""
        nets = (net for net in self.survey.netlist.nets if net.rail is None)
        return [(net, found) for net in nets if (found := self.of_net(net))]

    def of_net(self, net: Net) -> list[_Asked]:
        """Those of a net's outputs of which too much is asked."""
        outputs = [
            (pin, self.survey.part(pin), limits)
            for pin in net.pins
            if pin.kind.drives and (limits := self.survey.part(pin).limits) is not None
        ]
        if not outputs:
            return []
        found: list[_Asked] = []
        for high in (False, True):
            nets = self.nets(net, high=high)
            pins = [one for index in nets for one in self.hanging.loads(index)]
            branches = self.hanging.branches(nets, _rail, up=high)
            for pin, part, limits in outputs:
                if high and pin.kind.sinks:
                    continue
                asked = self.asked((pin, part, limits), pins, branches, high=high)
                if asked.code:
                    found.append(asked)
        return found

    def nets(self, net: Net, *, high: bool) -> tuple[int, ...]:
        own = self.hanging.linked(net.index)

        def weight(index: int) -> float:
            return sum(one[2] if high else one[1] for one in self.hanging.loads(index))

        return (*own, *self.hanging.joined(net.index, weight))

    def asked(
        self,
        output: tuple[Pin, Part, Limits],
        pins: list[tuple[Pin, float, float]],
        branches: list[Branch],
        *,
        high: bool,
    ) -> _Asked:
        pin, part, limits = output
        supply = HIGHEST * self.survey.netlist.volts(part)
        if pin.kind.sinks:
            sink = limits.sink(pin.name)
            level, limit = sink.v_ol, sink.i_ol
        else:
            drive = limits.drive(pin.name)
            level = drive.high(supply) if high else drive.v_ol
            limit = drive.i_oh if high else drive.i_ol
            if limits.family.name == "4000B":
                limit *= _more_of_4000(self.survey.netlist.volts(part))
        others = [one for one in pins if one[0] != pin]
        currents = [(one[0], one[2] if high else one[1]) for one in others]
        return _Asked(
            pin=pin,
            part=part,
            limits=limits,
            high=high,
            volts=level,
            limit=limit,
            inputs=sum(current for _, current in currents),
            askers=tuple(asker for asker, current in currents if current),
            readers=tuple(one[0] for one in others if one[0].kind.reads),
            pulls=tuple(branch for branch in branches if not branch.lamps),
            lamps=tuple(branch for branch in branches if branch.lamps),
        )


def _more_of_4000(supply: float) -> float:
    """How many times more than at 5 V an output of the 4000 series gives at a higher supply."""
    (first, least), *_ = _4000_POINTS
    for (v0, low), (v1, high) in pairwise(_4000_POINTS):
        if v0 <= supply <= v1:
            return (low + (supply - v0) / (v1 - v0) * (high - low)) / least
    return 1.0 if supply < first else _4000_POINTS[-1][1] / least


def _rail(net: Net) -> float | None:
    """A supply at its highest, which asks most of an output that is low; a ground."""
    return None if net.rail is None else HIGHEST * net.rail


def _finding(survey: Survey, net: Net, asked: _Asked, others: tuple[str, ...]) -> Finding:
    if asked.code == "fan-out":
        what, hint = _inputs(asked), "Share the inputs out, or put a buffer (a 244, 541) between."
    elif asked.code == "pull-strong":
        what, hint = _pulls(asked)
    else:
        what, hint = _lamps(asked)
    pins = (asked.pin.label, *others, *(pin.label for pin in asked.askers))
    return Finding(
        code=asked.code,
        severity=_severity(survey, asked),
        message=f"{called(asked.pin)}, a {asked.part.printed}, {what}",
        net=net.name,
        pins=tuple(dict.fromkeys(pins)),
        span=asked.pin.span,
        hint=hint,
    )


def _limit(asked: _Asked) -> str:
    verb = "gives" if asked.high else "sinks"
    return f"it {verb} {milliamps(asked.limit)} at {volts(asked.volts)}"


def _verb(asked: _Asked) -> str:
    return "give" if asked.high else "sink"


def _inputs(asked: _Asked) -> str:
    count = len(asked.readers)
    rest = len(asked.askers) - len([pin for pin in asked.askers if pin in asked.readers])
    more = f" and {rest} output{'' if rest == 1 else 's'} that let go" if rest else ""
    return (
        f"drives {count} input{'' if count == 1 else 's'}{more}: {milliamps(asked.inputs)} while "
        f"{'high' if asked.high else 'low'}; {_limit(asked)}"
    )


def _pulls(asked: _Asked) -> tuple[str, str]:
    opposing = [b for b in asked.pulls if b.current(asked.volts, up=asked.high) > 0]
    whole = parallel(opposing)
    assert whole is not None
    helping = asked.pulled - whole.current(asked.volts, up=asked.high)
    beside = asked.inputs + helping
    room = asked.limit - beside
    names = listed(whole.parts)
    what = (
        f"is to {_verb(asked)} {milliamps(asked.inputs + asked.pulled)} against {names} "
        f"({ohms(whole.ohms)}{' together' if len(opposing) > 1 else ''}): {_limit(asked)}"
    )
    least = abs(asked.volts - whole.volts) / room if room > 0 else None
    return what, (
        "Take a stronger output: nothing is left for a pull."
        if least is None
        else f"Use {ohms(_rounded_up(least))} or more{' together' if len(opposing) > 1 else ''}."
    )


def _lamps(asked: _Asked) -> tuple[str, str]:
    whole = parallel(list(asked.lamps))
    assert whole is not None
    names = listed(list(dict.fromkeys(lamp.name for lamp in whole.lamps)))
    current = asked.lit + (asked.inputs + asked.pulled if asked.readers else 0.0)
    what = f"is to {_verb(asked)} {milliamps(current)} for {names}"
    if not asked.readers:
        bears = f"it bears {milliamps(asked.bearable)}"
        if asked.bearable == asked.much:
            bears = f"it guarantees {milliamps(asked.limit)}"
        return f"{what}: {bears}", "Use a larger resistor, or a driver for the lamp."
    who = listed([called(pin) for pin in asked.readers])
    room = asked.limit - asked.inputs - asked.pulled
    what += (
        f" and what else is on the net, which {who} "
        f"{'reads' if len(asked.readers) == 1 else 'read'}: {_limit(asked)}"
    )
    hint = "Drive the lamp from an output of its own."
    if room > 0.1 * asked.limit and len(asked.lamps) == 1:
        least = abs(asked.volts - whole.volts) / room
        hint = f"Use {ohms(_rounded_up(least))} or more, or drive the lamp from its own output."
    return what, hint


def _rounded_up(value: float) -> float:
    """Rounded up to two significant digits, so that what is advised is always enough."""
    scale = 1.0
    while value / scale >= 100:
        scale *= 10
    return -int(-(value / scale) // 1) * scale


def _severity(survey: Survey, asked: _Asked) -> Severity:
    """An error where a level is not guaranteed.

    A warning where a CMOS output, whose level goes with its load about as a resistor's (common
    practice), would still reach the level of all readers; of lamps that nothing else reads: where
    a CMOS output bears no more, else a note.
    """
    if asked.code == "led-loads" and not asked.readers:
        return Severity.NOTE if asked.bearable == asked.much else Severity.WARNING
    if asked.part.family is None or asked.pin.kind.sinks:
        return Severity.ERROR
    most = MOST_AMPERES.get(asked.part.family.name)
    drive = asked.limits.drive(asked.pin.name)
    if most is None or asked.total > most or drive.at is None:
        return Severity.ERROR
    netlist = survey.netlist
    lowest = LOWEST * netlist.volts(asked.part)
    lost = drive.at - drive.v_oh if asked.high else drive.v_ol
    lost *= asked.ratio
    for pin in asked.readers:
        part = survey.part(pin)
        if part.limits is not None:
            low, high = part.limits.inputs(pin.name).thresholds(netlist.volts(part))
            if lowest - lost < high if asked.high else lost > low:
                return Severity.ERROR
    return Severity.WARNING
