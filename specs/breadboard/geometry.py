"""The holes of a solderless breadboard, and which of them are joined underneath.

Common practice: a board of 830 tie points has 63 columns, one of 400 has 30. Rows a to e and f to j
lie on the two sides of the trench, and the five holes of a column's half are one tie. Along both
edges run two rails, plus and minus, joined along their length, or along each half where they are
split. The rows are a tenth of an inch apart, and the trench makes it three tenths from e to f.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

COLUMNS = {"830": 63, "400": 30}
"""Columns by the number of tie points."""
LOWER, UPPER = "abcde", "fghij"
ROWS = LOWER + UPPER
Side = Literal["lower", "upper"]
_DISTANCE = {row: place if place < 5 else place + 2 for place, row in enumerate(ROWS)}
"""Tenths of an inch from row a."""

HOLE = re.compile(r"(?P<row>[a-j])(?P<column>\d{1,3})\Z")
RAIL = re.compile(r"(?P<side>lower|upper)(?P<sign>[+-])(?P<column>\d{0,3})\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Breadboard:
    """One board on the bench. ``split``: its rails are broken in the middle."""

    name: str
    columns: int
    split: bool


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole of the field: ``e5`` of board ``b1``."""

    board: str
    row: str
    column: int

    @property
    def tie(self) -> Tie:
        """The five holes that it is joined with."""
        return Tie(self.board, "lower" if self.row in LOWER else "upper", self.column)

    @property
    def label(self) -> str:
        """``b1.e5``."""
        return f"{self.board}.{self.row}{self.column}"

    @property
    def tenths(self) -> tuple[int, int]:
        """Where it is, along the board and across it, in tenths of an inch."""
        return self.column, _DISTANCE[self.row]


@dataclass(frozen=True, slots=True)
class Tie:
    """Five joined holes: a half of a column."""

    board: str
    side: Side
    column: int

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes, from the trench outwards."""
        rows = reversed(LOWER) if self.side == "lower" else UPPER
        return tuple(Hole(self.board, row, self.column) for row in rows)

    @property
    def label(self) -> str:
        """``b1.a-e5``."""
        rows = LOWER if self.side == "lower" else UPPER
        return f"{self.board}.{rows[0]}-{rows[-1]}{self.column}"


@dataclass(frozen=True, slots=True)
class Rail:
    """A rail, or a half of one that is split (``half`` 1 is the one at column 1; 0 is all)."""

    board: str
    side: Side
    sign: str
    half: int = 0

    @property
    def label(self) -> str:
        """``b1.upper+``, and of a half ``b1.upper+ (first half)``."""
        half = ("", " (first half)", " (second half)")[self.half]
        return f"{self.board}.{self.side}{self.sign}{half}"


Joined = Tie | Rail
"""What is one net underneath."""


class NoHole(ValueError):
    """A place that the board does not have; the text says why, ``hint`` the way out."""

    def __init__(self, why: str, hint: str) -> None:
        """Take both texts."""
        super().__init__(why)
        self.hint = hint


def find(board: Breadboard, place: str) -> Hole | Rail:
    """The hole or rail that a text such as ``e5``, ``upper+`` or ``lower-40`` names.

    Raises:
        NoHole: there is none.
    """
    hole = HOLE.match(place)
    if hole is not None:
        column = int(hole["column"])
        if not 1 <= column <= board.columns:
            raise NoHole(
                f"'{board.name}' has no column {column}", f"Its columns are 1 to {board.columns}."
            )
        return Hole(board.name, hole["row"], column)
    rail = RAIL.match(place)
    if rail is None:
        raise NoHole(
            f"'{place}' is no hole",
            "Holes are a1 to j" + f"{board.columns}; rails are upper+, upper-, lower+, lower-.",
        )
    side: Side = "lower" if rail["side"] == "lower" else "upper"
    if not rail["column"]:
        if board.split:
            raise NoHole(
                f"the rails of '{board.name}' are split",
                f"Write the column it is at, to tell the half: {place}1 or {place}{board.columns}.",
            )
        return Rail(board.name, side, rail["sign"])
    column = int(rail["column"])
    if not 1 <= column <= board.columns:
        raise NoHole(
            f"'{board.name}' has no column {column}", f"Its columns are 1 to {board.columns}."
        )
    half = (1 if 2 * column <= board.columns else 2) if board.split else 0
    return Rail(board.name, side, rail["sign"], half)


def across(row: str, tenths: int) -> str | None:
    """The row that many tenths of an inch from a row, away from row a; None if there is none."""
    wanted = _DISTANCE[row] + tenths
    return next((other for other, place in _DISTANCE.items() if place == wanted), None)
