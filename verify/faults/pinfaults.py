"""Faults at pins: what becomes of a board whose wires are known as nets alone.

Each pin is taken to have a wire of its own to its net. Left out, the pin is open; with its end one
pin over, the pin is open and its neighbour is on its net, with all that the neighbour was on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from breadproof.specs.breadboard.footprints import footprint
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Netlist, Part, Pin
from breadproof.specs.netlist.rewire import rewired
from breadproof.verify.faults.fault import Delta, Fault, Group, delta, holders
from breadproof.verify.wiring.finding import called


def neighbours(part: Part) -> tuple[tuple[Pin, Pin], ...]:
    """Pins that stand side by side, a tenth of an inch apart along one row, in order.

    None where the part has no form of its own, as what has legs of wire.
    """
    legs = footprint(part.type, part.device, part.ways, part.isolated)
    if legs is None:
        return ()
    at = {place: number for number, place in legs.items()}
    pins = {pin.number: pin for pin in part.pins}
    pairs = (
        (number, at.get((along + 1, across)))
        for (along, across), number in sorted(at.items(), key=lambda item: (item[0][1], item[0]))
    )
    return tuple((pins[one], pins[other]) for one, other in pairs if one in pins and other in pins)


@dataclass
class PinFaults:
    """The faults at the pins of one board; ``only`` these pins have a wire of their own, if it is
    given."""

    netlist: Netlist
    only: Collection[str] | None = None
    pairs: list[tuple[Pin, Pin]] = field(init=False)

    def __post_init__(self) -> None:
        self.pairs = [pair for part in self.netlist.parts for pair in neighbours(part)]

    @cached_property
    def groups(self) -> list[Group]:
        """What is joined, by net."""
        held = holders(self.netlist)
        return [
            frozenset([*(pin.label for pin in net.pins), *held.get(net.index, ())])
            for net in self.netlist.nets
        ]

    def wired(self, pin: Pin) -> bool:
        """Whether a wire goes to the pin."""
        if pin.net is None or pin.kind is PinKind.MOMENT:
            return False
        return self.only is None or pin.label in self.only

    def opens(self) -> Iterator[Fault]:
        """Each pin off its net."""
        for pin in self.netlist.pins():
            if self.wired(pin):
                yield Fault(
                    name=f"open:{pin.label}",
                    kind="open",
                    says=f"the wire of {called(pin)} to {self.net_words(pin)} is left out",
                    pins=(pin.label,),
                    make=Rewiring(self.netlist, {pin.label: None}),
                    delta=self.delta({pin.label: None}),
                )

    def moved(self) -> Iterator[Fault]:
        """Each pin's wire at the pin before and the pin after it in the package."""
        for pin, other in (both for a, b in self.pairs for both in ((a, b), (b, a))):
            if not self.wired(pin):
                continue
            moves: dict[str, int | None] = {pin.label: None}
            joins: tuple[tuple[int, int], ...] = ()
            if other.net is None:
                moves[other.label] = pin.net
            elif pin.net is not None:
                joins = ((pin.net, other.net),)
            yield Fault(
                name=f"moved:{pin.label}-{other.number}",
                kind="moved",
                says=f"the wire of {called(pin)} to {self.net_words(pin)} is at {called(other)}",
                pins=(pin.label, other.label),
                make=Rewiring(self.netlist, moves, joins),
                delta=self.delta(moves, joins),
            )

    def bridges(self) -> Iterator[Fault]:
        """Pins beside each other, joined."""
        for a, b in self.pairs:
            moves: dict[str, int | None] = {}
            joins: tuple[tuple[int, int], ...] = ()
            if a.net is not None and b.net is not None:
                joins = ((a.net, b.net),)
            elif a.net is None and b.net is None:
                moves = dict.fromkeys((a.label, b.label), len(self.netlist.nets))
            else:
                moves = {a.label: b.net} if a.net is None else {b.label: a.net}
            yield Fault(
                name=f"bridge:{a.label}-{b.number}",
                kind="bridge",
                says=f"{called(a)} and {called(b)} are bridged",
                pins=(a.label, b.label),
                make=Rewiring(self.netlist, moves, joins),
                delta=self.delta(moves, joins),
            )

    def net_words(self, pin: Pin) -> str:
        """A pin's net by its name, or by another pin if nobody gave it one."""
        if pin.net is None:
            return "nothing"
        net = self.netlist.nets[pin.net]
        if "." not in net.name:
            return net.name
        return next((one.label for one in net.pins if one.label != pin.label), "nothing")

    def delta(
        self, moves: Mapping[str, int | None], joins: tuple[tuple[int, int], ...] = ()
    ) -> Delta:
        """What changes, without making the board."""
        own = {pin.label: pin.net for pin in self.pins(moves)}
        nets = {net for pair in joins for net in pair} | {*moves.values(), *own.values()}
        new = len(self.groups)
        before = {net: self.groups[net] for net in nets if net is not None and net < new}
        after = {net: set(before.get(net, ())) for net in nets if net is not None}
        for label, net in moves.items():
            old = own[label]
            if old is not None:
                after[old].discard(label)
            if net is not None:
                after[net].add(label)
        for one, other in joins:
            if one != other:
                after[one] |= after.pop(other)
        told = (frozenset(group) for group in after.values())
        return delta(
            frozenset(group for group in before.values() if len(group) > 1),
            frozenset(group for group in told if len(group) > 1),
        )

    def pins(self, labels: Collection[str]) -> Iterator[Pin]:
        """The pins of these labels."""
        yield from (self.by_label[label] for label in labels)

    @cached_property
    def by_label(self) -> dict[str, Pin]:
        """All pins."""
        return {pin.label: pin for pin in self.netlist.pins()}


@dataclass(frozen=True, slots=True)
class Rewiring:
    """Makes the board with pins moved and nets joined."""

    netlist: Netlist
    moves: Mapping[str, int | None]
    joins: tuple[tuple[int, int], ...] = ()

    def __call__(self) -> Netlist:
        """The board with the fault."""
        return rewired(self.netlist, self.moves, self.joins)
