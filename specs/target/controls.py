"""Where each control of a board comes from, as a target says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from breadproof.specs.netlist.model import Control, Netlist, written
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Text, near
from breadproof.specs.target.levels import HIGH, LOW, WORDS, fixed_levels, number_of
from breadproof.specs.target.mapped import MappedControl, MappedPin
from breadproof.specs.target.model import Active, Pull, Target, Wiring
from breadproof.specs.target.pinbook import PinBook, bare, named

CONTACTS = ("button", "changeover", "way", "rotary", "jumper")
DEBOUNCE = 0.01
"""Seconds, for contacts, if the target says nothing."""


class ControlMap:
    """Maps controls; what is wrong is noted."""

    def __init__(self, target: Target, netlist: Netlist, book: PinBook, problems: Problems) -> None:
        """Take the target, the board, and who uses which pin."""
        self.target = target
        self.netlist = netlist
        self.book = book
        self.problems = problems

    def controls(self) -> list[MappedControl]:
        """All controls, in the board's order."""
        controls = {control.name: control for control in self.netlist.controls}
        ports = {port.name: port for port in self.netlist.ports}
        given: dict[str, tuple[Wiring, tuple[Text, ...]]] = {}
        for wiring in self.target.controls:
            for name, own, pins in self._single(wiring, controls):
                self._give(given, name, own, pins)
        for wiring in self.target.ports:
            name = named(wiring.name, controls)
            if name in controls and name in ports:
                self._give(given, name, wiring, wiring.pins)
        found: list[MappedControl] = []
        missing: list[Control] = []
        spoiled = {bare(name) for name in self.target.spoiled}
        for name, control in controls.items():
            if name in given:
                made = self._control(control, *given[name])
                if made is not None:
                    found.append(made)
            elif name not in spoiled and control.part not in spoiled:
                missing.append(control)
        self._unmapped(missing)
        return found

    def _unmapped(self, missing: list[Control]) -> None:
        """All controls at no pin, in one go."""
        if not missing:
            return
        first = missing[0]
        where = "ports" if first.kind in ("in", "both") else "controls"
        names = ", ".join(f"'{written(control.name)}'" for control in missing)
        self.problems.error(
            "control-unmapped",
            f"{names} {'is' if len(missing) == 1 else 'are'} at no pin",
            self.target.span,
            hint=_way_out(first, where),
        )

    def _give(
        self,
        given: dict[str, tuple[Wiring, tuple[Text, ...]]],
        name: str,
        wiring: Wiring,
        pins: tuple[Text, ...],
    ) -> None:
        if name in given:
            self.problems.error(
                "key-twice",
                f"'{name}' is given twice",
                wiring.name.span,
                hint="Leave out one of them.",
                related=(("first here", given[name][0].name.span),),
            )
            return
        given[name] = (wiring, pins)

    def _single(
        self, wiring: Wiring, controls: Mapping[str, Control]
    ) -> list[tuple[str, Wiring, tuple[Text, ...]]]:
        """The controls that an entry stands for: itself, or the ways of a DIP switch."""
        name = named(wiring.name, _names(controls))
        if name in controls:
            return [(name, wiring, wiring.pins)]
        ways = [one for one in controls.values() if one.part == name and one.kind == "way"]
        if not ways:
            names = sorted(map(written, _names(controls)))
            self.problems.error(
                "control-unknown",
                f"the board has no control '{wiring.name.value}'",
                wiring.name.span,
                hint=near(written(name), names) or f"It has {', '.join(names)}.",
            )
            return []
        if wiring.fixed is not None:
            levels = self._ways(wiring.fixed, len(ways))
            return [
                (way.name, replace(wiring, fixed=level), ())
                for way, level in zip(ways, levels, strict=True)
            ]
        if len(wiring.pins) != len(ways):
            self.book.count(wiring, len(ways), "a pin for each way, way 1 first")
            return [(way.name, wiring, ()) for way in ways]
        return [(way.name, wiring, (pin,)) for way, pin in zip(ways, wiring.pins, strict=True)]

    def _ways(self, fixed: Text, count: int) -> list[Text]:
        """What each way of a DIP switch is fixed at: all of them open or closed, or a number, whose
        least significant bit is way 1, and 1 is closed."""
        word = fixed.value.strip()
        number = number_of(word, count)
        if number is None and word not in (*HIGH, *LOW):
            self.problems.error(
                "fixed-unknown",
                f"a switch of {count} ways cannot be fixed at '{word}'",
                fixed.span,
                hint=f"Write {' or '.join(WORDS)} for all of them, or a number, way 1 last: "
                f"{count}'b{'0' * (count - 1)}1.",
            )
            word = WORDS[0]  # the rest of the file is still looked at
        if number is None:
            return [replace(fixed, value=word)] * count
        return [replace(fixed, value=WORDS[number >> way & 1]) for way in range(count)]

    def _control(
        self, control: Control, wiring: Wiring, pins: tuple[Text, ...]
    ) -> MappedControl | None:
        span = wiring.name.span
        if wiring.fixed is not None:
            levels = fixed_levels(control, wiring.fixed, self.problems)
            if levels is None:
                return None
            return MappedControl(control=control, source="fixed", levels=levels, span=span)
        if wiring.clock is not None and len(control.bits) != 1:
            self.problems.error(
                "pin-unfit",
                f"'{control.name}' is no clock: it has {len(control.bits)} bits",
                span,
                hint="Only what has one bit can be made by a divider, a step button or freely.",
            )
            return None
        contact = control.kind in CONTACTS or wiring.clock == "step"
        active: Active = wiring.active or ("low" if contact else "high")
        pull: Pull = wiring.pull or ("up" if contact and active == "low" else "none")
        debounce = wiring.debounce
        if debounce is None:
            debounce = DEBOUNCE if contact else 0.0
        single = self._position(control, wiring, pins)
        wanted = 1 if single is not None else len(control.bits)
        outside: list[MappedPin] = []
        if control.kind == "both":
            wanted -= 1
            outside = self._outside(control, wiring)
        if wiring.clock in ("divider", "free"):
            source = wiring.clock
            return MappedControl(
                control=control, source=source, frequency=wiring.frequency or 0.0, span=span
            )
        if len(pins) != wanted:
            if not (control.kind == "way" and not pins):
                self.book.count(wiring, wanted, _how(control))
            return None
        whose = f"'{control.name}'"
        used = [self.book.pin(pin, whose, active, pull) for pin in pins]
        return MappedControl(
            control=control,
            source="step" if wiring.clock == "step" else "pins",
            pins=(*outside, *used),
            single=single,
            debounce=debounce,
            span=span,
        )

    def _position(self, control: Control, wiring: Wiring, pins: tuple[Text, ...]) -> int | None:
        """The bit of a change-over switch that its one pin stands for."""
        names = [bit.rpartition(".")[2] for bit in control.bits]
        if control.kind != "changeover":
            if wiring.position is not None:
                self.problems.error(
                    "pin-unfit",
                    f"'{control.name}' is no change-over switch and has no positions",
                    wiring.position.span,
                    hint="Leave out 'position'.",
                )
            return None
        if wiring.position is None:
            return None
        if wiring.position.value not in names:
            self.problems.error(
                "pin-unfit",
                f"'{control.name}' has no position '{wiring.position.value}'",
                wiring.position.span,
                hint=near(wiring.position.value, names) or f"It has {' and '.join(names)}.",
            )
            return 0
        return names.index(wiring.position.value)

    def _outside(self, control: Control, wiring: Wiring) -> list[MappedPin]:
        """The pin that tells that another drives a ``both`` port."""
        outside = wiring.outside
        if outside is None or len(outside.pins) != 1:
            self.problems.error(
                "pins-missing",
                f"who drives '{control.name}' is told by no pin",
                wiring.name.span,
                hint="Add 'outside: {pin: PIN, active: low}': active while another drives it.",
            )
            return []
        # A bus whose neighbour is gone is nobody's: pulled to where it tells that nobody drives.
        active: Active = outside.active or "low"
        pull: Pull = outside.pull or ("up" if active == "low" else "none")
        return [self.book.pin(outside.pins[0], f"outside({control.name})", active, pull)]


