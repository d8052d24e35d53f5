"""A place on breadboards for every chip of a board that is given as nets alone.

Simple and readable, not short: chips stand in the order of the board file, from left to right,
board after board, notch to the left, a column free between two. Capacitors from a supply to ground
go across the rails at the chips, resistors and diodes over columns of their own behind them.
Switches, buttons, lamps and connectors stand nowhere: they are the front panel.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from breadproof.specs.breadboard.footprints import NARROW, Offset, footprint
from breadproof.specs.breadboard.geometry import (
    COLUMNS,
    Breadboard,
    Hole,
    Rail,
    Side,
    across,
)
from breadproof.specs.breadboard.model import Layout, Leg, PinEnd, Place
from breadproof.specs.netlist.model import Netlist, Part

PANEL = frozenset(
    {
        "push-button", "spdt", "dip-switch", "led", "led-bar", "connector", "display",
        "rotary-dip", "jumper", "potentiometer", "test-point",
    }
)  # fmt: skip
"""What people press, turn, plug and look at."""
LARGEST = 60
"""Parts of more legs stand nowhere, either; a board has 63 columns."""
_SPAN = 4
"""Columns from one leg of a resistor to the other."""


def placed(netlist: Netlist) -> Netlist:
    """The netlist with a layout; one that has breadboards already is left as it is."""
    if netlist.layout.boards:
        return netlist
    planner = _Planner(netlist)
    planner.place()
    return replace(netlist, layout=planner.layout())


@dataclass(slots=True)
class _Planner:
    netlist: Netlist
    boards: list[Breadboard] = field(default_factory=list)
    legs: list[Leg] = field(default_factory=list)
    column: int = 0
    chips: list[tuple[str, int]] = field(default_factory=list)
    """Board and first column of each chip."""
    small: dict[tuple[str, str], int] = field(default_factory=dict)
    """The first free column, by board and side, behind the chips."""

    def place(self) -> None:
        parts = [part for part in self.netlist.parts if part.device not in PANEL]
        small: list[Part] = []
        for part in parts:
            legs = footprint(part.type, part.device, part.ways, part.isolated)
            if len(part.pins if legs is None else legs) > LARGEST:
                continue  # it is longer than a breadboard, and stands beside it
            if legs is None:
                small.append(part)
            else:
                self.across_trench(part, dict(legs))
        caps = [part for part in small if self.supplies(part)]
        for number, part in enumerate(caps):
            self.on_rails(part, number)
        for part in small:
            if part not in caps:
                self.flat(part)

    def layout(self) -> Layout:
        return Layout(boards=tuple(self.boards), legs=tuple(self.legs))

    # chips ------------------------------------------------------------------------------------

    def across_trench(self, part: Part, legs: dict[str, Offset]) -> None:
        wide = max(along for along, _ in legs.values()) + 1
        over = max(offset for _, offset in legs.values())
        row = "e" if over == NARROW else "d" if over else "c"
        board, first = self.room(wide)
        self.chips.append((board, first))
        for number, (along, offset) in legs.items():
            other = across(row, offset)
            if other is None:
                raise AssertionError(f"no row for {part.name}.{number}")
            self.leg(part, number, Hole(board, other, first + along))

    def room(self, wide: int) -> tuple[str, int]:
        """So many columns that are free on both sides: the board, and the first of them."""
        columns = COLUMNS["830"]
        if not self.boards or self.column + wide > columns:
            self.boards.append(
                Breadboard(name=f"b{len(self.boards) + 1}", columns=columns, split=False)
            )
            self.column = 1
        first = self.column + 1 if self.column == 1 else self.column
        self.column = first + wide + 1
        return self.boards[-1].name, first

    # small parts ------------------------------------------------------------------------------

    def supplies(self, part: Part) -> bool:
        """Whether a part of two legs is between a supply and ground."""
        rails = [self.netlist.nets[p.net].rail for p in part.pins if p.net is not None]
        return len(part.pins) == len(rails) == 2 and 0.0 in rails and any(rails)

    def on_rails(self, part: Part, number: int) -> None:
        """A capacitor at a chip, from rail to rail; the first plus rail is the first supply's."""
        if not self.chips:
            self.room(2)
            self.chips.append((self.boards[-1].name, 2))
        board, _ = self.chips[number % len(self.chips)]
        side: Side = "upper" if number // len(self.chips) % 2 == 0 else "lower"
        for pin in part.pins:
            rail = self.netlist.nets[pin.net].rail if pin.net is not None else None
            self.leg(part, pin.number, Rail(board, side, "+" if rail else "-"))

    def flat(self, part: Part) -> None:
        """Legs in a row, in columns of their own."""
        wide = _SPAN if len(part.pins) == 2 else len(part.pins)
        board, side, first = next(self.free(wide), None) or self.fresh(wide)
        row = "b" if side == "lower" else "i"
        for number, pin in enumerate(part.pins):
            along = number * (_SPAN - 1) if len(part.pins) == 2 else number
            self.leg(part, pin.number, Hole(board, row, first + along))

    def fresh(self, wide: int) -> tuple[str, Side, int]:
        """Columns on another board."""
        board, first = self.room(wide)
        self.small[board, "lower"] = first + wide
        self.small[board, "upper"] = first
        return board, "lower", first

    def free(self, wide: int) -> Iterator[tuple[str, Side, int]]:
        """Where so many columns are free behind the last chip of a board."""
        sides: tuple[Side, ...] = ("lower", "upper")
        ends = dict.fromkeys((board.name for board in self.boards), 1)
        for leg in self.legs:
            if isinstance(leg.place, Hole) and leg.place.row not in "bi":
                ends[leg.place.board] = max(ends[leg.place.board], leg.place.column)
        for board in self.boards:
            for side in sides:
                first = self.small.get((board.name, side), ends[board.name] + 2)
                if first + wide - 1 <= board.columns:
                    self.small[board.name, side] = first + wide
                    yield board.name, side, first

    def leg(self, part: Part, number: str, place: Place) -> None:
        self.legs.append(Leg(pin=PinEnd(part.name, number), place=place, span=part.span))
