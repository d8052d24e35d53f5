"""From nets and placed parts to jumpers: a short list of wires from hole to hole.

Each net is joined by a shortest tree over what it already has (halves of columns, rails, pins that
stand nowhere), grown as Kruskal (1956) does, with one hole for each end: a half column takes no
more wires than it has free holes. Supplies run along the rails: plus rails for the supply, minus
rails for ground, where nothing else is on them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from networkx.utils import UnionFind

from breadproof.specs.breadboard.geometry import Breadboard, Hole, Rail, Side, Tie
from breadproof.specs.breadboard.model import End, PinEnd, joined
from breadproof.specs.netlist.model import Netlist

Island = Tie | Rail | PinEnd
"""What a net has in one piece."""

BOARD_LENGTH = 70
"""Tenths of an inch from one breadboard to the next, laid end to end."""
OFF_BOARD = 90
"""What a wire to a pin that stands nowhere counts for: more than any on one board."""
LOOSE_WIRES = 2
"""Wires that go to a pin that stands nowhere."""
_RAIL_ROW = {"lower+": -3, "lower-": -4, "upper-": 15, "upper+": 16}
_TIE_ROW = {"lower": 2, "upper": 9}


@dataclass(frozen=True, slots=True, kw_only=True)
class Jumper:
    """A wire to be put in: from ``a`` to ``b`` for the net."""

    net: str
    a: End
    b: End
    tenths: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Routing:
    """All jumpers in the order of nets; ``open`` are nets that could not be joined in one."""

    jumpers: tuple[Jumper, ...]
    open: tuple[str, ...]


def route(netlist: Netlist) -> Routing:
    """The jumpers that a board still needs, those that its file has already left out."""
    router = _Router(netlist)
    jumpers = tuple(router.jumpers())
    return Routing(jumpers=jumpers, open=tuple(router.failed))


@dataclass(slots=True)
class _Router:
    netlist: Netlist
    place: dict[str, Tie | Rail] = field(default_factory=dict)
    used: set[Hole] = field(default_factory=set)
    failed: list[str] = field(default_factory=list)
    boards: dict[str, int] = field(default_factory=dict)
    wires_at: dict[PinEnd, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        layout = self.netlist.layout
        self.boards = {board.name: place for place, board in enumerate(layout.boards)}
        for leg in layout.legs:
            self.place[leg.pin.label] = joined(leg.place)
            if isinstance(leg.place, Hole):
                self.used.add(leg.place)
        for wire in layout.wires:
            self.used.update(end for end in wire.ends if isinstance(end, Hole))

    def jumpers(self) -> Iterator[Jumper]:
        islands: dict[int, dict[Island, None]] = {}
        for net in self.netlist.nets:
            here = islands.setdefault(net.index, {})
            for pin in net.pins:
                here[self.place.get(pin.label, PinEnd(pin.part, pin.number))] = None
        taken = {place for here in islands.values() for place in here if isinstance(place, Rail)}
        for net in self.netlist.nets:
            if net.rail is not None:
                for rail in self.rails(net.rail > 0):
                    if rail not in taken:
                        islands[net.index][rail] = None
                        taken.add(rail)
        for net in self.netlist.nets:
            yield from self.tree(net.name, list(islands[net.index]))

    def rails(self, plus: bool) -> Iterator[Rail]:
        """The rails for a supply, of boards on which anything stands; first come, first served."""
        standing = {place.board for place in self.place.values()}
        sides: tuple[Side, ...] = ("lower", "upper")
        for board in self.netlist.layout.boards:
            if board.name in standing:
                for side in sides:
                    for half in (1, 2) if board.split else (0,):
                        yield Rail(board.name, side, "+" if plus else "-", half)

    def tree(self, net: str, islands: list[Island]) -> Iterator[Jumper]:
        groups: UnionFind[Island] = UnionFind(islands)
        self.already(groups, set(islands))
        edges = sorted(
            (self.distance(a, b), a.label, b.label, place, other)
            for place, a in enumerate(islands)
            for other, b in enumerate(islands[place + 1 :], place + 1)
        )
        for tenths, _, _, place, other in edges:
            a, b = islands[place], islands[other]
            if groups[a] == groups[b]:
                continue
            ends = self.end(a, b), self.end(b, a)
            if ends[0] is None or ends[1] is None:
                continue
            groups.union(a, b)
            for end in ends:
                if isinstance(end, Hole):
                    self.used.add(end)
                elif isinstance(end, PinEnd):
                    self.wires_at[end] = self.wires_at.get(end, 0) + 1
            yield Jumper(net=net, a=ends[0], b=ends[1], tenths=tenths)
        pins = [one for one in islands if not isinstance(one, Rail) or self.wired(one)]
        if len({groups[one] for one in pins}) > 1:
            self.failed.append(net)

    def wired(self, rail: Rail) -> bool:
        """Whether anything stands on a rail by itself."""
        return rail in self.place.values()

    def already(self, groups: UnionFind[Island], islands: set[Island]) -> None:
        """Join what the board's wires join."""
        for wire in self.netlist.layout.wires:
            ends = [
                joined(end) if isinstance(end, Hole | Rail) else self.place.get(end.label, end)
                for end in wire.ends
            ]
            first, second = (end if isinstance(end, Tie | Rail | PinEnd) else None for end in ends)
            touches = first in islands or second in islands
            if touches and first is not None and second is not None:
                groups.union(first, second)

    def distance(self, a: Island, b: Island) -> int:
        if isinstance(a, PinEnd) or isinstance(b, PinEnd):
            both = isinstance(a, PinEnd) and isinstance(b, PinEnd)
            same = both and isinstance(a, PinEnd) and isinstance(b, PinEnd) and a.part == b.part
            return 2 if same else OFF_BOARD * 2 if both else OFF_BOARD
        fields = isinstance(a, Tie) and isinstance(b, Tie)
        along = abs(self.along(a) - self.along(b)) if fields or a.board != b.board else 0
        return along + abs(self.row(a) - self.row(b))

    def along(self, island: Tie | Rail) -> int:
        column = island.column if isinstance(island, Tie) else BOARD_LENGTH // 2
        return self.boards[island.board] * BOARD_LENGTH + column

    @staticmethod
    def row(island: Tie | Rail) -> int:
        if isinstance(island, Tie):
            return _TIE_ROW[island.side]
        return _RAIL_ROW[f"{island.side}{island.sign}"]

    def end(self, island: Island, other: Island) -> End | None:
        """A free place on an island, near to the other one; None if there is none."""
        if isinstance(island, Tie):
            free = [hole for hole in island.holes if hole not in self.used]
            if not free:
                return None
            towards = self.row(other) if not isinstance(other, PinEnd) else 0
            return min(free, key=lambda hole: (abs(hole.tenths[1] - towards), hole.label))
        if isinstance(island, Rail):
            return island
        return island if self.wires_at.get(island, 0) < LOOSE_WIRES else None


def rail_text(rail: Rail, boards: tuple[Breadboard, ...]) -> str:
    """A rail as a board file writes it: of a split one with a column of its half."""
    board = next(board for board in boards if board.name == rail.board)
    column = {0: "", 1: "1", 2: str(board.columns)}[rail.half]
    return f"{rail.board}.{rail.side}{rail.sign}{column}"


def end_text(end: End, boards: tuple[Breadboard, ...]) -> str:
    """An end as a board file writes it."""
    return rail_text(end, boards) if isinstance(end, Rail) else end.label
