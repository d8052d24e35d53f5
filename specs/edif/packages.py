"""Parts from instances: gates of one designator are one package, ports are pins of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from breadproof.specs.catalogue.catalogue import UnknownPart
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.edif.flatten import Drawing, FlatInstance, PortBit
from breadproof.specs.edif.mapping import IGNORE
from breadproof.specs.edif.parts import Meaning, Meanings
from breadproof.specs.edif.pins import PinNames
from breadproof.specs.netlist.devices import DEVICES
from breadproof.specs.netlist.model import Part, Pin
from breadproof.specs.netlist.placing import place_part
from breadproof.specs.reading.board import PartEntry
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Text, Tree, near

_GATE = re.compile(r"(.*[0-9])[-_.:]?([A-Z])\Z")
_SHOWN = 6


@dataclass(slots=True)
class Package:
    """A part of the board: ``pins`` by number, each with its net and place.

    ``instances`` are the numbers of what it was made of, one a gate.
    """

    name: str
    path: tuple[str, ...]
    printed: Text
    options: tuple[tuple[Text, Tree], ...]
    part: Part | None
    instances: list[int]
    pins: dict[str, tuple[int, Span]] = field(default_factory=dict)


@dataclass(slots=True)
class Packages:
    """All parts; ``supplies`` are the nets that supply symbols name; ``ignored`` designators."""

    packages: list[Package]
    supplies: dict[str, list[int]]
    ignored: list[str]


def pack(drawing: Drawing, meanings: Meanings, folder: Path, problems: Problems) -> Packages:
    """The parts of a drawing; problems are collected. ``folder`` is that of the board file."""
    return _Packing(drawing, meanings, folder, problems).packed()


class _Packing:
    def __init__(
        self, drawing: Drawing, meanings: Meanings, folder: Path, problems: Problems
    ) -> None:
        self.drawing = drawing
        self.meanings = meanings
        self.folder = folder
        self.problems = problems
        self.wired: dict[int, dict[PortBit, tuple[int, Span]]] = {}
        for number, net in enumerate(drawing.nets):
            for instance, bit, span in net.pins:
                self.wired.setdefault(instance, {})[bit] = (number, span)
        self.meaning = [meanings.of(instance) for instance in drawing.instances]
        self.names: dict[tuple[object, ...], PinNames | None] = {}
        self.found: dict[tuple[object, ...], dict[PortBit, Pin]] = {}
        self.strange: dict[tuple[str, str, str], tuple[Span, str]] = {}

    def packed(self) -> Packages:
        drawing = self.drawing
        supplies: dict[str, list[int]] = {}
        ignored: list[str] = []
        groups: dict[tuple[tuple[str, ...], str], list[int]] = {}
        unknown: dict[tuple[str, str], list[int]] = {}
        for number, meaning in enumerate(self.meaning):
            instance = self.drawing.instances[number]
            shown = self.meanings.designator(instance)
            match meaning.kind:
                case "ignore":
                    nets = {net for net, _ in self.wired.get(number, {}).values()}
                    names = [drawing.nets[net].names[0] for net in sorted(nets)]
                    ignored.append(f"{shown} on {', '.join(names)}" if names else shown)
                case "supply":
                    supplies.setdefault(meaning.supply, []).extend(
                        net for net, _ in self.wired.get(number, {}).values()
                    )
                case "unknown":
                    unknown.setdefault((instance.cell.name.shown, meaning.tried), []).append(number)
                case "part":
                    groups.setdefault((instance.path, shown), []).append(number)
        for (cell, tried), numbers in unknown.items():
            self.unknown(cell, tried, numbers)
        packages = [
            package
            for (path, name), members in self.joined(groups).items()
            if (package := self.package(path, name, members)) is not None
        ]
        for (cell, printed, port), (span, hint) in self.strange.items():
            users = [
                self.meanings.designator(instance)
                for instance, meaning in zip(self.drawing.instances, self.meaning, strict=True)
                if instance.cell.name.shown == cell
                if meaning.printed is not None and meaning.printed.value == printed
            ]
            self.problems.error(
                "edif-port",
                f"cell '{cell}' has a port '{port}', and a {printed} has no such pin "
                f"({_listed(users)})",
                span,
                hint=hint,
            )
        return Packages(packages, supplies, ignored)

    def unknown(self, cell: str, tried: str, numbers: list[int]) -> None:
        first = self.drawing.instances[numbers[0]]
        users = [self.meanings.designator(self.drawing.instances[n]) for n in numbers]
        meant = self.meaning[numbers[0]].suggestions
        what = f"cell '{cell}'" + (f" with '{tried}'" if tried and tried != cell else "")
        write = f"'cells: {{\"{cell}\": PART}}', or 'ignore' for what is no part"
        self.problems.error(
            "edif-unknown-part",
            f"{what} is no part that is known: {_listed(users)}",
            first.span,
            hint=(f"Did you mean {' or '.join(meant)}? " if meant else "")
            + f"Say in the mapping file which part it is: {write}.",
        )

    # gates ------------------------------------------------------------------------------------

    def joined(
        self, groups: dict[tuple[tuple[str, ...], str], list[int]]
    ) -> dict[tuple[tuple[str, ...], str], list[tuple[int, int | None]]]:
        """The instances of each package with the number of the gate where it is told.

        U1A and U1B are gates of U1 if both are the same part, none of their pins are the same
        unless on one net, and nothing else is called U1.
        """
        lettered: dict[tuple[tuple[str, ...], str], list[tuple[str, int]]] = {}
        for (path, name), numbers in groups.items():
            found = _GATE.match(name)
            if found is not None and len(numbers) == 1 and (path, found[1]) not in groups:
                lettered.setdefault((path, found[1]), []).append((found[2], numbers[0]))
        merged: dict[tuple[tuple[str, ...], str], list[tuple[int, int | None]]] = {}
        home: dict[int, tuple[tuple[str, ...], str]] = {}
        for place, gates in lettered.items():
            members = [(number, ord(letter) - ord("A") + 1) for letter, number in gates]
            if self.are_gates(members):
                home.update({number: place for number, _ in members})
        for place, numbers in groups.items():
            for number in numbers:
                own = home.get(number, place)
                found = _GATE.match(place[1]) if number in home else None
                gate = ord(found[2]) - ord("A") + 1 if found is not None else None
                merged.setdefault(own, []).append((number, gate))
        return merged

    def are_gates(self, members: list[tuple[int, int]]) -> bool:
        meanings = [self.meaning[number] for number, _ in members]
        printed = {m.printed.value for m in meanings if m.printed is not None}
        if len(printed) != 1 or next(iter(printed)) in DEVICES:
            return False
        pins: dict[str, int] = {}
        for place, (number, gate) in enumerate(members):
            found = self.pins(number, gate, place, quiet=True)
            if found is None or not found:
                return False
            for bit, pin in found.items():
                net = self.wired.get(number, {}).get(bit, (-1 - number, None))[0]
                if pins.setdefault(pin.number, net) != net:
                    return False
        return True

    def package(
        self, path: tuple[str, ...], name: str, members: list[tuple[int, int | None]]
    ) -> Package | None:
        first = self.meaning[members[0][0]]
        instance = self.drawing.instances[members[0][0]]
        if first.printed is None:
            raise AssertionError("a part has its name")
        for number, _ in members[1:]:
            other = self.meaning[number].printed
            if other is not None and other.value != first.printed.value:
                self.problems.error(
                    "edif-designator-twice",
                    f"{name} is a {first.printed.value} and a {other.value}",
                    self.drawing.instances[number].span,
                    hint="Give them different designators, or map them to one part.",
                    related=(("first here", instance.span),),
                )
                return None
        names = self.part_of(first, instance)
        part = names.part if names is not None else None
        package = Package(name, path, first.printed, first.options, part, [n for n, _ in members])
        for place, (number, gate) in enumerate(members):
            found = self.pins(number, gate, place)
            for bit, (net, span) in self.wired.get(number, {}).items():
                pin = found.get(bit) if found is not None else None
                if pin is None:
                    continue
                before = package.pins.setdefault(pin.number, (net, span))
                if before[0] != net:
                    self.disagree(package, pin, (net, span), before)
        return package

    def disagree(
        self, package: Package, pin: Pin, here: tuple[int, Span], first: tuple[int, Span]
    ) -> None:
        nets = [self.drawing.nets[net].names[0] for net, _ in (first, here)]
        self.problems.error(
            "edif-pin-twice",
            f"pin {pin.number} of {package.name} is on '{nets[0]}' and on '{nets[1]}'",
            here[1],
            hint="Each gate of a package has pins of its own: give them as designators in the "
            "drawing, or as 'gates' in the mapping file; or two parts have one designator.",
            related=(("first here", first[1]),),
        )

    # pins -------------------------------------------------------------------------------------

    def part_of(self, meaning: Meaning, instance: FlatInstance) -> PinNames | None:
        """The part with its pins, still on no net; None if it is wrong (told by the board)."""
        if meaning.printed is None:
            return None
        options = tuple(o for o in meaning.options if o[0].value not in ("contents", "value"))
        key = (meaning.printed.value, *((k.value, _flat(v)) for k, v in options))
        if key not in self.names:
            entry = PartEntry(
                name=Text(value=instance.name, span=instance.span),
                printed=meaning.printed,
                options=options,
            )
            quiet = Problems()
            meanings = self.meanings
            try:
                part = place_part(entry, meanings.catalogue, meanings.family, self.folder, quiet)
            except UnknownPart:
                part = None
            self.names[key] = PinNames(part) if part is not None else None
        return self.names[key]

    def pins(
        self, number: int, gate: int | None, place: int, quiet: bool = False
    ) -> dict[PortBit, Pin] | None:
        """The pin of each port of an instance; ``place`` counts the gates of its package."""
        instance, meaning = self.drawing.instances[number], self.meaning[number]
        names = self.part_of(meaning, instance)
        if names is None:
            return None
        which = (gate or place + 1) - 1
        key = (id(instance.view), id(names), id(meaning.ports), id(meaning.gates), which, gate,
               tuple(instance.pins.items()))  # fmt: skip
        if key not in self.found:
            told = None if quiet else number
            found = dict(self.resolved(instance, meaning, names, gate, which, told))
            if quiet:
                return found
            self.found[key] = found
        return self.found[key]

    def resolved(
        self,
        instance: FlatInstance,
        meaning: Meaning,
        names: PinNames,
        gate: int | None,
        which: int,
        told: int | None,
    ) -> Iterator[tuple[PortBit, Pin]]:
        mapped = dict(meaning.ports or {})
        if meaning.gates and which < len(meaning.gates):
            mapped |= meaning.gates[which]
        for port in instance.view.ports.values():
            members: list[int | None] = list(range(port.name.size)) or [None]
            for member in members:
                bit = (port.name.key, member)
                label = port.name.shown if member is None else port.name.label(member)
                given = next(
                    (mapped[k] for k in (label.lower(), port.name.key, port.name.shown.lower())
                     if k in mapped),
                    None,
                )  # fmt: skip
                if given is not None and given.value == IGNORE:
                    continue
                index = port.name.key if member is None else f"{port.name.key}[{member}]"
                number = instance.pins.get(index, "") or (port.pin if member is None else "")
                if given is not None:
                    pin = names.numbers.get(given.value) or names.named(given.value)
                elif number:
                    pin = names.numbered(number) or names.named(number)
                elif port.name.size and not port.name.ranged:
                    pin = None  # which of its members is which nobody tells
                else:
                    pin = names.named(label, gate) or names.numbered(label)
                if pin is not None:
                    yield bit, pin
                elif told is not None:
                    self.no_pin(told, label, number, given, names, bit)

    def no_pin(
        self,
        user: int,
        label: str,
        number: str,
        given: Text | None,
        names: PinNames,
        bit: PortBit,
    ) -> None:
        """Note a port without a pin; one that is no pin's name and joined to nothing is passed
        over if it says so itself (NC)."""
        instance = self.drawing.instances[user]
        wired = self.wired.get(user, {}).get(bit)
        if wired is None and label.upper().lstrip("_").startswith(("NC", "N.C", "N/C")):
            return
        text = given.value if given is not None else number or label
        source = self.meanings.source
        port = instance.view.ports[bit[0]].name
        span = given.span if given is not None else source.span(port.at, port.length)
        pins = [pin.name for pin in names.part.pins if pin.kind is not PinKind.MOMENT]
        cell = instance.cell.name.shown
        hint = near(text, pins) or f"Its pins are {', '.join(pins)}."
        key = (cell, names.part.printed, label + (f" (pin {text})" if text != label else ""))
        if port.size and not port.ranged and given is None and not number:
            hint = "An array without numbers does not tell which member is which pin."
            key = (cell, names.part.printed, port.shown)
        shown = label if label.isalnum() else f'"{label}"'
        way = f"'cells: {{\"{cell}\": {{part: {names.part.printed}, ports: {{{shown}: PIN}}}}}}'"
        self.strange.setdefault(key, (span, f"{hint} Say in the mapping file: {way}."))


def _flat(tree: Tree) -> str:
    if isinstance(tree, Text):
        return tree.value
    return repr(tree)


def _listed(users: list[str]) -> str:
    users = list(dict.fromkeys(users))
    shown = ", ".join(users[:_SHOWN]) + (" and more" if len(users) > _SHOWN else "")
    return f"{len(users)} of them, {shown}" if len(users) > 1 else shown
