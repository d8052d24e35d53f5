"""A breadboard as it looks when nothing stands on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from breadproof.specs.breadboard.geometry import ROWS, Breadboard, Hole
from breadproof.verify.pictures.scene import BOARD_HEIGHT, PITCH, RAILS, TOP_TENTH, Scene
from breadproof.verify.pictures.svg import Point, element, points, rectangle


@dataclass(frozen=True, slots=True)
class Plastic:
    """One breadboard in a scene that is stacked."""

    scene: Scene
    board: Breadboard

    def elements(self) -> Iterator[Element]:
        """The plastic, its holes, its rails and the names of rows and columns."""
        left, top = self.place(0, TOP_TENTH)
        width = (self.board.columns + 1) * PITCH + 28
        left -= PITCH / 2 + 14
        yield rectangle("b-board", left, top, width, BOARD_HEIGHT, 5)
        yield element("text", class_="b-text b-name", x=left - 26, y=top + 14, text=self.board.name)
        _, middle = self.place(0, 6.5)
        yield rectangle("b-trench", left, middle, width, 2 * PITCH)
        for low, high in ((0, 4), (7, 11)):
            yield self.field(low, high)
        for rail, tenth in RAILS.items():
            yield self.field(tenth, tenth)
            yield from self.rail(rail, tenth, left + 8)
        yield from self.names(left)

    def place(self, column: float, tenth: float) -> Point:
        """A place on a breadboard in the picture."""
        return self.scene.at(self.scene.spot(self.board.name, column, tenth))

    def field(self, low: int, high: int) -> Element:
        """Holes of a few rows: round dots of a line, which stay lines where they are printed."""
        rows = (self.place(1, tenth) for tenth in range(low, high + 1))
        length = (self.board.columns - 1) * PITCH + 0.5
        lines = "".join(points((x, y), (x + length, y)) for x, y in rows)
        return element("path", class_="b-holes", d=lines)

    def rail(self, rail: str, tenth: int, x: float) -> Iterator[Element]:
        """The line along a rail, broken where the rail is, and its sign."""
        plus = rail.endswith("+")
        start, y = self.place(0.5, tenth + (0.62 if tenth in (15, -3) else -0.62))
        end = start + self.board.columns * PITCH
        middle = (start + end) / 2
        halves = ((start, middle - 9), (middle + 9, end)) if self.board.split else ((start, end),)
        for a, b in halves:
            line = points((a, y), (b, y))
            yield element("path", class_="b-plus" if plus else "b-minus", d=line)
        _, y = self.place(0, tenth)
        sign = "+" if plus else "\N{MINUS SIGN}"
        yield element("text", class_="b-text b-mid", x=x, y=y + 3, text=sign)

    def names(self, left: float) -> Iterator[Element]:
        """The letters of the rows, and every fifth column's number."""
        for row in ROWS:
            _, y = self.scene.at(self.scene.hole(Hole(self.board.name, row, 1)))
            yield element("text", class_="b-text b-mid", x=left + 8, y=y + 3, text=row)
        for column in (1, *range(5, self.board.columns + 1, 5)):
            for tenth in (12.1, -1.6):
                x, y = self.place(column, tenth)
                yield element("text", class_="b-text b-mid", x=x, y=y, text=str(column))
