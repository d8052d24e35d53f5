"""Whether a matching really is the same wiring: checked pin by pin, whoever found it.

Nothing is taken from the search: only the two netlists, the pairs of pins, and which pins of a part
may change places (`units`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.netlist.model import Netlist, Part
from breadproof.verify.prove.keys import structure
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.units import units


def same_wiring(matching: Matching) -> bool:
    """Whether each part, pin and net has exactly one counterpart that is the same."""
    return next(_faults(matching), None) is None


def _faults(matching: Matching) -> Iterator[str]:
    old, new = matching.old, matching.new
    if old.supply != new.supply:
        yield "supply"
    parts = {part.name: part for part in new.parts}
    if sorted(matching.parts) != sorted(part.name for part in old.parts):
        yield "parts"
    if sorted(matching.parts.values()) != sorted(parts):
        yield "parts"
    for part in old.parts:
        other = parts.get(matching.parts.get(part.name, ""))
        if other is None or not _same_part(part, other) or not _same_pins(matching, part, other):
            yield part.name
    if not _same_nets(matching):
        yield "nets"


def same_type(a: PartType, b: PartType) -> bool:
    """Whether two part files say the same, wherever: a revision may have a copy of its own."""
    return a == b or structure(a) == structure(b)


def _same_part(a: Part, b: Part) -> bool:
    return same_type(a.type, b.type) and all(
        getattr(a, name) == getattr(b, name)
        for name in (
            "device", "family", "positions", "makes_before_breaks", "ways", "value",
            "isolated", "contents", "common", "complement", "closed",
        )
    )  # fmt: skip


def _same_pins(matching: Matching, part: Part, other: Part) -> bool:
    """Whether the pins of the two go together one by one, gates with gates."""
    numbers: dict[str, str] = {}
    for pin in part.pins:
        label = matching.pins.get(pin.label, "")
        if not label.startswith(f"{other.name}."):
            return False
        numbers[pin.number] = label.removeprefix(f"{other.name}.")
    if sorted(numbers.values()) != sorted(pin.number for pin in other.pins):
        return False
    place = {number: k for k, unit in enumerate(units(other)) for number, _ in unit.pins}
    kinds = units(other)
    taken: set[int] = set()
    for here in units(part):
        there = {place.get(numbers[number]) for number, _ in here.pins}
        if not here.pins:
            continue
        if len(there) != 1:
            return False
        target = next(iter(there))
        if target is None or target in taken or kinds[target].kind != here.kind:
            return False
        taken.add(target)
        roles = dict(kinds[target].pins)
        if any(roles[numbers[number]] != role for number, role in here.pins):
            return False
    return True


def _same_nets(matching: Matching) -> bool:
    """Whether the pins of each net are, one by one, those of one net of the other board."""
    one = _net_sets(matching.old, matching.pins)
    two = _net_sets(matching.new, {label: label for label in matching.pins.values()})
    return sorted(one) == sorted(two)


def _net_sets(netlist: Netlist, called: Mapping[str, str]) -> Iterator[tuple[object, ...]]:
    ports: dict[int, list[tuple[str, str, int]]] = {}
    for port in netlist.ports:
        for bit, number in enumerate(port.nets):
            ports.setdefault(number, []).append((port.name, port.direction, bit))
    for net in netlist.nets:
        own = tuple(sorted(ports.get(net.index, ())))
        if len(net.pins) > 1 or net.rail is not None or own:
            rail = -1.0 if net.rail is None else net.rail
            yield tuple(sorted(called.get(pin.label, "?") for pin in net.pins)), rail, own
