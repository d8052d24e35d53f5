"""What every engine that plays a program gives: records of it, and why it stopped."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Protocol

MAX_ROUNDS = 200
"""A board that is not quiet after so many rounds of one step is taken not to get quiet."""


class Reason(IntEnum):
    """Why an engine stopped.

    PAUSED: it has played as many rounds as it was asked for. ENDED: the script is at its end. CHECK
    failed. BREAK: a breakpoint holds. OVERRUN: what a clock waited for did not come. RESTLESS: the
    board did not get quiet.
    """

    PAUSED = 0
    ENDED = 1
    CHECK = 2
    BREAK = 3
    OVERRUN = 4
    RESTLESS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The row at a moment: ``step`` from 0, ``round`` within it, ``rounds`` since power-on.

    ``entry`` is that of the program. Records of rounds (for a dump) have ``whole`` False.
    """

    step: int
    round: int
    rounds: int
    entry: int
    row: int
    whole: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """What was recorded since the last pause, and why there is one.

    ``condition`` is the place of the condition that it is about, or -1; ``held`` is the round in
    which a breakpoint that gathers, held first, or -1.
    """

    reason: Reason
    entry: int
    condition: int
    held: int
    records: tuple[Record, ...]


class Player(Protocol):
    """An engine with a program in it."""

    step: int
    rounds: int

    def play(self, most: int) -> Pause:
        """Play on, for about so many rounds at most."""

    def row(self) -> int:
        """The row now, place 0 in bit 0."""

    def word(self, memory: int, address: int) -> int:
        """A word of a memory, by its number in the Machine."""

    def leaves(self) -> dict[int, int]:
        """The levels of what formulas remember and gathered."""

    def close(self) -> None:
        """Let go of what it holds."""
