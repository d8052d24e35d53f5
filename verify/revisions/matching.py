"""The two boards with everything that is the same on both: parts, pins and nets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Net, Netlist, Part, Pin
from breadproof.verify.revisions.drawing import Drawing, draw, look
from breadproof.verify.revisions.pairing import Pairing, name_anchors, pair, sure_anchors


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """``parts`` maps names of the old board to names of the new one, ``pins`` labels
    (``U3.5``) to labels, ``nets`` net numbers to net numbers; each has its way back.

    ``gates`` are the gates that changed places within a package: part, numbers of the old gates'
    units, numbers of the new ones'. ``moved`` are the pins that are on another net, with the two
    nets as the old and the new board number them; None for none.
    """

    old: Netlist
    new: Netlist
    parts: Mapping[str, str]
    pins: Mapping[str, str]
    nets: Mapping[int, int]
    gates: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    moved: tuple[tuple[Pin, Pin], ...]
    anew: frozenset[str]
    """Parts of the old board in whose place there is a part of another kind that is wired in
    another way: their pins have no counterparts."""
    parts_back: Mapping[str, str] = field(init=False)
    pins_back: Mapping[str, str] = field(init=False)
    nets_back: Mapping[int, int] = field(init=False)

    def __post_init__(self) -> None:
        for name, table in (("parts", self.parts), ("pins", self.pins), ("nets", self.nets)):
            object.__setattr__(self, f"{name}_back", {b: a for a, b in table.items()})

    @property
    def removed(self) -> tuple[Part, ...]:
        """Parts of the old board that the new one does not have."""
        return tuple(part for part in self.old.parts if part.name not in self.parts)

    @property
    def added(self) -> tuple[Part, ...]:
        """Parts of the new board that the old one does not have."""
        return tuple(part for part in self.new.parts if part.name not in self.parts_back)

    @property
    def cost(self) -> float:
        """How much there is to tell: pins above all, names for very little."""
        pins = sum(len(part.pins) for part in (*self.removed, *self.added))
        names = sum(a != b for a, b in self.parts.items())
        pins += sum(len(part.pins) for part in self.old.parts if part.name in self.anew)
        other = {part.name: look(part) for part in self.new.parts}
        changed = sum(
            look(part) != other.get(self.parts.get(part.name, "")) for part in self.old.parts
        )
        return len(self.moved) + changed + pins / 2 + names / 50 + len(self.gates) / 50


def match(old: Netlist, new: Netlist) -> Matching:
    """What is the same on both boards; of two ways to see it the one that leaves less to tell.

    The first takes parts of one name for the same, the second looks at the wiring alone.
    """
    one, two = draw(old), draw(new)
    sure = list(sure_anchors(one, two))
    named = matching_of(pair(one, two, [*sure, *name_anchors(one, two)]))
    if not named.cost:
        return named
    structural = matching_of(pair(one, two, sure))
    return structural if structural.cost < named.cost else named


def matching_of(pairing: Pairing) -> Matching:
    """The pins of what is paired, and which of them are on another net."""
    old, new = pairing.old, pairing.new
    nets = _net_numbers(pairing)
    parts: dict[str, str] = {}
    pins: dict[str, str] = {}
    gates: list[tuple[str, tuple[str, ...], tuple[str, ...]]] = []
    moved: list[tuple[Pin, Pin]] = []
    anew: set[str] = set()
    new_parts = {part.name: part for part in new.netlist.parts}
    for part in old.netlist.parts:
        node = pairing.one.get(old.part_node[part.name])
        if node is None:
            continue
        other = new_parts[new.names[node]]
        parts[part.name] = other.name
        found = list(_pin_pairs(pairing, part, other, nets))
        if part.type.key != other.type.key and _wired_anew(pairing, found, nets):
            anew.add(part.name)
            continue
        for a, b in found:
            pins[a.label] = b.label
            if not _same_net(old, new, nets, a, b):
                moved.append((a, b))
        gates += _swapped(part, other, dict(pins))
    return Matching(
        old=old.netlist,
        new=new.netlist,
        parts=parts,
        pins=pins,
        nets=nets,
        gates=tuple(gates),
        moved=tuple(moved),
        anew=frozenset(anew),
    )


def _wired_anew(pairing: Pairing, pins: list[tuple[Pin, Pin]], nets: Mapping[int, int]) -> bool:
    """Whether most pins that are wired are on other nets, the supplies aside."""
    wired = [
        (a, b)
        for a, b in pins
        if not (a.net is None and b.net is None) and a.kind not in (PinKind.SUPPLY, PinKind.GROUND)
    ]
    moved = [1 for a, b in wired if not _same_net(pairing.old, pairing.new, nets, a, b)]
    return 2 * len(moved) > len(wired)


def _net_numbers(pairing: Pairing) -> dict[int, int]:
    new = {node: index for index, node in pairing.new.net_node.items()}
    return {
        index: new[pairing.one[node]]
        for index, node in pairing.old.net_node.items()
        if node in pairing.one
    }


def _same_net(old: Drawing, new: Drawing, nets: Mapping[int, int], a: Pin, b: Pin) -> bool:
    """Whether two pins are on nets that are the same; open, and alone on a net, are one thing."""
    one, two = old.net_of(a.net), new.net_of(b.net)
    if one is None or two is None:
        return one is two
    return a.net is not None and nets.get(a.net) == b.net


def _pin_pairs(
    pairing: Pairing, part: Part, other: Part, nets: Mapping[int, int]
) -> Iterator[tuple[Pin, Pin]]:
    """Each pin of a part with the one of its partner that it is now."""
    old, new = pairing.old, pairing.new
    here = {pin.number: pin for pin in part.pins}
    there = {pin.number: pin for pin in other.pins}
    if part.type.key != other.type.key or part.device != other.device:
        yield from _exchanged(part, other)
        return
    own, theirs = old.units[part.name], new.units[other.name]
    partner = _unit_pairs(pairing, part.name, other.name)
    for place, unit in enumerate(own):
        second = theirs[partner[place]]
        roles: dict[str, list[str]] = {}
        for number, role in second.pins:
            roles.setdefault(role, []).append(number)
        again: list[tuple[str, str]] = []
        for number, role in unit.pins:  # pins that are on the same net, or keep their number
            if number not in here:
                continue
            left = roles.get(role, [])
            like = [n for n in left if _same_net(old, new, nets, here[number], there[n])]
            if like and here[number].net is not None:
                chosen = number if number in like else like[0]
                left.remove(chosen)
                yield here[number], there[chosen]
            else:
                again.append((number, role))
        for number, role in again:
            left = roles.get(role, [])
            if left:
                chosen = number if number in left else left[0]
                left.remove(chosen)
                yield here[number], there[chosen]


def _exchanged(part: Part, other: Part) -> Iterator[tuple[Pin, Pin]]:
    """Pins of two parts that differ: those of one number that do the same, by their names, in two
    chips; else those of one number."""
    for pin in part.pins:
        second = other.pin(pin.number)
        if second is not None and second.number == pin.number:
            yield pin, second


def _unit_pairs(pairing: Pairing, name: str, other: str) -> dict[int, int]:
    """Place of each unit among those of the partner; those that were not paired keep theirs."""
    old, new = pairing.old, pairing.new
    found = {0: 0}
    count = len(old.units[name])
    places = {node: place for (part, place), node in new.unit_node.items() if part == other}
    for place in range(1, count):
        node = pairing.one.get(old.unit_node[name, place])
        if node is not None and node in places:
            found[place] = places[node]
    kinds = [unit.kind for unit in new.units[other]]
    left = [place for place in range(1, count) if place not in found.values()]
    for place in range(1, count):
        if place in found:
            continue
        kind = old.units[name][place].kind
        same = [k for k in left if kinds[k] == kind]
        found[place] = place if place in same else same[0]
        left.remove(found[place])
    return found


def _swapped(
    part: Part, other: Part, pins: Mapping[str, str]
) -> Iterator[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    """The outputs, or ends, that are now on other pins of the package."""
    before: list[str] = []
    after: list[str] = []
    for pin in part.pins:
        label = pins.get(pin.label)
        if label is None:
            continue
        number = label.removeprefix(f"{other.name}.")
        if number != pin.number and pin.kind.drives:
            before.append(pin.number)
            after.append(number)
    if before:
        yield part.name, tuple(before), tuple(after)


def net_called(net: Net) -> str:
    """A net's name, or its pins if nobody gave it one."""
    if given(net.name):
        return net.name
    labels = [pin.label for pin in net.pins]
    more = f" and {len(labels) - 3} more" if len(labels) > 3 else ""
    return f"the net of {', '.join(labels[:3])}{more}"


def given(name: str) -> bool:
    """Whether somebody gave a net its name: those that are made up are called after a pin."""
    return "." not in name
