"""Chips of a near type in each other's place: those of the catalogue that fit, pin for pin.

A chip fits another's socket if it exists in the same family, has as many pins, its supply and
ground where the other has them, and at each other pin the same direction: what was an input is one,
what was an output drives (a three-state or open-collector output is no other direction).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from breadproof.specs.catalogue.catalogue import Catalogue, Chip
from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.netlist.model import BoardFormula, Netlist, NetlistNames, Part
from breadproof.specs.netlist.rewire import exchanged
from breadproof.verify.faults.fault import Fault

Shape = tuple[tuple[str, str], ...]
"""Number and direction of each pin."""


@dataclass
class TypeFaults:
    """The chips of one board that may be taken for others of ``catalogue``."""

    netlist: Netlist
    catalogue: Catalogue

    @cached_property
    def by_shape(self) -> dict[tuple[str, Shape], list[PartType]]:
        """The types of each family and shape, in the catalogue's order."""
        found: dict[tuple[str, Shape], list[PartType]] = {}
        for number in self.catalogue.numbers():
            for form in self.catalogue.part(number).forms():
                for family in form.families:
                    if not form.moments:
                        found.setdefault((family, shape(form)), []).append(form)
        return found

    def faults(self) -> Iterator[Fault]:
        """Each chip's near types in its place."""
        for part in self.netlist.parts:
            for chip in self.near(part):
                yield Fault(
                    name=f"type:{part.name}-{chip.printed}",
                    kind="type",
                    says=f"{part.name} is a {chip.printed}, not a {part.printed}",
                    pins=tuple(pin.label for pin in part.pins),
                    make=Exchanged(self.netlist, part.name, chip),
                    delta=None,
                )

    def near(self, part: Part) -> Iterator[Chip]:
        """The chips that fit a part's place, but for its own type."""
        if part.device != "chip" or part.family is None or part.type.moments:
            return
        family = part.family
        name = family.name.removeprefix("54")
        for other in self.by_shape.get((name, shape(part.type)), ()):
            if other.number != part.type.number:
                yield Chip(type=other, family=family, printed=printed(part, other))


def shape(kind: PartType) -> Shape:
    """What a chip's pins are to the board, by number."""
    return tuple(sorted((pin.number, _direction(pin.kind)) for pin in kind.pins))


def _direction(kind: PinKind) -> str:
    match kind:
        case PinKind.OUT | PinKind.THREE_STATE | PinKind.OPEN_COLLECTOR:
            return "out"
        case PinKind.BIDIRECTIONAL | PinKind.WIRED_AND:
            return "both"
    return str(kind.value)


def printed(part: Part, other: PartType) -> str:
    """What is printed on a chip of another number that otherwise looks the same."""
    head, number, tail = part.printed.rpartition(part.type.number)
    return f"{head}{other.number}{tail}" if number else other.number


@dataclass(frozen=True, slots=True)
class Exchanged:
    """Makes the board with another chip in a part's place."""

    netlist: Netlist
    part: str
    chip: Chip

    def __call__(self) -> Netlist:
        """The board with the fault."""
        made = exchanged(self.netlist, self.part, self.chip)
        return replace(made, formulas=by_number(self.netlist, made))


def by_number(old: Netlist, new: Netlist) -> tuple[BoardFormula, ...]:
    """The formulas of a board in which a chip is of another type: a pin that is called otherwise
    now is named by its number."""
    before, after = NetlistNames(old), NetlistNames(new)

    def path(text: str) -> str:
        head, dot, rest = text.partition(".")
        one, other = before.parts.get(head), after.parts.get(head)
        if not dot or one is None or other is None or one.type is other.type:
            return text
        pin = one.pin(rest)
        return text if pin is None else f"{head}.{pin.number}"

    return tuple(replace(one, expr=renamed(one.expr, path)) for one in old.formulas)
