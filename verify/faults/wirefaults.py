"""Faults of the wires of a board file: one left out, or with an end in the place beside.

Beside a hole is the column before and after it, if a hole is free there; beside a rail the other
rail of the pair; beside a pin of what stands nowhere the neighbouring pins of its package.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from networkx.utils import UnionFind

from breadproof.specs.breadboard.geometry import Breadboard, Hole, Rail, Tie
from breadproof.specs.breadboard.model import End, NetEnd, PinEnd, joined
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.netlist.connect import connect
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.board import Board
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.wires import WireEntry
from breadproof.verify.faults.fault import Delta, Fault, Kind, Wiring, delta
from breadproof.verify.faults.pinfaults import neighbours

_OTHER_SIGN = str.maketrans("+-", "-+")


@dataclass
class WireFaults:
    """The faults of the wires of one board; ``folders`` hold the user's own part files."""

    board: Board
    netlist: Netlist
    folders: Sequence[Path] = ()

    @cached_property
    def joints(self) -> Joints:
        """What joins what on the board as it is."""
        return Joints(self.board, self.netlist)

    @cached_property
    def taken(self) -> frozenset[Hole]:
        """Holes that something is in."""
        layout = self.netlist.layout
        places = [leg.place for leg in layout.legs]
        ends = [end for wire in layout.wires for end in wire.ends]
        return frozenset(place for place in (*places, *ends) if isinstance(place, Hole))

    @property
    def loose_pins(self) -> frozenset[str]:
        """Pins that nets list, and that no hole and no wire holds: they have a wire of their own,
        as on a board of nets alone."""
        layout = self.netlist.layout
        held = {leg.pin.label for leg in layout.legs}
        held |= {e.label for wire in layout.wires for e in wire.ends if isinstance(e, PinEnd)}
        return frozenset(
            pin.label for net in self.netlist.nets for pin in net.pins if pin.label not in held
        )

    def opens(self) -> Iterator[Fault]:
        """Each wire left out."""
        for place, wire in enumerate(self.board.wires):
            ends = [end.value for end in wire.ends]
            yield self.fault(
                "open",
                f"open:{ends[0]}-{ends[1]}",
                f"the wire from {ends[0]} to {ends[1]} is left out",
                place,
            )

    def moved(self) -> Iterator[Fault]:
        """Each wire's end in the place beside."""
        for place, wire in enumerate(self.board.wires):
            for side in (0, 1):
                fixed, end = wire.ends[1 - side], wire.ends[side]
                stays = self.netlist.layout.wires[place].ends[1 - side]
                for beside, where in self.beside(place, side):
                    new = replace(end, value=beside)
                    ends = (new, wire.ends[1]) if side == 0 else (wire.ends[0], new)
                    yield self.fault(
                        "moved",
                        f"moved:{fixed.value}-{end.value}:{beside}",
                        f"the wire from {fixed.value} to {end.value} is at {beside}",
                        place,
                        replace(wire, ends=ends),
                        (stays, where),
                    )

    def beside(self, place: int, side: int) -> Iterator[tuple[str, End]]:
        """The places beside an end, as the file would have them, and as they are."""
        end = self.netlist.layout.wires[place].ends[side]
        if isinstance(end, Hole):
            board = self.boards[end.board]
            for step in (-1, 1):
                if not 1 <= end.column + step <= board.columns:
                    continue
                tie = Hole(end.board, end.row, end.column + step).tie
                yield from [(hole.label, hole) for hole in tie.holes if hole not in self.taken][:1]
        elif isinstance(end, Rail):
            text = self.board.wires[place].ends[side].value.translate(_OTHER_SIGN)
            yield text, replace(end, sign=end.sign.translate(_OTHER_SIGN))
        elif isinstance(end, PinEnd):
            part = self.netlist.part(end.part)
            for a, b in neighbours(part) if part is not None else ():
                for one, other in ((a, b), (b, a)):
                    if one.number == end.number:
                        yield other.label, PinEnd(other.part, other.number)

    @cached_property
    def boards(self) -> dict[str, Breadboard]:
        """The breadboards by name."""
        return {one.name: one for one in self.netlist.layout.boards}

    def fault(
        self,
        kind: Kind,
        name: str,
        says: str,
        place: int,
        wire: WireEntry | None = None,
        ends: tuple[End, End] | None = None,
    ) -> Fault:
        """The fault that a wire is another one, with these ends, or none."""
        wires = [*self.board.wires]
        wires[place : place + 1] = [] if wire is None else [wire]
        return Fault(
            name=name,
            kind=kind,
            says=says,
            pins=self.pins(place),
            make=Rewired(replace(self.board, wires=tuple(wires)), tuple(self.folders)),
            delta=self.joints.delta(place, ends),
        )

    def pins(self, place: int) -> tuple[str, ...]:
        """The pins at the ends of a wire: what it holds, or what stands in its columns."""
        legs: dict[Tie, list[str]] = {}
        for leg in self.netlist.layout.legs:
            if isinstance(leg.place, Hole):
                legs.setdefault(leg.place.tie, []).append(leg.pin.label)
        found: list[str] = []
        for end in self.netlist.layout.wires[place].ends:
            if isinstance(end, PinEnd):
                found.append(end.label)
            elif isinstance(end, Hole):
                found += legs.get(end.tie, ())
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Rewired:
    """Makes the board of a changed file."""

    board: Board
    folders: tuple[Path, ...]

    def __call__(self) -> Netlist:
        """The board with the fault.

        Raises:
            BadInput: what the file says of its names cannot be said of it.
        """
        problems = Problems()
        netlist = connect(self.board, problems, self.folders)
        problems.stop_if_any()
        return netlist


