"""What stands and is wired on breadboards, as values."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.breadboard.geometry import Breadboard, Hole, Joined, Rail
from breadproof.specs.reading.diagnostics import Span


@dataclass(frozen=True, slots=True)
class PinEnd:
    """A pin as an end of a wire, or as what stands in a hole."""

    part: str
    number: str

    @property
    def label(self) -> str:
        """``U1.15``."""
        return f"{self.part}.{self.number}"


@dataclass(frozen=True, slots=True)
class NetEnd:
    """A net by its name (``GND``, ``bus[3]``) as an end of a wire."""

    name: str

    @property
    def label(self) -> str:
        """The name."""
        return self.name


Place = Hole | Rail
End = Hole | Rail | PinEnd | NetEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A pin in a hole or on a rail."""

    pin: PinEnd
    place: Place
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire with its ends; ``colour`` is "" where the file tells none."""

    ends: tuple[End, End]
    colour: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What stands and is wired on the breadboards of a board file."""

    boards: tuple[Breadboard, ...] = ()
    legs: tuple[Leg, ...] = ()
    wires: tuple[Wire, ...] = ()
    names: tuple[tuple[str, End, Span], ...] = ()


NO_BREADBOARD = Layout()
"""Of a board file that lists nets alone."""


def joined(place: Place) -> Joined:
    """The metal under a hole, or the rail itself."""
    return place.tie if isinstance(place, Hole) else place
