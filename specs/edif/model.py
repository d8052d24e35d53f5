"""What an EDIF file says, as values: libraries, cells, netlist views. Nothing is looked up yet.

Names are kept twice: the identifier, in small letters, since capitals do not matter in EDIF 2 0 0,
and as it is to be shown: the string of a ``rename``, or the identifier without its ``&``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from breadproof.specs.edif.tree import Source

_RANGE = re.compile(r"(?P<stem>.*?)\s*[\[<(](?P<left>\d{1,5})\s*:\s*(?P<right>\d{1,5})[\])>]\Z")
_BIT = re.compile(r"(?P<stem>.*?)\s*[\[<(](?P<number>\d{1,5})[\])>]\Z")


@dataclass(slots=True)
class Name:
    """``key`` is the identifier in small letters, ``shown`` as people know it; ``at`` its place.

    ``size`` is the number of members of an array, or 0 for what is no array.
    """

    key: str
    shown: str
    at: int
    length: int
    size: int = 0

    @property
    def ranged(self) -> bool:
        """Whether the name tells the numbers of its members, as ``D[7:0]`` does.

        ``D`` alone does not: some programs begin with the most significant, some with the least.
        """
        found = array_range(self.shown)
        return found is not None and abs(found[1] - found[2]) + 1 == self.size

    def label(self, member: int) -> str:
        """A member of an array, counted from 0: ``D[7:0]`` begins with D[7], ``D`` with D[0]."""
        found = array_range(self.shown)
        if found is not None and self.ranged:
            stem, left, right = found
            return f"{stem}[{left - member if left >= right else left + member}]"
        return f"{self.shown}[{member}]"


def bit_of(shown: str) -> tuple[str, int] | None:
    """``D[3]``, ``D<3>`` and ``D(3)`` as stem and number; None for any other name."""
    found = _BIT.match(shown)
    return (found["stem"], int(found["number"])) if found and found["stem"] else None


def array_range(shown: str) -> tuple[str, int, int] | None:
    """``D[7:0]`` as stem and numbers; None for any other name."""
    found = _RANGE.match(shown)
    return (found["stem"], int(found["left"]), int(found["right"])) if found else None


@dataclass(slots=True)
class Property:
    """A property: ``kind`` is string, integer, number or boolean, ``value`` its text."""

    name: Name
    kind: str
    value: str
    at: int
    length: int
    inner: tuple[Property, ...] = ()


@dataclass(slots=True)
class Port:
    """A port of a view. ``direction`` is input, output, inout or ""; ``pin`` its designator."""

    name: Name
    direction: str
    pin: str
    properties: tuple[Property, ...] = ()


@dataclass(slots=True)
class Instance:
    """A cell used in a view. ``pins`` are the designators that it gives to the cell's ports."""

    name: Name
    library: str
    cell: str
    view: str
    ref: Name
    designator: str
    properties: tuple[Property, ...]
    pins: dict[str, str]


@dataclass(slots=True)
class PortRef:
    """A port of an instance, or of the view itself where there is none; members from 0."""

    port: Name
    member: int | None
    instance: Name | None
    instance_member: int | None


@dataclass(slots=True)
class Net:
    """A net; each of ``joined`` is a row of ports, one for each member of an array."""

    name: Name
    joined: list[tuple[PortRef, ...]]
    properties: tuple[Property, ...]
    inner: list[Net]


@dataclass(slots=True)
class View:
    """A view of type NETLIST. ``made`` tells whether it has contents."""

    name: Name
    ports: dict[str, Port] = field(default_factory=dict)
    instances: dict[str, Instance] = field(default_factory=dict)
    nets: dict[str, Net] = field(default_factory=dict)
    properties: tuple[Property, ...] = ()
    comments: tuple[str, ...] = ()
    made: bool = False


@dataclass(slots=True)
class Cell:
    """A cell with its netlist views; ``others`` are the types of its other views."""

    library: str
    name: Name
    views: dict[str, View] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    properties: tuple[Property, ...] = ()


@dataclass(slots=True)
class Design:
    """What the file is of: a cell."""

    name: Name
    library: str
    cell: str
    ref: Name
    properties: tuple[Property, ...]


@dataclass(slots=True)
class EdifFile:
    """A whole file. ``written`` are the words of its status: program, author, time."""

    source: Source
    name: Name
    cells: dict[tuple[str, str], Cell]
    libraries: dict[str, Name]
    designs: list[Design]
    written: tuple[str, ...]
    comments: tuple[str, ...]
