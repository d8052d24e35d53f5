"""The flat netlist: parts, pins, nets, controls. No YAML, no Amaranth, no z3 objects in it."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.breadboard.model import NO_BREADBOARD, Layout
from breadproof.specs.catalogue.families import Family
from breadproof.specs.catalogue.part import PartType, PinKind, Role
from breadproof.specs.catalogue.pinlimits import Limits, limits_of
from breadproof.specs.formula.syntax import Expr
from breadproof.specs.reading.accepts import Accept
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Text

Device = Literal[
    "chip", "push-button", "spdt", "dip-switch", "resistor", "resistor-network", "capacitor",
    "led", "led-bar", "diode", "oscillator", "connector", "display", "rotary-dip", "jumper",
    "supervisor", "crystal", "potentiometer", "test-point",
]  # fmt: skip
Direction = Literal["in", "out", "both"]
ControlKind = Literal[
    "button", "changeover", "way", "rotary", "jumper", "oscillator", "in", "both", "moment",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A pin of a part on the board. ``net`` is an index into `Netlist.nets`; None if open.

    ``span`` is where the board file connects it, or the part's place if it is open.
    """

    part: str
    number: str
    name: str
    kind: PinKind
    role: Role
    net: int | None
    span: Span

    @property
    def label(self) -> str:
        """``U3.18``: how the pin is called in messages and results."""
        return f"{self.part}.{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part on the board.

    ``family`` is None for what is no chip. ``positions`` are the names of a change-over switch.
    ``value`` is in ohms, farads or hertz. ``contents`` are the words of a ROM.
    """

    name: str
    printed: str
    device: Device
    type: PartType
    family: Family | None
    pins: tuple[Pin, ...]
    span: Span
    positions: tuple[str, ...] = ()
    makes_before_breaks: bool = False
    ways: int = 0
    value: float | None = None
    isolated: bool = False
    contents: tuple[int, ...] = ()
    common: str = ""
    """What a display's common pins are: "anode" or "cathode"."""
    complement: bool = False
    """Whether a rotary DIP switch closes the contacts of the position's complement."""
    closed: str = ""
    """What the board file says of a jumper: "1-2", "2-3" or "open"; "" if it is a control."""

    @property
    def limits(self) -> Limits | None:
        """What its pins guarantee and ask for; None for what is no chip."""
        return limits_of(self.type, self.family)

    def pin(self, name_or_number: str) -> Pin | None:
        """The pin with that number or else that name, or None."""
        for pin in self.pins:
            if pin.number == name_or_number:
                return pin
        for pin in self.pins:
            if pin.name == name_or_number:
                return pin
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """All pins that are joined by wires. ``rail`` is the supply's volts; 0.0 is ground."""

    index: int
    name: str
    pins: tuple[Pin, ...]
    span: Span
    rail: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vector:
    """A row of nets under one name, ``nets[0]`` being bit ``left``."""

    name: str
    left: int
    right: int
    nets: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """Nets that leave for another board, most significant first.

    ``moment``: it stands for a moment that the world chooses (the end of a part's pulse), each
    change being one.
    """

    name: str
    direction: Direction
    nets: tuple[int, ...]
    span: Span
    moment: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """What the world can change in one step.

    ``bits`` are the names of its bits, most significant first: a button ``STORE`` has one, true
    while pressed; a change-over switch ``MODE`` has one a position, ``MODE.SET`` and
    ``MODE.SHOW``; way k of a DIP switch is the control ``SW1[k]``, true when closed; a rotary DIP
    switch is one control, its contacts 8, 4, 2 and 1 its bits, and any of them may move in one step
    (while it is turned they make and break in any order); a ``jumper`` is true while plugged; an
    input port has its nets' names; each change of a ``moment`` is one (the end of a pulse); a
    ``both`` port has ``outside(bus)`` first, then its levels.
    """

    name: str
    kind: ControlKind
    bits: tuple[str, ...]
    part: str | None
    exclusive: bool = False
    """At most one bit true (a change-over switch that breaks before it makes)."""


@dataclass(frozen=True, slots=True)
class ControlBit:
    """What the world closes a contact with: bit ``bit`` of ``control`` is true."""

    control: str
    bit: int


@dataclass(frozen=True, slots=True)
class ChipSwitch:
    """What a chip closes a contact with: the condition of its type's ``switches[number]``."""

    part: str
    number: int


