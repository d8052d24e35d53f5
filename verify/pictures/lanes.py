"""Lanes for the wires between rows: short wires go straight, the others through channels.

In a channel a wire has a lane of its own for its length; lanes are given by the left-edge algorithm
(Hashimoto and Stevens 1971): intervals in the order of their left ends, each to the first lane that
is free there. Wires between two channels go up or down beside the boards, again each in a lane.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.verify.pictures.scene import BOARD_HEIGHT, BOX_HEIGHT, PITCH, Scene, Spot
from breadproof.verify.pictures.svg import Point, number, points

LANE = 3.4
"""Pixels from lane to lane."""
SHORT = 9 * PITCH
"""Wires on one half of a board that are no longer go straight."""
FAN = 2.6
"""Pixels between wires that leave one column."""

Pair = tuple[Spot, Spot]
_Interval = tuple[float, float, int]


@dataclass(slots=True)
class Lanes:
    """The ways of wires, by their number; places are final when the scene is stacked."""

    scene: Scene
    wires: Mapping[int, Pair]
    across: dict[tuple[int, int], int] = field(default_factory=dict)
    """The lane of a wire in a channel, by wire and channel."""
    beside: dict[int, tuple[bool, int]] = field(default_factory=dict)
    """Whether a wire passes on the left, and its lane there."""
    shift: dict[tuple[int, int], float] = field(default_factory=dict)
    """How far from the middle of its column a wire runs, by wire and end."""
    counts: list[int] = field(default_factory=list)
    """Lanes of each channel."""
    sides: dict[bool, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        far = {k: pair for k, pair in self.wires.items() if not self.straight(pair)}
        for number_, (a, b) in far.items():
            if a.channel != b.channel:
                left = a.x + b.x < self.scene.width
                self.beside[number_] = (left, 0)
        self.fan(far)
        for left in (True, False):
            spans = [
                (*_ordered(far[k][0].channel, far[k][1].channel), k)
                for k, (side, _) in self.beside.items()
                if side is left
            ]
            lanes, self.sides[left] = _packed(spans, 0.5)
            for k, lane in lanes.items():
                self.beside[k] = (left, lane)
        self.counts = [self.pack(channel, far) for channel in range(self.scene.rows + 1)]

    def straight(self, pair: Pair) -> bool:
        """Whether a wire is short enough to go straight."""
        a, b = pair
        if a.row != b.row or a.row >= len(self.scene.boards):
            return False
        return abs(a.x - b.x) <= (SHORT if a.upwards == b.upwards else SHORT / 2)

    def fan(self, far: Mapping[int, Pair]) -> None:
        """Keep apart the wires that leave one column in one direction."""
        leaving: dict[tuple[int, float], list[tuple[int, int]]] = {}
        for k, pair in far.items():
            for end, spot in enumerate(pair):
                leaving.setdefault((spot.channel, spot.x), []).append((k, end))
        for group in leaving.values():
            for place, one in enumerate(group):
                self.shift[one] = (place - (len(group) - 1) / 2) * FAN

    def pack(self, channel: int, far: Mapping[int, Pair]) -> int:
        """Give the wires of a channel their lanes; how many there are."""
        spans: list[_Interval] = []
        for k, pair in far.items():
            xs = [
                spot.x + self.shift[k, end]
                for end, spot in enumerate(pair)
                if spot.channel == channel
            ]
            if xs and k in self.beside:
                xs.append(-1.0 if self.beside[k][0] else self.scene.width + 1)
            if len(xs) == 2:
                spans.append((*_ordered(*xs), k))
        lanes, count = _packed(spans, FAN)
        self.across.update({(k, channel): lane for k, lane in lanes.items()})
        return count

    # sizes ------------------------------------------------------------------------------------

    def heights(self) -> list[float]:
        """How high each channel is."""
        return [max(10.0, count * LANE + 14) for count in self.counts]

    def room(self, left: bool) -> float:
        """How wide the lanes on one side are."""
        return self.sides[left] * LANE + 8 if self.sides[left] else 0.0

    # ways -------------------------------------------------------------------------------------

    def path(self, k: int) -> str:
        """The way of a wire, as the attribute ``d``."""
        a, b = self.wires[k]
        if self.straight((a, b)):
            return _bowed(self.scene.at(a), self.scene.at(b), k)
        start, end = self.leave(k, 0), self.leave(k, 1)
        if k in self.beside:
            left, lane = self.beside[k]
            x = self.scene.left - 6 - lane * LANE
            if not left:
                x = self.scene.left + self.scene.width + 6 + lane * LANE
            return points(*start, (x, start[-1][1]), (x, end[-1][1]), *reversed(end))
        return points(*start, *reversed(end))

    def leave(self, k: int, end: int) -> Sequence[Point]:
        """From an end of a wire to its lane."""
        spot = self.wires[k][end]
        x, y = self.scene.at(spot)
        aside = x + self.shift[k, end]
        lane = self.y(spot.channel, self.across[k, spot.channel])
        off = -5 if spot.upwards else 5
        return ((x, y), (aside, y + off), (aside, lane))

    def y(self, channel: int, lane: int) -> float:
        """The height of a lane."""
        if channel < self.scene.rows:
            top = self.scene.tops[channel] - (20 if channel == len(self.scene.boards) else 0)
            return top - 7 - lane * LANE
        return self.bottom + 7 + lane * LANE

    @property
    def bottom(self) -> float:
        """The lower edge of the last row."""
        last = self.scene.rows - 1
        height = BOARD_HEIGHT if last < len(self.scene.boards) else BOX_HEIGHT
        return self.scene.tops[last] + height


def _ordered(a: float, b: float) -> tuple[float, float]:
    return (a, b) if a <= b else (b, a)


def _packed(spans: Sequence[_Interval], apart: float) -> tuple[dict[int, int], int]:
    """Lanes by number, so few as there can be, and how many."""
    ends: list[float] = []
    lanes: dict[int, int] = {}
    for first, last, k in sorted(spans):
        free = next((lane for lane, end in enumerate(ends) if end + apart <= first), len(ends))
        if free == len(ends):
            ends.append(last)
        ends[free] = last
        lanes[k] = free
    return lanes, len(ends)


def _bowed(begin: Point, end: Point, count: int) -> str:
    """A wire that bows a little, each a bit differently, so that they can be followed."""
    (x, y), (to, down) = begin, end
    along, across = to - x, down - y
    length = max(1.0, (along * along + across * across) ** 0.5)
    bow = min(14.0, 3 + 0.09 * length) * (1 if count % 2 else -1)
    middle = (x + to) / 2 - across / length * bow, (y + down) / 2 + along / length * bow
    return (
        f"M{number(x)} {number(y)}Q{number(middle[0])} {number(middle[1])} "
        f"{number(to)} {number(down)}"
    )