class Joints:
    """What joins what on a board with wires: legs and holes, ends of wires, pins that nets list.

    What a changed wire comes to is found in the part of the board alone that it joins.
    """

    def __init__(self, board: Board, netlist: Netlist) -> None:
        """Find what is joined now."""
        layout = netlist.layout
        self.wires = [(_node(one.ends[0]), _node(one.ends[1])) for one in layout.wires]
        self.held: dict[Hashable, list[str]] = {}
        volts = dict(netlist.rails)
        fixed: list[tuple[Hashable, Hashable]] = [
            ((leg.pin.part, leg.pin.number), joined(leg.place)) for leg in layout.legs
        ]
        fixed += [(NetEnd(name), _node(end)) for name, end, _ in layout.names]
        fixed += list(_listed(board, netlist))
        for name, value in volts.items():
            self.held.setdefault(NetEnd(name), []).append(f"rail:{value:g}")
        for port in netlist.ports:
            for place, index in enumerate(port.nets):
                net = NetEnd(netlist.nets[index].name)
                self.held.setdefault(net, []).append(f"port:{port.name}.{place}")
        self.part_of: UnionFind[Hashable] = UnionFind()
        for one, other in (*fixed, *self.wires):
            self.part_of.union(one, other)
        self.fixed: dict[Hashable, list[tuple[Hashable, Hashable]]] = {}
        for pair in fixed:
            self.fixed.setdefault(self.part_of[pair[0]], []).append(pair)
        self.wired: dict[Hashable, list[int]] = {}
        for number, pair in enumerate(self.wires):
            self.wired.setdefault(self.part_of[pair[0]], []).append(number)

    def delta(self, place: int, ends: tuple[End, End] | None) -> Delta:
        """What changes if a wire has other ends, or is not there."""
        now = () if ends is None else ((_node(ends[0]), _node(ends[1])),)
        nodes = {self.wires[place][0], *(end for pair in now for end in pair)}
        parts = {self.part_of[node] for node in nodes}
        numbers = [number for part in parts for number in self.wired.get(part, ())]
        fixed = [pair for part in parts for pair in self.fixed.get(part, ())]
        before = [*fixed, *(self.wires[number] for number in numbers)]
        after = [*fixed, *(self.wires[number] for number in numbers if number != place), *now]
        return delta(self.groups(before), self.groups(after))

    def groups(self, pairs: Sequence[tuple[Hashable, Hashable]]) -> Wiring:
        """What these joints join."""
        find: UnionFind[Hashable] = UnionFind()
        for one, other in pairs:
            find.union(one, other)
        found: list[frozenset[str]] = []
        for nodes in find.to_sets():
            told = [f"{node[0]}.{node[1]}" for node in nodes if isinstance(node, tuple)]
            told += [word for node in nodes for word in self.held.get(node, ())]
            found.append(frozenset(told))
        return frozenset(group for group in found if len(group) > 1)


def _node(end: End) -> Hashable:
    """What an end of a wire is at."""
    if isinstance(end, PinEnd):
        return (end.part, end.number)
    return end if isinstance(end, NetEnd) else joined(end)


def _listed(board: Board, netlist: Netlist) -> Iterator[tuple[Hashable, Hashable]]:
    """What the nets of the file join: each pin with its net's name."""
    parts = {part.name: part for part in netlist.parts}
    for entry in board.nets:
        places = [(place, ref) for row in entry.rows for place, ref in enumerate(row)]
        numbers = indices(entry.left, entry.right)
        for place, ref in (*places, *entry.more):
            pin = parts[ref.part].pin(ref.pin) if ref.part in parts else None
            name = f"{entry.name}[{numbers[place]}]" if entry.vector else entry.name
            if pin is not None:
                yield (pin.part, pin.number), NetEnd(name)
