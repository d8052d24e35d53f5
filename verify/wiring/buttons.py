"""Rules of buttons and switches: nothing that pulls, nothing that debounces."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import assert_never

import networkx as nx

from breadproof.specs.machine.machine import StrobeKind
from breadproof.specs.machine.trace import control_text
from breadproof.specs.netlist.model import Contact, Control, ControlBit, Net, Part, Pin
from breadproof.specs.netlist.ways import controls_of
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.chips import Chip
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
        # A chip's switch may be closed whenever the chip likes.
        ways = [controls_of(path) for driver in drivers for path in driver.paths]
        ways += [controls_of(pull.closed) for pull in survey.pulls(net)]
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


def _floating_state(survey: Survey, ways: list[tuple[ControlBit, ...]]) -> str | None:
    """A resting position of the switches in which no way is closed, in words; None if none."""
    names = list(dict.fromkeys(bit.control for way in ways for bit in way))
    controls = [control for control in survey.netlist.controls if control.name in names]
    choices = [_resting(survey, control) for control in controls]
    count = 1
    for choice in choices:
        count *= len(choice)
    if count > MAX_STATES:
        return None
    for state in product(*choices):
        closed = {
            ControlBit(c.name, place)
            for c, bits in zip(controls, state, strict=True)
            for place, bit in enumerate(bits)
            if bit
        }
        if not any(closed.issuperset(way) for way in ways):
            stands = zip(controls, state, strict=True)
            return listed([_stands(survey, control, bits) for control, bits in stands])
    return None


def _resting(survey: Survey, control: Control) -> tuple[tuple[int, ...], ...]:
    """How the contacts are when nobody is moving the switch."""
    part = survey.parts[control.part] if control.part is not None else None
    if control.kind == "rotary" and part is not None:
        inverted = 15 if part.complement else 0
        codes = [position ^ inverted for position in range(part.ways)]
        return tuple(tuple(code >> place & 1 for place in (3, 2, 1, 0)) for code in codes)
    return ((1, 0), (0, 1)) if control.kind == "changeover" else ((0,), (1,))


def _stands(survey: Survey, control: Control, bits: tuple[int, ...]) -> str:
    if control.kind in ("changeover", "rotary"):
        return f"{control.name} is at {control_text(survey.netlist, control.name, bits)}"
    return f"{control.name} is {'closed' if bits[0] else 'open'}"


def switch_idle(survey: Survey) -> Iterator[Finding]:
    """A net that contacts and resistors bring one level, however the switches stand."""
    for net in survey.netlist.nets:
        drivers, pulls = survey.drivers(net), survey.pulls(net)
        if not survey.readers(net) or survey.leaves_board(net) or net.rail is not None:
            continue
        if any(one.kind != "rail" or () in one.paths for one in drivers) or not drivers:
            continue
        if len(pulls) != len(survey.plans[net.index].pulls):
            continue  # one leads to a net of no level of its own
        ends = [one.net for one in drivers] + [pull.end for pull in pulls]
        levels = {survey.netlist.nets[end].rail for end in ends}
        if None in levels or len({bool(level) for level in levels}) > 1:
            continue
        paths = [path for one in drivers for path in one.paths]
        ways = [controls_of(path) for path in [*paths, *(pull.closed for pull in pulls)]]
        if _floating_state(survey, ways) is None:
            yield _idle(survey, net, ways, [part for pull in pulls for part in pull.parts], ends)


def _idle(
    survey: Survey,
    net: Net,
    ways: list[tuple[ControlBit, ...]],
    resistors: list[str],
    ends: list[int],
) -> Finding:
    switches = list(dict.fromkeys(bit.control for way in ways for bit in way))
    rails = listed(list(dict.fromkeys(survey.netlist.nets[end].name for end in ends)))
    high = bool(survey.netlist.nets[ends[0]].rail)
    does = "does" if len(switches) == 1 else "do"
    why = f"its contacts all lead to {rails}"
    if resistors:
        why = f"it leads to {rails}, and so does {listed(list(dict.fromkeys(resistors)))}"
    return Finding(
        code="switch-idle",
        severity=Severity.WARNING,
        message=f"{listed(switches)} {does} nothing: net '{net.name}' is "
        f"{'high' if high else 'low'} all the same, for {why}",
        net=net.name,
        pins=tuple(pin.label for pin in survey.readers(net)),
        span=net.span,
        hint=f"Have the switch lead to {'GND' if high else 'VCC'}"
        f"{', or the resistor' if resistors else ' in one of its positions'}.",
    )


def switch_bounces(survey: Survey) -> Iterator[Finding]:
    """A contact that reaches a clock, clear, preset, load, latch or write pin undebounced."""
    paths = _Paths(survey)
    for part in survey.netlist.parts:
        if part.device == "jumper":
            continue  # it is plugged while power is off
        contacts = [c for c in survey.netlist.contacts if _is_of(c, part.name)]
        starts = [*(net for c in contacts for net in (c.a, c.b)), *_behind_diodes(survey, contacts)]
        for reached in paths.strobes_from(list(dict.fromkeys(starts))):
            pin, kind = reached.pin, reached.kind
            net = survey.net(pin)
            ends = [c for c in contacts if reached.start in (c.a, c.b)] or contacts
            through = (
                f" through {listed(list(dict.fromkeys(reached.chain)))}" if reached.chain else ""
            )
            name = part.name if part.device != "dip-switch" else _control(ends[0])
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


def _control(contact: Contact) -> str:
    """The control that closes a contact; none if a chip does."""
    return contact.closing.control if isinstance(contact.closing, ControlBit) else ""


def _is_of(contact: Contact, part: str) -> bool:
    control = _control(contact)
    return control == part or control.startswith(f"{part}[")


def _behind_diodes(survey: Survey, contacts: list[Contact]) -> Iterator[int]:
    """The nets to which diodes bring what these contacts switch."""
    closings = {contact.closing for contact in contacts}
    for plan in survey.plans if closings else ():
        for driver in plan.drivers:
            if driver.passes != "both" and any(closings & set(path) for path in driver.paths):
                yield plan.net


def _seen(kind: StrobeKind, part: Part) -> str:
    one = {"push-button": "one press", "rotary-dip": "one turn"}.get(part.device, "one throw")
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
            # A supervisor waits longer than any contact bounces.
            kinds = {} if part.type.number == "supervisor" else chip.strobes()
            for pin in part.pins:
                if pin.number in kinds and pin.net is not None:
                    self.strobes.setdefault(pin.net, []).append((pin, kinds[pin.number]))
            for output in chip.drives:
                self._add_output(part.pin(output), chip.through_logic(output), kinds, loops)
            self._add_switches(part, chip, kinds)
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
        for link in survey.netlist.links:
            self.resistors.setdefault(link.a, []).append(link.b)
            self.resistors.setdefault(link.b, []).append(link.a)

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
            if not (pin.kind.both_ways or output.kind.both_ways):
                loops.add_edge(pin.net, output.net)

    def _add_switches(self, part: Part, chip: Chip, strobes: dict[str, StrobeKind]) -> None:
        """A pulse passes an analogue switch both ways, and one on its control makes others."""
        for switch in chip.switches:
            ends = [pin.net for pin in (part.pin(number) for number in switch.joins) if pin]
            wired = [net for net in ends if net is not None]
            inputs = [part.pin(number) for number in switch.inputs if number not in strobes]
            sources = [*wired, *(pin.net for pin in inputs if pin and pin.net is not None)]
            for source in sources:
                for net in wired:
                    if net != source and self.survey.netlist.nets[net].rail is None:
                        self.steps.setdefault(source, []).append((net, part.name))

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