def _names(controls: Mapping[str, Control]) -> set[str]:
    """Controls by name, and DIP switches whole."""
    switches = {c.part for c in controls.values() if c.kind == "way" and c.part is not None}
    return {*controls, *switches}


def _way_out(control: Control, where: str) -> str:
    name = written(control.name)
    if control.kind == "moment":
        return (
            f"Each change of '{name}' is a moment that the world chooses, such as when a capacitor "
            f"is charged. Write '{name}: {{clock: divider, frequency: 10 Hz}}' under 'controls:': "
            "a moment every 50 ms."
        )
    return (
        f"Write '{name}: PIN' under '{where}:', or '{name}: {{fixed: {_rest(control)}}}' if it is "
        "to stay as it is."
    )


def _how(control: Control) -> str:
    match control.kind:
        case "changeover":
            names = [bit.rpartition(".")[2] for bit in control.bits]
            return (
                f"a pin for each position ({', '.join(names)}), or one and "
                f"'position: {names[0]}', where it is active"
            )
        case "rotary":
            return "its contacts 8, 4, 2 and 1"
        case "in" | "both":
            return "a pin for each net, most significant first"
        case _:
            return "one pin"


def _rest(control: Control) -> str:
    match control.kind:
        case "button":
            return "released"
        case "way" | "jumper":
            return "open"
        case "changeover":
            return control.bits[0].rpartition(".")[2]
        case "both":
            return "nobody"
        case _:
            return "0" * len(control.bits)
