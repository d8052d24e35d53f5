"""Rules of buttons and switches: nothing that pulls, nothing that debounces."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import assert_never

import networkx as nx

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.machine.machine import StrobeKind
from breadproof.specs.netlist.drive import Closed
from breadproof.specs.netlist.model import Contact, Control, Net, Part, Pin
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

MAX_STATES = 4096
"""More positions of the switches on one net than these are not tried."""
DEBOUNCING = 1e-3
"""Seconds: a resistor and a capacitor of this product are meant to debounce (common practice)."""


def switch_no_pull(survey: Survey) -> Iterator[Finding]:
    """A net that is driven through contacts only, and floats in some position of the switches."""
    for net in survey.netlist.nets:
        readers = survey.readers(net)
        drivers = survey.drivers(net)
        if not readers or not drivers or survey.leaves_board(net):
            continue
        if any(() in driver.paths for driver in drivers):
            continue
        ways = [path for driver in drivers for path in driver.paths]
        ways += [pull.closed for pull in survey.pulls(net)]
        open_state = _floating_state(survey, ways)
        if open_state is not None:
            yield _floating(survey, net, readers, open_state)


def _floating(survey: Survey, net: Net, readers: tuple[Pin, ...], state: str) -> Finding:
    families = [survey.family(pin) for pin in readers]
    bipolar = all(family is not None and family.bipolar for family in families)
    lows = any(not driver.high for driver in survey.drivers(net))
    if not bipolar:
        reads = "reads anything and changes when a finger comes near"
    elif lows:
        reads = "reads high only as an open bipolar input does, with no margin against noise"
    else:
        reads = "reads high all the same, so the switch does nothing"
    pull = "down to GND (2k at most for LS)" if not lows else "up to VCC (1k to 10k)"
    return Finding(
        code="switch-no-pull",
        severity=Severity.WARNING if bipolar and lows else Severity.ERROR,
        message=f"net '{net.name}' floats while {state}: "
        f"{listed([called(pin) for pin in readers])} then {reads}",
        net=net.name,
        pins=tuple(pin.label for pin in readers),
        span=net.span,
        hint=f"Pull '{net.name}' {pull} with a resistor.",
    )


def _floating_state(survey: Survey, ways: list[tuple[Closed, ...]]) -> str | None:
    """A resting position of the switches in which no way is closed, in words; None if none."""
    names = list(dict.fromkeys(name for way in ways for name, _ in way))
    controls = [control for control in survey.netlist.controls if control.name in names]
    choices = [_resting(control) for control in controls]
    count = 1
    for choice in choices:
        count *= len(choice)
    if count > MAX_STATES:
        return None
    for state in product(*choices):
        closed = {(c.name, bit) for c, bit in zip(controls, state, strict=True) if bit is not None}
        if not any(closed.issuperset(way) for way in ways):
            words = [
                f"{c.name} is {'open' if bit is None else 'at ' + _position(c, bit)}"
                if c.kind == "changeover" or bit is None
                else f"{c.name} is closed"
                for c, bit in zip(controls, state, strict=True)
            ]
            return listed(words)
    return None


def _resting(control: Control) -> tuple[int | None, ...]:
    """Which bit is true when nobody is moving the switch; None: none is."""
    return (0, 1) if control.kind == "changeover" else (None, 0)


def _position(control: Control, bit: int) -> str:
    return control.bits[bit].rpartition(".")[2]


def switch_bounces(survey: Survey) -> Iterator[Finding]:
    """A contact that reaches a clock, clear, preset, load, latch or write pin undebounced."""
    paths = _Paths(survey)
    for part in survey.netlist.parts:
        contacts = [c for c in survey.netlist.contacts if _is_of(c, part.name)]
        starts = list(dict.fromkeys(net for c in contacts for net in (c.a, c.b)))
        for reached in paths.strobes_from(starts):
            pin, kind = reached.pin, reached.kind
            net = survey.net(pin)
            ends = [c for c in contacts if reached.start in (c.a, c.b)]
            through = (
                f" through {listed(list(dict.fromkeys(reached.chain)))}" if reached.chain else ""
            )
            name = part.name if part.device != "dip-switch" else ends[0].control
            yield Finding(
                code="switch-bounces",
                severity=Severity.WARNING,
                message=f"{name} reaches the {kind} pin {called(pin)}{through} with nothing "
                f"to debounce it: {_seen(kind, part)}",
                net=net.name if net else None,
                pins=(pin.label, *dict.fromkeys(label for c in ends for label in c.pins)),
                span=pin.span,
                hint="Debounce it with a change-over switch and a latch of two NAND gates, or "
                "take it in through a flip-flop whose clock is slower than the bounce (20 ms).",
            )


def _is_of(contact: Contact, part: str) -> bool:
    return contact.control == part or contact.control.startswith(f"{part}[")


def _seen(kind: StrobeKind, part: Part) -> str:
    one = "one press" if part.device == "push-button" else "one throw"
    match kind:
        case "clock":
            return f"{one} counts several times"
        case "write":
            return f"{one} writes several times"
        case "latch":
            return f"{one} opens the latch several times"
        case "load":
            return f"{one} loads several times"
        case "program":
            return f"{one} programs the chip"
        case "through":
            return f"{one} passes several pulses on"
        case "clear" | "preset":
            return f"{one} gives several {kind}s, the last of them while others run on"
        case _:
            assert_never(kind)


@dataclass(frozen=True, slots=True)
class _Reached:
    """A pin that a contact's net ``start`` reaches through the chips ``chain``."""

    pin: Pin
    kind: StrobeKind
    start: int
    chain: tuple[str, ...]


