"""The times of a part in one family: delays, set-up, hold, pulse widths and the fastest clock.

All are the guaranteed end of the book's table, never typical: delays and access times are the
longest that the part takes, set-up, hold and width the shortest that it may be given, the clock the
highest that it surely follows. What the book does not say, or nobody remembered, is None: never a
guess. Nanoseconds and megahertz; the conditions (supply, temperature, load) are in ``source``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Edge(Enum):
    """What an output does at the end of a delay; the letters are those of the symbol t_PLH."""

    LH = "plh"
    HL = "phl"
    ZH = "pzh"
    ZL = "pzl"
    HZ = "phz"
    LZ = "plz"


class Turn(Enum):
    """Which edge of a clock, latch, write or load pin a set-up or hold time is counted from."""

    RISE = "rise"
    FALL = "fall"


@dataclass(frozen=True, slots=True, kw_only=True)
class Delay:
    """From a change at any of ``starts`` to that of any of ``ends``, in ns by edge of the end."""

    starts: tuple[str, ...]
    ends: tuple[str, ...]
    times: tuple[tuple[Edge, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """``pin`` is to keep still for ``ns`` before (set-up) or after (hold) an edge of another.

    For a clear or preset it is the release that has to lie so long before the edge.
    """

    pin: str
    reference: str
    turn: Turn
    ns: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """``pin`` is to stay high (or low) for at least ``ns``."""

    pin: str
    high: bool
    ns: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastest:
    """The highest frequency, in MHz, that ``pin`` may be clocked with."""

    pin: str
    mhz: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """What is known of a part in a family. ``grade`` is the speed printed on a memory, or ""."""

    family: str
    grade: str
    source: str
    delays: tuple[Delay, ...] = ()
    setups: tuple[Stay, ...] = ()
    holds: tuple[Stay, ...] = ()
    widths: tuple[Width, ...] = ()
    clocks: tuple[Fastest, ...] = ()

    def delay(self, start: str, end: str, edge: Edge) -> float | None:
        """The longest delay in ns from one pin (by name) to an edge of another, or None."""
        for delay in self.delays:
            if start in delay.starts and end in delay.ends:
                for known, ns in delay.times:
                    if known is edge:
                        return ns
        return None

    def setup(self, pin: str, reference: str, turn: Turn) -> float | None:
        """How long before that edge the pin is to keep still, in ns, or None."""
        return _stay(self.setups, pin, reference, turn)

    def hold(self, pin: str, reference: str, turn: Turn) -> float | None:
        """How long after that edge the pin is to keep still, in ns, or None."""
        return _stay(self.holds, pin, reference, turn)

    def width(self, pin: str, *, high: bool) -> float | None:
        """How long the pin is to stay high, or low, in ns, or None."""
        return next((w.ns for w in self.widths if w.pin == pin and w.high == high), None)

    def fastest(self, pin: str) -> float | None:
        """The highest clock frequency at that pin in MHz, or None."""
        return next((clock.mhz for clock in self.clocks if clock.pin == pin), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesText:
    """The `times:` of a part file as text, read when somebody asks: most commands never do.

    ``text`` has the file's other lines blank, so that places in it are places in the file.
    ``families`` are all that the file knows, those of its variants, too.
    """

    file: str
    text: str
    families: tuple[str, ...] = ()


def _stay(stays: tuple[Stay, ...], pin: str, reference: str, turn: Turn) -> float | None:
    for stay in stays:
        if stay.pin == pin and stay.reference == reference and stay.turn is turn:
            return stay.ns
    return None
