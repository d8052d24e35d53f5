"""One entry under ``parts:`` as a part on the board."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import cast

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.names import full_name
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.devices import DEVICES, OPTIONS, device_type, quantity
from breadproof.specs.netlist.supervisors import Reset
from breadproof.specs.reading.board import NAME, PartEntry
from breadproof.specs.reading.contents import read_contents
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Text, Tree, near


def place_part(
    entry: PartEntry, catalogue: Catalogue, family: str, folder: Path, problems: Problems
) -> m.Part | None:
    """The part, its pins still on no net; None if its options are wrong.

    Raises:
        UnknownPart: neither a device nor in the catalogue.
    """
    if entry.printed.value in DEVICES:
        return _Placing(entry, problems).device()
    return _chip(entry, catalogue, family, folder, problems)


def pins_of_type(name: str, kind: PartType, span: Span) -> tuple[m.Pin, ...]:
    """The pins of a part of that type and name, all of them open."""
    return tuple(
        m.Pin(
            part=name,
            number=pin.number,
            name=pin.name,
            kind=pin.kind,
            role=pin.role,
            net=None,
            span=span,
        )
        for pin in kind.pins
    )


SMALLEST, LARGEST = 1e-13, 1e10
"""Values of parts that exist: 0.1 pF to 10 gigohm (common practice); and resistors of 0 ohm."""

CHIP_OPTIONS = ("contents",)
"""Options of a chip in the board file, beside ``part``."""
_COUNT = {"connector": "pins", "jumper": "pins", "rotary-dip": "positions"}
"""The option that says how many; of other devices it is ``ways``."""
_FEW = {"jumper": (2, 3), "rotary-dip": (10, 16)}
"""The numbers there are, of devices that come in few sizes."""


def _small(text: str) -> bool:
    return len(text) <= 2 and text.isdecimal() and 1 <= int(text) <= 64


def _chip(
    entry: PartEntry, catalogue: Catalogue, family: str, folder: Path, problems: Problems
) -> m.Part:
    chip = catalogue.find(entry.printed.value, family)
    contents: tuple[int, ...] = ()
    rom = next((memory for memory in chip.type.memories if memory.write is None), None)
    if rom is not None:
        contents = ((1 << rom.bits) - 1,) * rom.words
    for key, value in entry.options:
        if key.value == "contents" and rom is not None:
            contents = read_contents(value, folder, rom.words, rom.bits, problems)
        else:
            problems.error(
                "option-unknown",
                f"a {entry.printed.value} has no '{key.value}'",
                key.span,
                hint="Only a ROM has 'contents'; other chips have no options.",
            )
    printed = entry.printed.value
    if printed == chip.type.number and chip.family.name in chip.type.families:
        printed = full_name(printed, chip.family.name)  # as it stands on the chip
    return m.Part(
        name=entry.name.value,
        printed=printed,
        device="chip",
        type=chip.type,
        family=chip.family,
        pins=pins_of_type(entry.name.value, chip.type, entry.name.span),
        span=entry.name.span,
        contents=contents,
    )


@dataclass(slots=True)
class _Placing:
    entry: PartEntry
    problems: Problems
    failed: bool = False

    def bad(self, message: str, span: Span, hint: str, code: str = "option-malformed") -> None:
        self.problems.error(code, message, span, hint=hint)
        self.failed = True

    def option(self, key: str) -> Tree | None:
        return next((value for name, value in self.entry.options if name.value == key), None)

    def device(self) -> m.Part | None:
        entry = self.entry
        device = cast(m.Device, entry.printed.value)
        allowed = OPTIONS[device]
        for key, _ in entry.options:
            if key.value not in allowed:
                self.bad(
                    f"a {device} has no '{key.value}'",
                    key.span,
                    near(key.value, allowed)
                    or (f"It has {', '.join(allowed)}." if allowed else "It has no options."),
                    "option-unknown",
                )
        ways = self.ways(device)
        isolated = self.flag("isolated")
        kind = device_type(device, ways, isolated, self.reset(device))
        closed = self.closed(ways) if device == "jumper" else ""
        common = self.one_of("common", ("anode", "cathode")) if device == "display" else ""
        named = device == "spdt" or (device == "jumper" and ways == 3 and not closed)
        positions = self.positions(device) if named else ()
        idle = self.option("positions")
        if device == "jumper" and idle is not None and not named:
            self.bad(
                "only a jumper of three pins that is a control has positions",
                idle.span,
                "Take 'positions' away, or 'closed', or write 'pins: 3'.",
            )
        value = self.value("frequency" if "frequency" in allowed else "value")
        if self.failed:
            return None
        return m.Part(
            name=entry.name.value,
            printed=device,
            device="chip" if device == "supervisor" else device,
            type=kind,
            family=None,
            pins=pins_of_type(entry.name.value, kind, entry.name.span),
            span=entry.name.span,
            positions=positions,
            makes_before_breaks=self.flag("makes-before-breaks"),
            ways=ways,
            value=value,
            isolated=isolated,
            common=common,
            complement=self.flag("complement"),
            closed=closed,
        )

    def ways(self, device: str) -> int:
        key = _COUNT.get(device, "ways")
        if key not in OPTIONS[device]:
            return 0
        tree = self.option(key)
        if tree is None and device == "jumper":
            return 2
        few = _FEW.get(device, ())
        if isinstance(tree, Text) and _small(tree.value) and (not few or int(tree.value) in few):
            return int(tree.value)
        if few:
            self.bad(
                f"a {device} has {few[0]} or {few[1]} {key}",
                tree.span if tree else self.entry.name.span,
                f"Write '{{part: {device}, {key}: {few[1]}}}'.",
            )
            return few[0]
        self.bad(
            f"a {device} needs '{key}', a number from 1 to 64",
            tree.span if tree else self.entry.name.span,
            f"Write '{{part: {device}, {key}: 8}}'.",
        )
        return 1

    def one_of(self, key: str, allowed: tuple[str, ...], default: str = "") -> str:
        """The value of an option that takes one of a few words; without a default it is needed."""
        tree = self.option(key)
        if tree is None and default:
            return default
        if isinstance(tree, Text) and tree.value in allowed:
            return tree.value
        device = self.entry.printed.value
        self.bad(
            f"'{key}' of a {device} is {' or '.join(allowed)}",
            tree.span if tree else self.entry.name.span,
            f"Write '{{part: {device}, {key}: {allowed[0]}}}'.",
        )
        return allowed[0]

    def reset(self, device: str) -> Reset | None:
        if device != "supervisor":
            return None
        return Reset(
            open_drain=self.one_of("output", ("push-pull", "open-drain")) == "open-drain",
            active_high=self.one_of("active", ("low", "high"), "low") == "high",
            manual=self.flag("manual-reset"),
        )

    def closed(self, pins: int) -> str:
        """See `m.Part.closed`."""
        if self.option("closed") is None:
            return ""
        joints = {"true": "1-2", "false": "open"}
        if pins == 3:
            joints = {"1-2": "1-2", "2-3": "2-3", "false": "open"}
        return joints[self.one_of("closed", tuple(joints))]

    def flag(self, key: str) -> bool:
        tree = self.option(key)
        if tree is None:
            return False
        if isinstance(tree, Text) and tree.value in ("true", "false"):
            return tree.value == "true"
        self.bad(f"'{key}' is true or false", tree.span, f"Write '{key}: true'.")
        return False

    def positions(self, device: str) -> tuple[str, ...]:
        tree = self.option("positions")
        items = tree.items if isinstance(tree, Rows) else ()
        names = [item.value for item in items if isinstance(item, Text) and NAME.match(item.value)]
        if len(names) == len(items) == 2 and names[0] != names[1]:
            return tuple(names)
        jumper = device == "jumper"
        self.bad(
            "a jumper of three pins names its two positions, or says which pins it joins"
            if jumper
            else "a change-over switch names its two positions",
            tree.span if tree else self.entry.name.span,
            f"Write '{{part: {device}, {'pins: 3, ' if jumper else ''}positions: [SET, SHOW]}}': "
            "the first joins pins 1 and 2, the second pins 2 and 3"
            f"{'; or closed: 1-2' if jumper else ''}.",
        )
        return ("FIRST", "SECOND")

    def value(self, key: str) -> float | None:
        tree = self.option(key)
        if tree is None:
            return None
        value = quantity(tree.value) if isinstance(tree, Text) else None
        if value == 0.0 and self.entry.printed.value == "resistor":
            return value
        if value is None or not SMALLEST <= value <= LARGEST:
            self.bad(
                "this is no value",
                tree.span,
                "Write 10k, 4k7, 220, 100n or 1.8432M; the unit may follow.",
            )
        return value
