"""What each net of a drawing is to be called, before names are made legal.

A net has one label, further ones as aliases; labels with numbers form vectors.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.edif.flatten import Drawing, FlatPort
from breadproof.specs.edif.model import Property, array_range
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
    found = Labelled()
    first = {net: nets[0] for nets in supplies.values() for net in nets}
    rail_of = {net: rail for rail, nets in supplies.items() for net in nets}
    taken = set(supplies)
    by_port: dict[int, list[tuple[str, str, int]]] = {}
    claimed: dict[tuple[str, int], str] = {}
    for port in drawing.ports:
        for place, (label, number) in enumerate(zip(port.labels, port.nets, strict=True)):
            by_port.setdefault(number, []).append((label, port.name, place))
            if number not in rail_of or not is_supply(label, rail_of[number]):
                claimed[port.name, place] = _free(label, taken)
    for number, net in enumerate(drawing.nets):
        target, rail = first.get(number, number), rail_of.get(number, "")
        if rail and rail not in found.net_of:
            found.add(rail, target)
            found.supplies[rail] = rail
        ports = {
            label: claimed.get((name, place), rail)
            for label, name, place in by_port.get(number, [])
        }
        for label, name, place in by_port.get(number, []):
            found.port_label[name, place] = ports[label]
        wanted = list(ports.values())
        if told:
            wanted = [ports.get(name) or name for name in net.names if name != rail]
            wanted += ports.values()
        for label in dict.fromkeys(wanted):
            if label not in found.net_of:
                found.add(label, target)
                taken.add(label)
        if target not in found.main:
            found.add(_free(net.names[0], taken), target)
        found.main[number] = found.main[target]
    _vectors(found, drawing, told)
    return found


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
