"""What each net of a drawing is to be called, before names are made legal.

A net has one label, further ones as aliases; labels with numbers form vectors.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.edif.flatten import Drawing, FlatPort
from breadproof.specs.edif.model import Property, array_range, bit_of
from breadproof.specs.edif.naming import Bits, seen_vectors, told_vectors
from breadproof.specs.edif.pins import GROUNDS, SUPPLIES


@dataclass(slots=True)
class Labelled:
    """``net_of`` has all labels, in order; ``main`` the label of each net.

    ``supplies`` are labels that are rails, with the rail's name; ``aliases`` further labels.
    """

    net_of: dict[str, int] = field(default_factory=dict)
    main: dict[int, str] = field(default_factory=dict)
    supplies: dict[str, str] = field(default_factory=dict)
    aliases: list[str] = field(default_factory=list)
    vectors: list[Bits] = field(default_factory=list)
    vector_of: dict[str, Bits] = field(default_factory=dict)
    port_label: dict[tuple[str, int], str] = field(default_factory=dict)
    """The label of each bit of a port, by the port's name and the place of the bit."""

    def add(self, label: str, net: int) -> None:
        """One more label of a net: its first is the main one, the others are aliases."""
        self.net_of[label] = net
        if net in self.main:
            self.aliases.append(label)
        else:
            self.main[net] = label

    def mains(self) -> list[str]:
        """The main labels, in the order of the nets."""
        aliases = set(self.aliases)
        return [label for label in self.net_of if label not in aliases]

    def label_of(self, rail: str) -> str:
        """The label of a supply."""
        return next(label for label, name in self.supplies.items() if name == rail)

    def add_supply(self, rail: str) -> None:
        """A supply that the drawing does not show at all; it is net -1 or -2."""
        if rail not in self.supplies.values():
            self.add(rail, -1 - sum(net < 0 for net in self.net_of.values()))
            self.supplies[rail] = rail

    def port_labels(self, port: FlatPort) -> list[str]:
        """The label of each bit of a port."""
        return [self.port_label[port.name, place] for place in range(len(port.nets))]


def labelled(
    drawing: Drawing,
    supplies: dict[str, tuple[int, ...]],
    told: dict[str, tuple[Property, ...]],
) -> Labelled:
    """The labels of a drawing's nets.

    A net is called as its rail, else as the port that it leaves by, else by its first name. Several
    ports on one net are aliases; so are further names, in a file that was written here (``told``).
    """
    first = _first(supplies)
    rails_of: dict[int, list[str]] = {}
    for rail, nets in supplies.items():
        for net in nets:
            rails = rails_of.setdefault(first[net], [])
            rails += [rail] if rail not in rails else []
    ports = _port_labels(drawing, {net: rails_of[place][0] for net, place in first.items()})
    found = Labelled(port_label={place: label for one in ports.values() for place, label in one})
    taken = {*supplies, *found.port_label.values()}
    for number, flat in enumerate(drawing.nets):
        target = first.get(number, number)
        for rail in rails_of.get(target, ()):
            if rail not in found.net_of:  # more than one: supplies that are joined
                found.add(rail, target)
                found.supplies[rail] = rail
        wanted = [label for _, label in ports.get(number, ())]
        if told:
            wanted = [*flat.names, *wanted]
        for label in dict.fromkeys(wanted):
            if label not in found.net_of:
                found.add(label, target)
                taken.add(label)
        if target not in found.main:
            found.add(_free(flat.names[0], taken), target)
        found.main[number] = found.main[target]
    _vectors(found, drawing, told)
    return found


def _port_labels(
    drawing: Drawing, rail_of: dict[int, str]
) -> dict[int, list[tuple[tuple[str, int], str]]]:
    """The labels that ports give to nets: the port and bit of each, and the label."""
    found: dict[int, list[tuple[tuple[str, int], str]]] = {}
    taken = set(rail_of.values())
    for port in drawing.ports:
        for place, (label, net) in enumerate(zip(_bits_of(port, drawing), port.nets, strict=True)):
            rail = rail_of.get(net, "")
            plain = rail if rail and is_supply(label, rail) else _free(label, taken)
            found.setdefault(net, []).append(((port.name, place), plain))
    return found


def _bits_of(port: FlatPort, drawing: Drawing) -> tuple[str, ...]:
    """The labels of a port's bits; of an array without numbers those of its nets, if they agree."""
    if port.sure:
        return port.labels
    names = tuple(drawing.nets[net].names[0] for net in port.nets)
    bits = [bit_of(name) for name in names]
    stems = {bit[0] for bit in bits if bit is not None}
    if len(stems) == 1 and None not in bits and len(set(names)) == len(names):
        return names
    return port.labels


def _first(supplies: dict[str, tuple[int, ...]]) -> dict[int, int]:
    """For each net of a supply, the one that stands for all that are joined with it."""
    first: dict[int, int] = {}
    for nets in supplies.values():
        joined = {first.get(net, net) for net in nets}
        base = min(joined)
        first.update(dict.fromkeys(nets, base))
        first.update({net: base for net, place in first.items() if place in joined})
    return first


def is_supply(label: str, rail: str) -> bool:
    """Whether a port on a rail is called as the rail is: it brings out nothing but a supply."""
    return label == rail or label.upper() in (*SUPPLIES, *GROUNDS)


def _free(name: str, taken: set[str]) -> str:
    found, number = name, 1
    while found in taken:
        number += 1
        found = f"{name}_{number}"
    taken.add(found)
    return found


def _vectors(found: Labelled, drawing: Drawing, told: dict[str, tuple[Property, ...]]) -> None:
    labels = [label for label in found.net_of if label not in found.supplies]
    if told:
        text = " ".join(one.value for one in told.get("vectors", ()))
        candidates = told_vectors(text, labels)
    else:
        shown = [net.name.shown for net in drawing.top.nets.values()]
        shown += [port.name.shown for port in drawing.top.ports.values()]
        ranges = [one for name in shown if (one := array_range(name)) is not None]
        ascending = frozenset(stem for stem, left, right in ranges if left < right)
        candidates = seen_vectors(labels, ascending)
    directions: dict[str, str] = {}
    for port in drawing.ports:
        for label in found.port_labels(port):
            directions[label] = port.direction
    for bits in candidates:
        ways = {directions.get(label) for label in bits.labels}
        if len(ways) == 1:  # all bits leave by ports alike, or none does
            found.vectors.append(bits)
            found.vector_of.update(dict.fromkeys(bits.labels, bits))
