"""A board's parts list: what to buy and how many, with designators."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from breadproof.specs.catalogue.names import full_name
from breadproof.specs.netlist.model import Netlist, Part

KINDS = ("chip", "passive", "device")
PASSIVE = ("resistor", "resistor-network", "capacitor", "potentiometer", "crystal")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A line of the list: parts that are the same.

    ``kind`` is "chip", "passive" or "device"; ``value`` is that of passives, or what tells devices
    of a kind apart ("8 ways"); ``package`` that of a chip.
    """

    kind: str
    part: str
    value: str
    package: str
    title: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """The whole list: chips by number, then passives by value, then devices."""

    entries: tuple[Entry, ...]

    def of_kind(self, kind: str) -> tuple[Entry, ...]:
        """The lines of a kind."""
        return tuple(entry for entry in self.entries if entry.kind == kind)

    @property
    def packages(self) -> int:
        """How many chips there are."""
        return sum(len(entry.names) for entry in self.of_kind("chip"))

    @property
    def sockets(self) -> tuple[tuple[str, int], ...]:
        """How many sockets of each size the chips want, the smallest first."""
        found: dict[str, int] = {}
        for entry in self.of_kind("chip"):
            found[entry.package] = found.get(entry.package, 0) + len(entry.names)
        return tuple(sorted(found.items(), key=lambda pair: _natural(pair[0])))


def bill_of(netlist: Netlist) -> Bill:
    """The parts list of a board, or of all boards of a machine."""
    groups: dict[tuple[str, str, str, str, str], list[Part]] = {}
    for part in netlist.parts:
        groups.setdefault(_key(part), []).append(part)
    entries = [
        Entry(
            kind=kind,
            part=name,
            value=value,
            package=package,
            title=title,
            names=tuple(sorted((part.name for part in parts), key=_natural)),
        )
        for (kind, name, value, package, title), parts in sorted(groups.items(), key=_order)
    ]
    return Bill(entries=tuple(entries))


def _order(group: tuple[tuple[str, str, str, str, str], list[Part]]) -> tuple[object, ...]:
    """Chips by number, passives by value, devices by name."""
    (kind, name, value, _, _), parts = group
    return KINDS.index(kind), _natural(name), parts[0].value or 0.0, _natural(value)


def _key(part: Part) -> tuple[str, str, str, str, str]:
    kind = part.type
    if part.device == "chip":
        family = "" if part.family is None else part.family.name
        series = full_name(kind.number, family)
        if part.family is not None and part.family.military and series.startswith("74"):
            series = f"54{series[2:]}"
        return "chip", series, "", kind.package, kind.title
    if part.device in PASSIVE:
        return "passive", part.device, _value(part), "", kind.title
    return "device", part.device, _told(part), "", kind.title


def detail(part: Part) -> str:
    """What tells a part from others of its kind: a chip's number, a value, how many ways; else what
    the board file calls it."""
    if part.device == "chip":
        return part.printed
    found = _value(part) if part.device in PASSIVE else _told(part)
    return found or " | ".join(part.positions) or part.printed


def _value(part: Part) -> str:
    unit = {"capacitor": "F", "crystal": "Hz"}.get(part.device, "ohm")
    words = ["no value" if part.value is None else shown(part.value, unit)]
    if part.device == "resistor-network":
        words.append(f"{part.ways} {'isolated' if part.isolated else 'with a common pin'}")
    return ", ".join(words)


def _told(part: Part) -> str:
    words = []
    if part.device == "oscillator" and part.value is not None:
        words.append(shown(part.value, "Hz"))
    if part.device == "connector":
        words.append(f"{len(part.pins)} pins")
    elif part.ways:
        words.append(f"{part.ways} ways")
    words += [f"common {part.common}"] if part.common else []
    return ", ".join(words)


_SCALES = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"))


def shown(value: float, unit: str) -> str:
    """``10k``, ``330 ohm``, ``100 nF``, ``1 MHz``; up to four digits behind the point."""
    scale, letter = next(((s, n) for s, n in _SCALES if value >= s * 0.999999), (1e-12, "p"))
    digits = f"{value / scale:.4f}".rstrip("0").rstrip(".")
    if unit == "ohm":
        return f"{digits}{letter}" if letter else f"{digits} ohm"
    return f"{digits} {letter}{unit}"


def _natural(text: str) -> tuple[tuple[bool, int, str], ...]:
    """U2 before U10."""
    pieces: Iterable[str] = re.findall(r"\d+|\D+", text)
    return tuple((piece.isdigit(), int(piece) if piece.isdigit() else 0, piece) for piece in pieces)
