"""One entry under ``parts:`` as a part on the board."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import cast

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.devices import DEVICES, OPTIONS, device_type, quantity
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


def _pins(name: str, kind: PartType, span: Span) -> tuple[m.Pin, ...]:
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
"""Values of parts that exist: 0.1 pF to 10 gigohm (common practice)."""


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
    return m.Part(
        name=entry.name.value,
        printed=entry.printed.value,
        device="chip",
        type=chip.type,
        family=chip.family,
        pins=_pins(entry.name.value, chip.type, entry.name.span),
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
        kind = device_type(device, ways, isolated)
        positions = self.positions() if device == "spdt" else ()
        value = self.value("frequency" if device == "oscillator" else "value")
        if self.failed:
            return None
        return m.Part(
            name=entry.name.value,
            printed=device,
            device=device,
            type=kind,
            family=None,
            pins=_pins(entry.name.value, kind, entry.name.span),
            span=entry.name.span,
            positions=positions,
            makes_before_breaks=self.flag("makes-before-breaks"),
            ways=ways,
            value=value,
            isolated=isolated,
        )

    def ways(self, device: str) -> int:
        key = "pins" if device == "connector" else "ways"
        if key not in OPTIONS[device]:
            return 0
        tree = self.option(key)
        if isinstance(tree, Text) and _small(tree.value):
            return int(tree.value)
        self.bad(
            f"a {device} needs '{key}', a number from 1 to 64",
            tree.span if tree else self.entry.name.span,
            f"Write '{{part: {device}, {key}: 8}}'.",
        )
        return 1

    def flag(self, key: str) -> bool:
        tree = self.option(key)
        if tree is None:
            return False
        if isinstance(tree, Text) and tree.value in ("true", "false"):
            return tree.value == "true"
        self.bad(f"'{key}' is true or false", tree.span, f"Write '{key}: true'.")
        return False

    def positions(self) -> tuple[str, ...]:
        tree = self.option("positions")
        items = tree.items if isinstance(tree, Rows) else ()
        names = [item.value for item in items if isinstance(item, Text) and NAME.match(item.value)]
        if len(names) == len(items) == 2 and names[0] != names[1]:
            return tuple(names)
        self.bad(
            "a change-over switch names its two positions",
            tree.span if tree else self.entry.name.span,
            "Write '{part: spdt, positions: [SET, SHOW]}': the first joins pins 1 and 2, "
            "the second pins 2 and 3.",
        )
        return ("FIRST", "SECOND")

    def value(self, key: str) -> float | None:
        tree = self.option(key)
        if tree is None:
            return None
        value = quantity(tree.value) if isinstance(tree, Text) else None
        if value is None or not SMALLEST <= value <= LARGEST:
            self.bad(
                "this is no value",
                tree.span,
                "Write 10k, 4k7, 220, 100n or 1.8432M; the unit may follow.",
            )
        return value
