"""Where everything on the bench is, in pixels: breadboards, one under the other, then the panel.

A tenth of an inch is `PITCH` pixels. Rows (a breadboard, or a row of the front panel) lie between
channels, in which wires run; how high a channel must be is known only when the wires are planned,
so places are spots in a row first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.specs.breadboard.geometry import Breadboard, Hole, Rail
from breadproof.specs.breadboard.model import End, NetEnd, PinEnd
from breadproof.specs.netlist.model import Netlist, Part
from breadproof.verify.pictures.svg import Point

PITCH = 12
MARGIN = 16
TOP_TENTH, BOTTOM_TENTH = 16.2, -5.2
"""The upper and lower edge of a breadboard, in tenths of an inch from row a."""
RAILS = {"upper+": 15, "upper-": 14, "lower+": -3, "lower-": -4}
"""Where rails are drawn, in tenths of an inch from row a."""
BOARD_HEIGHT = (TOP_TENTH - BOTTOM_TENTH) * PITCH
BOX_HEIGHT, BOX_GAP = 57, 12
PAD = 16
"""Width of a pin of the front panel."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a row; wires leave it upwards or downwards."""

    row: int
    x: float
    y: float
    upwards: bool

    @property
    def channel(self) -> int:
        """The channel that wires go to: number ``k`` is above row ``k``."""
        return self.row if self.upwards else self.row + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A part of the front panel: its upper left corner, and its width."""

    part: Part
    corner: Spot
    width: float


@dataclass(slots=True)
class Scene:
    """All places of a netlist that has a layout."""

    netlist: Netlist
    boards: dict[str, int] = field(default_factory=dict)
    """The row of each breadboard."""
    pins: dict[str, Spot] = field(default_factory=dict)
    boxes: list[Box] = field(default_factory=list)
    width: float = 0
    rows: int = 0
    taken: set[tuple[Rail, int]] = field(default_factory=set)
    left: float = MARGIN
    """Where ``x`` begins."""
    tops: list[float] = field(default_factory=list)
    """The upper edge of each row."""

    def __post_init__(self) -> None:
        layout = self.netlist.layout
        self.boards = {board.name: place for place, board in enumerate(layout.boards)}
        columns = max((board.columns for board in layout.boards), default=40)
        self.width = self.x(columns) + 2 * PITCH
        rails: list[tuple[str, Rail]] = []
        holes: dict[str, list[float]] = {}
        for leg in layout.legs:
            if isinstance(leg.place, Hole):
                spot = self.hole(leg.place)
                self.pins[leg.pin.label] = spot
                holes.setdefault(leg.pin.part, []).append(spot.x)
            else:
                rails.append((leg.pin.label, leg.place))
        beside = [one for one in rails if one[0].rpartition(".")[0] in holes]
        for label, rail in beside:
            xs = holes[label.rpartition(".")[0]]
            self.pins[label] = self.rail(rail, sum(xs) / len(xs))
        self.on_rails([one for one in rails if one not in beside])
        standing = {leg.pin.part for leg in layout.legs}
        self.rows = len(layout.boards)
        self.set_out([p for p in self.netlist.parts if p.name not in standing])

    def stack(self, channels: Sequence[float], left: float) -> float:
        """Put the rows under each other, with channels so high between; the whole height."""
        y = float(MARGIN)
        self.left = MARGIN + left
        for row in range(self.rows):
            y += channels[row]
            if row == len(self.boards):
                y += 20  # the heading of the front panel
            self.tops.append(y)
            y += BOARD_HEIGHT if row < len(self.boards) else BOX_HEIGHT
        return y + channels[self.rows] + MARGIN

    def at(self, spot: Spot) -> Point:
        """A spot in the picture."""
        return self.left + spot.x, self.tops[spot.row] + spot.y

    # breadboards ------------------------------------------------------------------------------

    @staticmethod
    def x(column: float) -> float:
        """The middle of a column."""
        return 40 + (column + 0.5) * PITCH

    def spot(self, board: str, column: float, tenth: float) -> Spot:
        """A place on a breadboard, by column and tenths of an inch from row a."""
        y = (TOP_TENTH - tenth) * PITCH
        return Spot(self.boards[board], self.x(column), y, tenth > 6)

    def hole(self, hole: Hole) -> Spot:
        """The middle of a hole."""
        return self.spot(hole.board, *hole.tenths)

    def board(self, name: str) -> Breadboard:
        """The breadboard of that name."""
        return next(board for board in self.netlist.layout.boards if board.name == name)

    def rail(self, rail: Rail, near: float) -> Spot:
        """A hole of a rail that is drawn as free, near to an ``x``."""
        columns = self.board(rail.board).columns
        first = columns // 2 + 1 if rail.half == 2 else 1
        last = columns // 2 if rail.half == 1 else columns
        wanted = min(max(round((near - self.x(0)) / PITCH), first), last)
        order = sorted(range(first, last + 1), key=lambda column: (abs(column - wanted), column))
        whole = Rail(rail.board, rail.side, rail.sign)
        free = (column for column in order if (whole, column) not in self.taken)
        column = next(free, wanted)
        self.taken.add((whole, column))
        return self.spot(rail.board, column, RAILS[f"{rail.side}{rail.sign}"])

    def on_rails(self, legs: Sequence[tuple[str, Rail]]) -> None:
        """Legs of parts that stand on rails alone: those of one part beside each other, parts over
        the length."""
        parts: dict[str, list[tuple[str, Rail]]] = {}
        for label, rail in legs:
            parts.setdefault(label.rpartition(".")[0], []).append((label, rail))
        shares: dict[tuple[str, str], list[str]] = {}
        for name, own in parts.items():
            shares.setdefault((own[0][1].board, own[0][1].side), []).append(name)
        for (board, _), names in shares.items():
            step = self.board(board).columns / len(names)
            for place, name in enumerate(names):
                near = self.x(1 + (place + 0.5) * step)
                for label, rail in parts[name]:
                    self.pins[label] = self.rail(rail, near)

    # the front panel --------------------------------------------------------------------------

    def set_out(self, parts: Sequence[Part]) -> None:
        """Boxes in rows, in the order of the board file."""
        x, row = 0.0, self.rows
        for part in parts:
            width = max(PAD * len(part.pins) + 8, 7 * len(part.name) + 22, 46)
            if part.positions:
                width = max(width, 6 * len(" | ".join(part.positions)) + 16)
            if x + width > self.width and x > 0:
                x, row = 0.0, row + 1
            self.boxes.append(Box(part=part, corner=Spot(row, x, 0, True), width=width))
            start = x + (width - PAD * (len(part.pins) - 1)) / 2
            for place, pin in enumerate(part.pins):
                self.pins[pin.label] = Spot(row, start + PAD * place, 10, True)
            x += width + BOX_GAP
        self.rows = row + 1 if parts else self.rows

    # wires ------------------------------------------------------------------------------------

    def ends(self, ends: tuple[End, End]) -> tuple[Spot, Spot] | None:
        """Where a wire begins and ends; None if an end is nowhere (a net by its name)."""
        fixed = [self.fixed(end) for end in ends]
        for place, end in enumerate(ends):
            other = fixed[1 - place]
            if isinstance(end, Rail):
                near = other.x if other is not None else self.x(self.board(end.board).columns)
                fixed[place] = self.rail(end, near)
        first, second = fixed
        return None if first is None or second is None else (first, second)

    def fixed(self, end: End) -> Spot | None:
        """The place of an end that is no rail."""
        match end:
            case Hole():
                return self.hole(end)
            case PinEnd():
                return self.pins.get(end.label)
            case Rail() | NetEnd():
                return None
