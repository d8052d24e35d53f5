"""What the board's class has for the world: inputs for controls, outputs for lamps and ports."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.export.lowering.attributes import bit_of
from breadproof.export.lowering.layout import lay_out
from breadproof.export.lowering.signals import Signals
from breadproof.export.lowering.values import Value
from breadproof.specs.netlist.model import Control, Lamp, Netlist

KINDS = {
    "button": "push-button, 1 while pressed",
    "changeover": "change-over switch, 1 in this position",
    "way": "DIP switch, 1 while closed",
    "rotary": "coded switch, 1 while a contact is closed",
    "jumper": "jumper, 1 while plugged",
    "oscillator": "oscillator",
    "in": "port",
    "moment": "a moment that the world chooses: each change",
    "both": "port",
}


@dataclass(slots=True)
class Outside:
    """The ports of the board's class, made one after the other.

    ``controls``: for each control the attribute and bit of each of its bits. ``lamps`` and
    ``ports`` lead to the outputs.
    """

    netlist: Netlist
    signals: Signals
    controls: dict[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    lamps: dict[str, str] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    switches: dict[str, str] = field(default_factory=dict)
    clock: str = ""
    """The control that is no input: the clock of a synchronous board."""

    def inputs(self) -> list[str]:
        """The members for all controls."""
        lines: list[str] = []
        for control in self.netlist.controls:
            if control.name == self.clock:
                continue
            if control.kind in ("in", "both"):
                lines += self.port(control)
            elif control.kind == "way":
                lines += self.way(control)
            elif control.kind == "rotary":
                width = len(control.bits)
                name, line = self.input(control.name, width, KINDS["rotary"])
                self.controls[control.name] = _downward(name, width)
                lines += line
            else:
                lines += self.singly(control)
        return lines

    def input(self, wish: str, width: int, note: str) -> tuple[str, list[str]]:
        """A new input, and its member."""
        name = self.signals.attribute(wish, width, port=True)
        return name, lay_out(f"{name}: In({width})", 1, note)

    def port(self, control: Control) -> list[str]:
        """A port's levels, and before them whether it is driven from outside."""
        lines: list[str] = []
        places: tuple[tuple[str, int], ...] = ()
        width = len(control.bits)
        if control.kind == "both":
            note = "1 while the port is driven from outside"
            name, lines = self.input(f"{control.name}_outside", 1, note)
            places = ((name, 0),)
            width -= 1
        name, more = self.input(f"{control.name}_in", width, KINDS[control.kind])
        self.controls[control.name] = places + _downward(name, width)
        return lines + more

    def way(self, control: Control) -> list[str]:
        """A way of a DIP switch: way 1 is bit 0 of the switch's word."""
        part = None if control.part is None else self.netlist.part(control.part)
        if part is None:
            raise AssertionError("a DIP switch is a part")
        lines: list[str] = []
        if part.name not in self.switches:
            note = KINDS["way"] if part.ways == 1 else f"{KINDS['way']}; bit 0 is way 1"
            self.switches[part.name], lines = self.input(part.name, part.ways, note)
        way = int(control.name.rpartition("[")[2].rstrip("]"))
        self.controls[control.name] = ((self.switches[part.name], way - 1),)
        return lines

    def singly(self, control: Control) -> list[str]:
        """An input a bit."""
        lines: list[str] = []
        places: list[tuple[str, int]] = []
        for bit in control.bits:
            wish = f"{control.name}_in" if control.kind == "moment" else bit
            name, more = self.input(wish, 1, KINDS[control.kind])
            places.append((name, 0))
            lines += more
        self.controls[control.name] = tuple(places)
        return lines

    def closed(self, control: str, bit: int) -> Value:
        """The level of a bit of a control."""
        name, place = self.controls[control][bit]
        return self.signals.at(f"self.{name}", place)

    def outputs(self) -> list[str]:
        """The members for all lamps and all ports that go out."""
        lines: list[str] = []
        for lamps in self.bars():
            first = lamps[0].name
            wish = first.rpartition("[")[0] if len(lamps) > 1 else first
            name = self.signals.attribute(wish, len(lamps), port=True)
            note = "lamp, 1 while lit" if len(lamps) == 1 else f"lamps, 1 while lit; bit 0: {first}"
            lines += lay_out(f"{name}: Out({len(lamps)})", 1, note)
            self.lamps.update(
                {lamp.name: bit_of(name, bit, len(lamps)) for bit, lamp in enumerate(lamps)}
            )
        for port in self.netlist.ports:
            if port.direction != "in":
                name = self.signals.attribute(f"{port.name}_out", len(port.nets), port=True)
                self.ports[port.name] = name
                lines += lay_out(f"{name}: Out({len(port.nets)})", 1, "port")
        return lines

    def bars(self) -> list[tuple[Lamp, ...]]:
        """Lamps that stand in one package, by their numbers; and every other alone."""
        rows: dict[str, list[Lamp]] = {}
        for lamp in self.netlist.lamps:
            _, bracket, number = lamp.name.partition("[")
            in_row = bool(bracket) and number.rstrip("]").isdigit()
            rows.setdefault(lamp.part if in_row else lamp.name, []).append(lamp)
        return [tuple(row) for row in rows.values()]


def _downward(name: str, width: int) -> tuple[tuple[str, int], ...]:
    """The bits of a word, the most significant first."""
    return tuple((name, bit) for bit in reversed(range(width)))
