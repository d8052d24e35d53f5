"""What the world can change, and what joins nets without being logic."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.segments import SEGMENTS

ControlDevice = Literal[
    "push-button", "oscillator", "crystal", "spdt", "dip-switch", "rotary-dip", "jumper"
]


@dataclass(slots=True)
class Found:
    """Everything on the board that is no chip."""

    control_list: list[m.Control] = field(default_factory=list)
    contact_list: list[m.Contact] = field(default_factory=list)
    resistor_list: list[m.Resistor] = field(default_factory=list)
    lamp_list: list[m.Lamp] = field(default_factory=list)
    diode_list: list[m.Diode] = field(default_factory=list)
    link_list: list[m.Link] = field(default_factory=list)

    @property
    def controls(self) -> tuple[m.Control, ...]:
        """Controls, in order of parts, then ports."""
        return tuple(self.control_list)

    @property
    def contacts(self) -> tuple[m.Contact, ...]:
        """Contacts, analogue switches included, whose two ends are wired to different nets."""
        return tuple(self.contact_list)

    @property
    def resistors(self) -> tuple[m.Resistor, ...]:
        """Resistors whose two ends are wired to different nets."""
        return tuple(self.resistor_list)

    @property
    def diodes(self) -> tuple[m.Diode, ...]:
        """Diodes whose two ends are wired to different nets."""
        return tuple(self.diode_list)

    @property
    def lamps(self) -> tuple[m.Lamp, ...]:
        """LEDs whose two ends are wired."""
        return tuple(self.lamp_list)

    @property
    def links(self) -> tuple[m.Link, ...]:
        """Different nets that parts join for good."""
        return tuple(self.link_list)


def collect_controls(
    parts: tuple[m.Part, ...], ports: tuple[m.Port, ...], nets: tuple[m.Net, ...]
) -> Found:
    """Controls, contacts, resistors and lamps of a board, in its order."""
    found = Found()
    for part in parts:
        _of_part(part, found)
        _pulled_up(part, found)
    for port in ports:
        names = tuple(nets[index].name for index in port.nets)
        if port.moment:
            owner = port.name.partition(".")[0]
            found.control_list.append(
                m.Control(name=port.name, kind="moment", bits=names, part=owner)
            )
        elif port.direction == "in":
            found.control_list.append(m.Control(name=port.name, kind="in", bits=names, part=None))
        elif port.direction == "both":
            bits = (f"outside({port.name})", *names)
            found.control_list.append(m.Control(name=port.name, kind="both", bits=bits, part=None))
    return found


def _contact(found: Found, part: m.Part, first: str, second: str, control: str, bit: int) -> None:
    _join(found, part, first, second, m.ControlBit(control, bit))


def _join(found: Found, part: m.Part, first: str, second: str, closing: m.Closing) -> None:
    a, b = part.pin(first), part.pin(second)
    if a and b and a.net is not None and b.net is not None and a.net != b.net:
        found.contact_list.append(
            m.Contact(a=a.net, b=b.net, closing=closing, pins=(a.label, b.label))
        )


def _diode(found: Found, part: m.Part) -> None:
    a, k = part.pin("A"), part.pin("K")
    if a and k and a.net is not None and k.net is not None and a.net != k.net:
        found.diode_list.append(m.Diode(anode=a.net, cathode=k.net, part=part.name))


def _switches(found: Found, part: m.Part) -> None:
    """The analogue switches of a chip."""
    for number, switch in enumerate(part.type.switches):
        _join(found, part, *switch.joins, m.ChipSwitch(part.name, number))


def _resistor(found: Found, part: m.Part, first: str, second: str) -> None:
    a, b = part.pin(first), part.pin(second)
    if part.value == 0.0:
        _link(found, part, first, second)
    elif a and b and a.net is not None and b.net is not None and a.net != b.net:
        found.resistor_list.append(m.Resistor(a=a.net, b=b.net, ohms=part.value, part=part.name))


def _link(found: Found, part: m.Part, first: str, second: str) -> None:
    a, b = part.pin(first), part.pin(second)
    if a and b and a.net is not None and b.net is not None and a.net != b.net:
        found.link_list.append(m.Link(a=a.net, b=b.net, part=part.name))


INSIDE_OHMS = 20e3
"""Resistors inside chips are around this (data book of the 47: I_IL of BI/RBO, from memory)."""


def _pulled_up(part: m.Part, found: Found) -> None:
    """The resistors that some inputs have inside, to the part's supply."""
    supply = next((pin.net for pin in part.pins if pin.kind is PinKind.SUPPLY), None)
    for pin, kind in zip(part.pins, part.type.pins, strict=True):
        wired = pin.net is not None and supply is not None and pin.net != supply
        if kind.pulled_up and pin.net is not None and supply is not None and wired:
            found.resistor_list.append(
                m.Resistor(a=pin.net, b=supply, ohms=INSIDE_OHMS, part=part.name)
            )