class _Paths:
    """Ways from nets through combinational logic to pins at which storage changes."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.strobes: dict[int, list[tuple[Pin, StrobeKind]]] = {}
        self.steps: dict[int, list[tuple[int, str]]] = {}
        loops: nx.DiGraph[int] = nx.DiGraph()
        for part in survey.chips:
            chip = survey.chip(part)
            kinds = chip.strobes()
            for pin in part.pins:
                if pin.number in kinds and pin.net is not None:
                    self.strobes.setdefault(pin.net, []).append((pin, kinds[pin.number]))
            for output in chip.drives:
                self._add_output(part.pin(output), chip.through_logic(output), kinds, loops)
        self.latched = {
            net
            for group in nx.strongly_connected_components(loops)
            if len(group) > 1
            for net in group
        } | set(nx.nodes_with_selfloops(loops))
        self.resistors: dict[int, list[int]] = {}
        for resistor in survey.netlist.resistors:
            self.resistors.setdefault(resistor.a, []).append(resistor.b)
            self.resistors.setdefault(resistor.b, []).append(resistor.a)

    def _add_output(
        self,
        output: Pin | None,
        inputs: tuple[str, ...],
        strobes: dict[str, StrobeKind],
        loops: nx.DiGraph[int],
    ) -> None:
        if output is None or output.net is None:
            return
        part = self.survey.part(output)
        for number in inputs:
            pin = part.pin(number)
            if pin is None or pin.net is None or number in strobes:
                continue
            self.steps.setdefault(pin.net, []).append((output.net, part.name))
            if PinKind.BIDIRECTIONAL not in (pin.kind, output.kind):
                loops.add_edge(pin.net, output.net)

    def strobes_from(self, starts: list[int]) -> list[_Reached]:
        """The pins reached from contacts' nets, the nearest first."""
        found: list[_Reached] = []
        seen: set[int] = set()
        queue: deque[tuple[int, int, tuple[str, ...]]] = deque(
            (net, net, ()) for net in starts if self._bounces(self.survey.netlist.nets[net])
        )
        while queue:
            net, start, chain = queue.popleft()
            if net in seen:
                continue
            seen.add(net)
            found += [_Reached(pin, kind, start, chain) for pin, kind in self.strobes.get(net, ())]
            for following, part in self.steps.get(net, ()):
                if following not in self.latched:
                    queue.append((following, start, (*chain, part)))
            for other in self.resistors.get(net, ()) if not chain else ():
                if self._bounces(self.survey.netlist.nets[other]):
                    queue.append((other, start, chain))
        return found

    def _bounces(self, net: Net) -> bool:
        """Whether a contact decides the net's level: no supply, no output, no RC on it."""
        if net.rail is not None or any(pin.kind.drives for pin in net.pins):
            return False
        port = self.survey.ports.get(net.index)
        return (port is None or port.direction == "out") and not self._filtered(net)

    def _filtered(self, net: Net) -> bool:
        """Whether a capacitor to ground or supply makes 1 ms or more with the net's resistors."""
        farads = 0.0
        for pin in net.pins:
            part = self.survey.part(pin)
            if part.device == "capacitor":
                farads += part.value or 0.0
        resistance = max((pull.ohms for pull in self.survey.plans[net.index].pulls), default=0.0)
        return farads * resistance >= DEBOUNCING
