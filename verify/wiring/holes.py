"""Rules of breadboards: wires one hole off, rails that nobody feeds, supplies that meet."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field

from breadproof.specs.breadboard.geometry import Hole, Joined, Rail, Tie
from breadproof.specs.breadboard.model import Layout, Leg, Wire, joined
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Net
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

SHOWN = 6
"""So many pins that stand on a rail are named."""


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
    """Rails, or halves of some, that something stands on and no supply reaches; those that wires
    join are told together."""
    for net, rails in unfed(survey).items():
        pins = survey.netlist.nets[net].pins
        names = listed([rail.label for rail in rails])
        shown = [called(pin) for pin in pins[:SHOWN]]
        if len(pins) > SHOWN:
            shown.append(f"{len(pins) - SHOWN} more")
        driving = [called(pin) for pin in pins if pin.kind.drives]
        also = f", and {listed(driving)} {'is' if len(driving) == 1 else 'are'} joined to "
        also += "it" if len(rails) == 1 else "them"
        rail = rails[0]
        supply = "VCC" if rail.sign == "+" else "GND"
        yield Finding(
            code="rail-unfed",
            severity=Severity.ERROR,
            message=f"{'rail' if len(rails) == 1 else 'rails'} {names} "
            f"{'is' if len(rails) == 1 else 'are'} joined to no supply: {listed(shown)}"
            f" {'stands' if len(pins) == 1 else 'stand'} on "
            f"{'it' if len(rails) == 1 else 'them'}{also if driving else ''}",
            net=survey.netlist.nets[net].name,
            pins=tuple(pin.label for pin in pins),
            span=pins[0].span,
            hint="This rail is broken in the middle: bridge its halves with a wire."
            if rail.half
            else f"Join it to a supply: '{supply} to {rail.label}'.",
        )


def unfed(survey: Survey) -> dict[int, list[Rail]]:
    """Nets that no supply reaches, with the rails that are on them; not those in use as signals.

    Where several chips have their supply from a rail, an output on it does not make it a signal.
    """
    found: dict[int, list[Rail]] = {}
    for rail, net in _rails(survey, _Bench.of(survey.netlist.layout)).items():
        if net is None or net.rail is not None or not net.pins:
            continue
        chips = sum(pin.kind in (PinKind.SUPPLY, PinKind.GROUND) for pin in net.pins)
        if chips > 1 or not any(pin.kind.drives for pin in net.pins):
            found.setdefault(net.index, []).append(rail)
    return {net: sorted(rails, key=lambda rail: rail.label) for net, rails in found.items()}


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
            wires = _between(survey, net, (net.name, name))
            told = listed([f"{_ends(wire)} in line {wire.span.line}" for wire in wires])
            yield Finding(
                code="supplies-joined",
                severity=Severity.ERROR,
                message=f"'{net.name}' ({net.rail:g} V) and '{name}' ({volts[name]:g} V) are one "
                "net: the supply is shorted",
                net=net.name,
                pins=tuple(pin.label for pin in net.pins[:8]),
                span=wires[0].span if wires else net.span,
                hint=f"They meet by way of {told}: find what is wrong there before power goes on."
                if wires
                else "Find the wire between them before power goes on.",
            )


def _ends(wire: Wire) -> str:
    return " to ".join(end.label for end in wire.ends)


Node = Joined | str
"""What is one piece of metal: under holes, a rail, or a pin or net by name."""


def _between(survey: Survey, net: Net, names: tuple[str, str]) -> list[Wire]:
    """The fewest wires that lead from one supply to another on a net that is both: from their
    names, or from the chips' pins for them. Empty if there are none."""
    layout, volts = survey.netlist.layout, dict(survey.netlist.rails)
    where: dict[str, Node] = {leg.pin.label: joined(leg.place) for leg in layout.legs}
    ends: list[set[Node]] = []
    for name in names:
        kind = PinKind.GROUND if volts[name] == 0.0 else PinKind.SUPPLY
        labels = [pin.label for pin in net.pins if pin.kind is kind]
        ends.append({name, *(where.get(label, label) for label in labels)})
    wires: dict[Node, list[tuple[Wire, Node]]] = {}
    for wire in layout.wires:
        one, other = (
            joined(end) if isinstance(end, Hole | Rail) else where.get(end.label, end.label)
            for end in wire.ends
        )
        wires.setdefault(one, []).append((wire, other))
        wires.setdefault(other, []).append((wire, one))
    ways: dict[Node, list[Wire]] = {node: [] for node in sorted(ends[0], key=repr)}
    queue = deque(ways)
    while queue:
        node = queue.popleft()
        if node in ends[1]:
            return ways[node]
        for wire, further in wires.get(node, ()):
            if further not in ways:
                ways[further] = [*ways[node], wire]
                queue.append(further)
    return []