Closing = ControlBit | ChipSwitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """Joins two nets while ``closing`` is true."""

    a: int
    b: int
    closing: Closing
    pins: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Diode:
    """A contact that passes one way only: highs from ``anode`` on, lows from ``cathode`` back.

    The drop of 0.7 V (0.3 V of germanium and Schottky diodes) is left out: a level that comes
    through is taken for as good as it was. So is the reverse current.
    """

    anode: int
    cathode: int
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistor:
    """Joins two nets weakly."""

    a: int
    b: int
    ohms: float | None
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Joins two nets for good: a plugged jumper, a resistor of 0 ohm, pins joined in a part."""

    a: int
    b: int
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamp:
    """An LED: lit while its anode is high and its cathode low.

    ``name`` is ``D1``, ``LB1[3]`` or a segment ``DS1[a]``; ``pins`` are labels, anode first.
    """

    name: str
    anode: int
    cathode: int
    part: str
    pins: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFormula:
    """A named formula of the board file."""

    name: str
    kind: Literal["assume", "assert", "cover"]
    says: str
    expr: Expr
    text: Text
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Netlist:
    """One board, flat. Order is the order of the board file."""

    file: str
    board: str
    title: str
    supply: float
    parts: tuple[Part, ...]
    nets: tuple[Net, ...]
    vectors: tuple[Vector, ...]
    ports: tuple[Port, ...]
    controls: tuple[Control, ...]
    contacts: tuple[Contact, ...]
    resistors: tuple[Resistor, ...]
    lamps: tuple[Lamp, ...]
    formulas: tuple[BoardFormula, ...]
    together: tuple[tuple[str, ...], ...] | Literal["all"]
    reset: tuple[tuple[str, str], ...] = ()
    bounces: tuple[str, ...] = ()
    """Controls whose contacts bounce: see `breadproof.specs.netlist.bouncing`."""
    diodes: tuple[Diode, ...] = ()
    links: tuple[Link, ...] = ()
    layout: Layout = NO_BREADBOARD
    aliases: tuple[tuple[str, int], ...] = ()
    """Further names of nets that wires join."""
    accepts: tuple[Accept, ...] = ()
    rails: tuple[tuple[str, float], ...] = ()
    """Volts of the supplies that the board file names; GND is 0."""
    supply_current: float | None = None
    """Amperes that the supply gives, if the board file says so; ``supply_span`` is where."""
    supply_span: Span | None = None
    joined: tuple[Port, ...] = ()
    """Ports of boards, of the way ``both``, that other boards, outside of them, are joined to."""

    def part(self, name: str) -> Part | None:
        """The part of that name, or None."""
        return next((part for part in self.parts if part.name == name), None)

    def volts(self, part: Part) -> float:
        """The supply of a chip: that of its supply pin's rail, or the board's."""
        for pin in part.pins:
            rail = None if pin.net is None else self.nets[pin.net].rail
            if pin.kind is PinKind.SUPPLY and rail:
                return rail
        return self.supply

    def net(self, name: str) -> Net | None:
        """The net of that name (``sel``, ``bus[3]``), or None."""
        return next((net for net in self.nets if net.name == name), None)

    def pins(self) -> tuple[Pin, ...]:
        """All pins of all parts, in order."""
        return tuple(pin for part in self.parts for pin in part.pins)


BETWEEN = "/"
"""Between the name of a board and that of something on it, on a machine of several boards."""


def boards_of(names: Iterable[str]) -> frozenset[str]:
    """The boards that names are on: of ``store/low/U1`` these are ``store`` and ``store/low``.

    A board of which a part or net bears the name is not among them.
    """
    known = {*names}
    return frozenset(
        name[:place]
        for name in known
        for place, letter in enumerate(name)
        if letter == BETWEEN and name[:place] not in known
    )


def called(path: str, boards: Container[str]) -> str:
    """The name that is written ``store.low.we_n``, with dots behind boards: ``store/low/we_n``."""
    head, dot, rest = path.partition(".")
    while dot and head in boards:
        more, dot, rest = rest.partition(".")
        head = f"{head}{BETWEEN}{more}"
    return f"{head}{dot}{rest}"


def board_of(name: str) -> str:
    """The board that something is on: ``store/low`` of ``store/low/U1``; "" of its own file's."""
    return name.rpartition(BETWEEN)[0]


def begin_of(board: str) -> str:
    """What names on a board begin with: ``store/low/``; "" for the joining file's own."""
    return f"{board}{BETWEEN}" if board else ""


def beyond(netlist: Netlist, port: Port) -> tuple[Pin, ...]:
    """The pins of other boards at a port of `Netlist.joined`."""
    board = board_of(port.name)
    pins = (pin for net in port.nets for pin in netlist.nets[net].pins)
    return tuple(pin for pin in pins if board_of(pin.part) != board)


def written(name: str, board: str = "") -> str:
    """A name as it is written in the file that joins boards: ``store.low.we_n``; or in that of a
    ``board``, which leaves its own name out."""
    return name.removeprefix(begin_of(board)).replace(BETWEEN, ".")


class NetlistNames:
    """Look-up of a board's names."""

    def __init__(self, netlist: Netlist) -> None:
        """Index the netlist."""
        self.parts = {part.name: part for part in netlist.parts}
        self.vectors = {vector.name: vector for vector in netlist.vectors}
        self.singles = dict(netlist.aliases) | {net.name: net.index for net in netlist.nets}
        self.boards = boards_of(self)

    def __iter__(self) -> Iterator[str]:
        """The names of all parts, nets and vectors."""
        yield from (*self.parts, *self.singles, *self.vectors)

    def called(self, path: str) -> str:
        """What the netlist calls ``store.we_n``, which is written with a dot: ``store/we_n``."""
        return called(path, self.boards)

    def nets_of(self, name: str) -> tuple[int, ...] | None:
        """The nets of a net or vector, most significant first; None if there is none."""
        if name in self.singles:
            return (self.singles[name],)
        vector = self.vectors.get(name)
        return vector.nets if vector else None