def _lamp(found: Found, part: m.Part, name: str, anode: str, cathode: str) -> None:
    a, k = part.pin(anode), part.pin(cathode)
    if a and k and a.net is not None and k.net is not None:
        found.lamp_list.append(
            m.Lamp(name=name, anode=a.net, cathode=k.net, part=part.name, pins=(a.label, k.label))
        )


def _of_part(part: m.Part, found: Found) -> None:
    """What a part that is no control puts between nets; controls are `_of_control`."""
    match part.device:
        case "resistor":
            _resistor(found, part, "1", "2")
        case "resistor-network":
            for k in range(1, part.ways + 1):
                first = str(2 * k - 1) if part.isolated else "1"
                _resistor(found, part, first, str(2 * k if part.isolated else k + 1))
        case "potentiometer":
            _resistor(found, part, "1", "2")
            _resistor(found, part, "2", "3")
        case "led" | "led-bar":
            _leds(part, found)
        case "display":
            _display(part, found)
        case "diode":
            _diode(found, part)
        case "chip":
            _switches(found, part)
        case "capacitor" | "connector" | "test-point" | "supervisor":
            pass
        case (
            "push-button" | "oscillator" | "crystal" | "spdt" | "dip-switch" | "rotary-dip"
            | "jumper"
        ):  # fmt: skip
            _of_control(part, part.device, found)


def _leds(part: m.Part, found: Found) -> None:
    if part.device == "led":
        _lamp(found, part, part.name, "1", "2")
    for k in range(1, part.ways + 1):
        _lamp(found, part, f"{part.name}[{k}]", str(k), str(2 * part.ways + 1 - k))


def _of_control(part: m.Part, device: ControlDevice, found: Found) -> None:
    match device:
        case "push-button" | "oscillator":
            _single(part, found)
        case "crystal":
            if any(pin.kind.drives for pin in part.pins):
                _single(part, found)
        case "spdt":
            _changeover(part, found)
        case "dip-switch":
            _ways(part, found)
        case "rotary-dip":
            _rotary(part, found)
        case "jumper":
            _jumper(part, found)


def _single(part: m.Part, found: Found) -> None:
    kind: Literal["button", "oscillator"] = (
        "button" if part.device == "push-button" else "oscillator"
    )
    found.control_list.append(
        m.Control(name=part.name, kind=kind, bits=(part.name,), part=part.name)
    )
    if kind == "button":
        _contact(found, part, "1", "2", part.name, 0)


def _changeover(part: m.Part, found: Found) -> None:
    found.control_list.append(
        m.Control(
            name=part.name,
            kind="changeover",
            bits=tuple(f"{part.name}.{position}" for position in part.positions),
            part=part.name,
            exclusive=not part.makes_before_breaks,
        )
    )
    _contact(found, part, "1", "2", part.name, 0)
    _contact(found, part, "2", "3", part.name, 1)


def _ways(part: m.Part, found: Found) -> None:
    for way in range(1, part.ways + 1):
        control = f"{part.name}[{way}]"
        found.control_list.append(
            m.Control(name=control, kind="way", bits=(control,), part=part.name)
        )
        _contact(found, part, str(way), str(2 * part.ways + 1 - way), control, 0)


def _display(part: m.Part, found: Found) -> None:
    """Its segments as lamps; the two common pins are one."""
    commons = [pin for pin in part.pins if pin.name in ("COM", "COM2")]
    common = next((pin.number for pin in commons if pin.net is not None), commons[0].number)
    _link(found, part, commons[0].number, commons[1].number)
    for name in SEGMENTS:
        ends = (common, name) if part.common == "anode" else (name, common)
        _lamp(found, part, f"{part.name}[{name}]", *ends)


def _rotary(part: m.Part, found: Found) -> None:
    found.control_list.append(
        m.Control(
            name=part.name,
            kind="rotary",
            bits=tuple(f"{part.name}[{bit}]" for bit in (3, 2, 1, 0)),
            part=part.name,
        )
    )
    for bit, pin in enumerate(("8", "4", "2", "1")):
        _contact(found, part, pin, "C", part.name, bit)


def _jumper(part: m.Part, found: Found) -> None:
    if part.closed == "open":
        return
    if part.closed:
        _link(found, part, *part.closed.split("-"))
    elif part.positions:
        _changeover(part, found)
    else:
        found.control_list.append(
            m.Control(name=part.name, kind="jumper", bits=(part.name,), part=part.name)
        )
        _contact(found, part, "1", "2", part.name, 0)
