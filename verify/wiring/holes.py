"""Rules of breadboards: wires one hole off, rails that nobody feeds, supplies that meet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from breadproof.specs.breadboard.geometry import Hole, Joined, Rail, Tie
from breadproof.specs.breadboard.model import Layout, Leg, Wire, joined
from breadproof.specs.netlist.model import Net
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey


@dataclass(slots=True)
class _Bench:
    """What is in each half column and on each rail."""

    legs: dict[Joined, list[Leg]] = field(default_factory=dict)
    ends: dict[Joined, list[Wire]] = field(default_factory=dict)

    @classmethod
    def of(cls, layout: Layout) -> _Bench:
        bench = cls()
        for leg in layout.legs:
            bench.legs.setdefault(joined(leg.place), []).append(leg)
        for wire in layout.wires:
            for end in wire.ends:
                if isinstance(end, Hole | Rail):
                    bench.ends.setdefault(joined(end), []).append(wire)
        return bench


def wire_beside(survey: Survey) -> Iterator[Finding]:
    """A wire whose end is alone in its half column, while a chip's pin is one column on."""
    bench = _Bench.of(survey.netlist.layout)
    for wire in survey.netlist.layout.wires:
        for end in wire.ends:
            if not isinstance(end, Hole):
                continue
            tie = end.tie
            if tie in bench.legs or len(bench.ends[tie]) > 1:
                continue
            near = [
                leg
                for column in (tie.column - 1, tie.column + 1)
                for leg in bench.legs.get(Tie(tie.board, tie.side, column), ())
                if survey.parts[leg.pin.part].device == "chip"
            ]
            if near:
                yield _beside(survey, wire, end, near)


def _beside(survey: Survey, wire: Wire, end: Hole, near: list[Leg]) -> Finding:
    pins = [pin for leg in near if (pin := survey.parts[leg.pin.part].pin(leg.pin.number))]
    meant = listed([called(pin) for pin in pins], "or")
    return Finding(
        code="wire-beside",
        severity=Severity.WARNING,
        message=f"the wire in {end.label} is alone in its column: it probably means {meant}, "
        "one column beside it",
        net=None,
        pins=tuple(pin.label for pin in pins),
        span=wire.span,
        hint="Move it by one column, or put what it is for into this one.",
    )


def rail_unfed(survey: Survey) -> Iterator[Finding]:
    """A rail, or a half of one, that something stands on and no supply reaches."""
    bench = _Bench.of(survey.netlist.layout)
    for rail, net in _rails(survey, bench).items():
        if net is None or net.rail is not None:
            continue
        pins = [pin for pin in net.pins if not pin.kind.drives]
        if not pins or len(pins) < len(net.pins):
            continue  # a rail in use as a signal
        halves = rail.half != 0
        yield Finding(
            code="rail-unfed",
            severity=Severity.ERROR,
            message=f"rail {rail.label} is joined to no supply: {listed([called(p) for p in pins])}"
            f" {'stands' if len(pins) == 1 else 'stand'} on it",
            net=net.name,
            pins=tuple(pin.label for pin in pins),
            span=pins[0].span,
            hint="This rail is broken in the middle: bridge its halves with a wire."
            if halves
            else "Join it to a supply: 'VCC to b1.upper+'.",
        )


def _rails(survey: Survey, bench: _Bench) -> dict[Rail, Net | None]:
    """The net of each rail that a part's leg stands on."""
    found: dict[Rail, Net | None] = {}
    for place, legs in bench.legs.items():
        if isinstance(place, Rail):
            pin = survey.parts[legs[0].pin.part].pin(legs[0].pin.number)
            found[place] = None if pin is None else survey.net(pin)
    for place, wires in bench.ends.items():
        if isinstance(place, Rail) and place not in found:
            found[place] = next((n for w in wires if (n := _net_of(survey, bench, w))), None)
    return found


def _net_of(survey: Survey, bench: _Bench, wire: Wire) -> Net | None:
    """The net of a wire, by a pin in a hole at one of its ends."""
    for end in wire.ends:
        if isinstance(end, Hole):
            for leg in bench.legs.get(end.tie, ()):
                pin = survey.parts[leg.pin.part].pin(leg.pin.number)
                if pin is not None:
                    return survey.net(pin)
    return None


def supplies_joined(survey: Survey) -> Iterator[Finding]:
    """Two supplies, or a supply and ground, that wires make one net."""
    netlist = survey.netlist
    volts = dict(netlist.rails)
    for name, index in netlist.aliases:
        net = netlist.nets[index]
        if name in volts and net.rail is not None and volts[name] != net.rail:
            yield Finding(
                code="supplies-joined",
                severity=Severity.ERROR,
                message=f"'{net.name}' ({net.rail:g} V) and '{name}' ({volts[name]:g} V) are one "
                "net: the supply is shorted",
                net=net.name,
                pins=tuple(pin.label for pin in net.pins[:8]),
                span=net.span,
                hint="Find the wire between them before power goes on.",
            )
