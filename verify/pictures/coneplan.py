"""Where the blocks of a cone are drawn, and which of them are joined by lines.

A line goes from an output to inputs one column further right; what is further away, or goes back,
ends at the net's name, as is the custom in circuit diagrams.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.netlist.model import Netlist
from breadproof.verify.pictures.cone import Cone

PIN = 20
"""Pixels from pin to pin."""
HEAD = 30
WIDE, NARROW = 104, 84
STUB = 26
LETTER = 7
LEVEL = 4
"""Letters of a level behind a name, `` = 1``."""
BETWEEN = 26
MARGIN = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """From an output at ``begin`` to an input at ``end``; ``track`` is where it goes up or down."""

    net: int
    begin: tuple[float, float]
    end: tuple[float, float]
    track: float


@dataclass(slots=True)
class ConePlan:
    """Places; all sizes are in pixels."""

    netlist: Netlist
    cone: Cone
    corner: dict[int, tuple[float, float]] = field(default_factory=dict)
    """The upper left corner of each block, by its number."""
    lines: list[Line] = field(default_factory=list)
    joined: set[tuple[int, int]] = field(default_factory=set)
    """Inputs (block, place) that a line leads to."""
    sources: set[tuple[int, int]] = field(default_factory=set)
    """Outputs (block, place) that a line begins at."""
    width: float = 0
    height: float = 0

    def __post_init__(self) -> None:
        blocks = self.cone.blocks
        last = max((block.column for block in blocks), default=0)
        columns: list[list[int]] = [[] for _ in range(last + 1)]
        for number, block in enumerate(blocks):
            columns[block.column].append(number)
        for column in range(1, last + 1):
            columns[column].sort(key=lambda number: self.pull(number, columns[column - 1]))
        self.height = 2 * MARGIN + max((self.tall(column) for column in columns), default=0)
        x = float(MARGIN)
        for column in reversed(range(last + 1)):
            x += self.names(columns[column])
            self.stack(columns[column], x)
            x += max(self.wide(number) for number in columns[column])
            x += self.room(columns[column], columns[column - 1] if column else [])
        self.width = x + MARGIN
        for column in range(last, 0, -1):
            self.connect(columns[column], columns[column - 1])

    # sizes ------------------------------------------------------------------------------------

    def size(self, number: int) -> float:
        """The height of a block."""
        block = self.cone.blocks[number]
        if block.part is None:
            return max(PIN * 1.2, 15 * len(block.lines) + 10)
        return HEAD + PIN * max(len(block.inputs), len(block.outputs), 1)

    def wide(self, number: int) -> float:
        """The width of a block."""
        block = self.cone.blocks[number]
        if block.part is None:
            return max((len(line) for line in block.lines), default=4) * LETTER + 16
        return WIDE if len(block.inputs) > 3 else NARROW

    def tall(self, column: list[int]) -> float:
        """The height of a column."""
        return sum(self.size(number) + BETWEEN for number in column)

    def names(self, column: list[int]) -> float:
        """The room for names of nets before a column."""
        pins = [pin for number in column for pin in self.cone.blocks[number].inputs]
        longest = max((len(self.name(pin.net)) for pin in pins), default=0)
        return STUB + (longest + LEVEL) * LETTER if pins else 0

    def room(self, column: list[int], right: list[int]) -> float:
        """The room for names and lines behind a column."""
        nets = {net for number in column for net in self.cone.blocks[number].nets}
        longest = max((len(self.name(net)) for net in nets), default=0)
        return 34 + (longest + LEVEL) * LETTER + 7 * len(nets) * bool(right)

    def name(self, net: int | None) -> str:
        """The name of a net; "" for none."""
        return "" if net is None else self.netlist.nets[net].name

    # places -----------------------------------------------------------------------------------

    def pull(self, number: int, right: list[int]) -> float:
        """Where a block wants to be: at the middle of those that it leads to."""
        nets = set(self.cone.blocks[number].nets)
        places = [
            place
            for place, other in enumerate(right)
            if nets & {pin.net for pin in self.cone.blocks[other].inputs}
        ]
        return sum(places) / len(places) if places else float(len(right))

    def stack(self, column: list[int], x: float) -> None:
        """Put a column's blocks under each other, in the middle of the height."""
        y = (self.height - self.tall(column) + BETWEEN) / 2
        for number in column:
            self.corner[number] = (x, y)
            y += self.size(number) + BETWEEN

    def input(self, number: int, place: int) -> tuple[float, float]:
        """Where an input is."""
        x, y = self.corner[number]
        return x, y + HEAD + PIN * (place + 0.5)

    def output(self, number: int, place: int) -> tuple[float, float]:
        """Where an output is."""
        x, y = self.corner[number]
        if self.cone.blocks[number].part is None:
            return x + self.wide(number), y + self.size(number) / 2
        return x + self.wide(number), y + HEAD + PIN * (place + 0.5)

    def connect(self, left: list[int], right: list[int]) -> None:
        """The lines from one column to the next, each net in a track of its own."""
        edge = max(self.corner[number][0] + self.wide(number) for number in left)
        nets = [
            (number, place, net)
            for number in left
            for place, net in enumerate(self.cone.blocks[number].nets)
        ]
        longest = max((len(self.name(net)) for _, _, net in nets), default=0)
        track = edge + 22 + (longest + LEVEL) * LETTER
        for number, place, net in nets:
            ends = [
                (other, at)
                for other in right
                for at, pin in enumerate(self.cone.blocks[other].inputs)
                if pin.net == net
            ]
            for end in ends:
                self.joined.add(end)
                self.sources.add((number, place))
                begin = self.output(number, place)
                self.lines.append(Line(net=net, begin=begin, end=self.input(*end), track=track))
            track += 7 if ends else 0
