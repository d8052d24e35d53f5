"""What the wiring rules find of single wiring faults, rule by rule, and how often they cry wolf.

Run by hand: ``python -m tests.bench.bench_faults [FAULTS]``. The faults are those of builders
(common practice): a wire left out, a wire one hole off, two wires crossed, a supply wire forgotten;
each is made on the light-store as it stands on breadboards. A fault is found if a warning or error
of a bus is no fault of the wiring as such.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

from breadproof.specs.breadboard.geometry import Hole, NoHole, find
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.connect import connect
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.board import Board, read_board
from breadproof.specs.reading.diagnostics import Problems, Severity
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Text
from breadproof.verify.wiring.registry import check_wiring

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"
UNBROKEN = ("light-store.yaml", "light-store-holes.yaml", "tempo.yaml", "sequencer.yaml")
Found = frozenset[tuple[str, tuple[str, ...]]]


def findings(netlist: Netlist) -> Found:
    """Warnings and errors as (code, pins)."""
    told = check_wiring(netlist)
    return frozenset((f.code, f.pins) for f in told if f.severity is not Severity.NOTE)


class Faults:
    """Makes faults on one board."""

    def __init__(self, board: Board, netlist: Netlist, dice: Random) -> None:
        self.board = board
        self.netlist = netlist
        self.dice = dice
        self.boards = {one.name: one for one in netlist.layout.boards}
        legs = [leg.place for leg in netlist.layout.legs]
        ends = [end for wire in netlist.layout.wires for end in wire.ends]
        self.taken = {place for place in (*legs, *ends) if isinstance(place, Hole)}

    def dropped(self) -> tuple[WireEntry, ...]:
        """A wire left out."""
        wires = list(self.board.wires)
        del wires[self.dice.randrange(len(wires))]
        return tuple(wires)

    def supply(self) -> tuple[WireEntry, ...]:
        """A wire from a chip to a rail left out."""
        places = [
            place
            for place, wire in enumerate(self.board.wires)
            if any("+" in end.value or "-" in end.value for end in wire.ends)
        ]
        drop = self.dice.choice(places)
        return tuple(wire for place, wire in enumerate(self.board.wires) if place != drop)

    def beside(self) -> tuple[WireEntry, ...]:
        """A wire's end one column over, in a free hole there."""
        while True:
            place = self.dice.randrange(len(self.board.wires))
            side = self.dice.randrange(2)
            wire = self.board.wires[place]
            end = self.moved(wire.ends[side])
            if end is not None:
                ends = (end, wire.ends[1]) if side == 0 else (wire.ends[0], end)
                return self.with_wire(place, replace(wire, ends=ends))

    def moved(self, end: Text) -> Text | None:
        board, _, place = end.value.partition(".")
        if board not in self.boards:
            return None
        hole = find(self.boards[board], place)
        if not isinstance(hole, Hole):
            return None
        step = self.dice.choice((-1, 1))
        try:
            near = find(self.boards[board], f"{hole.row}{hole.column + step}")
        except NoHole:
            return None
        if not isinstance(near, Hole):
            return None
        free = [other for other in near.tie.holes if other not in self.taken]
        return replace(end, value=free[0].label) if free else None

    def crossed(self) -> tuple[WireEntry, ...]:
        """Two wires with their second ends exchanged."""
        one, other = self.dice.sample(range(len(self.board.wires)), 2)
        first, second = self.board.wires[one], self.board.wires[other]
        wires = list(self.board.wires)
        wires[one] = replace(first, ends=(first.ends[0], second.ends[1]))
        wires[other] = replace(second, ends=(second.ends[0], first.ends[1]))
        return tuple(wires)

    def with_wire(self, place: int, wire: WireEntry) -> tuple[WireEntry, ...]:
        return (*self.board.wires[:place], wire, *self.board.wires[place + 1 :])


def main() -> None:
    """Print the false alarms, then for each kind of fault the share found, and by which rules."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for name in UNBROKEN:
        alarms = len(findings(load_netlist(BOARDS / name)))
        sys.stdout.write(f"{name:28} {alarms} false alarms\n")
    path = BOARDS / "light-store-holes.yaml"
    board = read_board(path, Problems())
    if board is None:
        raise SystemExit("the board cannot be read")
    netlist = load_netlist(path)
    faults = Faults(board, netlist, Random(7400))
    makers: dict[str, Callable[[], tuple[WireEntry, ...]]] = {
        "a wire left out": faults.dropped,
        "a supply wire left out": faults.supply,
        "a wire one hole off": faults.beside,
        "two wires crossed": faults.crossed,
    }
    sound = findings(netlist)
    for kind, make in makers.items():
        by_rule: Counter[str] = Counter()
        found = 0
        for _ in range(number):
            told = findings(connect(replace(board, wires=make()), Problems())) - sound
            found += bool(told)
            by_rule.update({code for code, _ in told})
        rules = ", ".join(f"{code} {times}" for code, times in by_rule.most_common())
        sys.stdout.write(f"{kind:28} {found} of {number} found: {rules}\n")


if __name__ == "__main__":
    main()
