"""What a type of part is: pins, logic, storage, memory, and the rows of its data sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from breadproof.specs.catalogue.limits import OutputClass, OwnLimits
from breadproof.specs.catalogue.times import TimesText
from breadproof.specs.formula.syntax import Expr
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Text


class PinKind(Enum):
    """What a pin is to the rest of the board (section 6 of design.md)."""

    IN = "in"
    OUT = "out"
    THREE_STATE = "three-state"
    OPEN_COLLECTOR = "open-collector"
    BIDIRECTIONAL = "bidirectional"
    WIRED_AND = "wired-and"
    """It is read, and it only ever pulls low (an open collector and an input on one pin)."""
    SUPPLY = "supply"
    GROUND = "ground"
    PASSIVE = "passive"
    NOT_CONNECTED = "nc"
    MOMENT = "moment"
    """No pin of the package: a moment that the world chooses, such as the end of a pulse."""

    @property
    def reads(self) -> bool:
        """Whether the part looks at the pin's level."""
        return self.both_ways or self in (PinKind.IN, PinKind.MOMENT)

    @property
    def drives(self) -> bool:
        """Whether the part can put a level on the pin."""
        return self.both_ways or self in (
            PinKind.OUT,
            PinKind.THREE_STATE,
            PinKind.OPEN_COLLECTOR,
        )

    @property
    def both_ways(self) -> bool:
        """Whether it is both an input and an output."""
        return self in (PinKind.BIDIRECTIONAL, PinKind.WIRED_AND)

    @property
    def sinks(self) -> bool:
        """Whether it only pulls low, so that its lows never fight others, nor ground."""
        return self in (PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND)


class Role(Enum):
    """What an input is for."""

    CLOCK = "clock"
    CLEAR = "clear"
    PRESET = "preset"
    LOAD = "load"
    ENABLE = "enable"
    SELECT = "select"
    LATCH = "latch"
    WRITE = "write"
    ADDRESS = "address"
    DATA = "data"


@dataclass(frozen=True, slots=True, kw_only=True)
class PinType:
    """One pin of a part type. ``number`` is text, as printed.

    ``pulled_up``: an internal resistor to the supply holds it high while nobody drives it.
    ``schmitt``: the input has hysteresis, so that slow edges are allowed. A moment has its name
    for a number, and ``says`` tells what happens then.
    """

    number: str
    name: str
    kind: PinKind
    role: Role = Role.DATA
    pulled_up: bool = False
    schmitt: bool = False
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A parsed formula with the text it came from, for messages and for listings."""

    expr: Expr
    text: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """What drives the pins or inner names ``names`` (most significant first, one a bit).

    ``when`` is None for an output that always drives (or, open collector, drives its lows).
    """

    names: tuple[str, ...]
    level: Formula
    when: Formula | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AsyncLoad:
    """An asynchronous parallel load: while ``when`` holds the content is ``source``."""

    when: Formula
    source: Formula


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """Edge-triggered storage of ``width`` bits called ``name``.

    ``rising`` tells the edge of ``clock``; ``next`` is what is captured at it.
    """

    name: str
    width: int
    clock: Formula
    rising: bool
    next: Formula
    clear: Formula | None
    preset: Formula | None
    load: AsyncLoad | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch:
    """Storage that copies ``source`` while ``open`` holds."""

    name: str
    width: int
    open: Formula
    source: Formula
    clear: Formula | None
    preset: Formula | None


Storage = Register | Latch


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """An analogue switch between the two passive pins ``joins``, closed while ``when`` holds.

    It is a contact like any other: who drives decides in which direction it passes a level.
    """

    joins: tuple[str, str]
    when: Formula


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """``words`` of ``bits``; without ``write`` a ROM whose words the board gives.

    ``program`` tells when such a ROM would be written all the same (an EEPROM's write pin): its
    words are constant only while that is proved impossible.
    """

    name: str
    words: int
    bits: int
    address: Formula
    write: Formula | None
    source: Formula | None
    program: Formula | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowTable:
    """Rows of a data-sheet table, as texts of cells; ``loops`` are the values of ``#``.

    ``start`` is what storage holds at the beginning, where the table tells it.
    """

    origin: str
    columns_in: tuple[str, ...]
    columns_out: tuple[str, ...]
    loops: tuple[str, ...]
    table: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    spans: tuple[Span, ...]
    start: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartType:
    """One function, whatever its family.

    ``families`` are those that it exists in, and ``variants`` what the number means in families
    that differ: each is a whole part type, whose families are some of these.
    """

    number: str
    title: str
    does: str
    package: str
    families: tuple[str, ...]
    source: str
    pins: tuple[PinType, ...]
    inner: tuple[Output, ...] = ()
    logic: tuple[Output, ...] = ()
    storage: tuple[Storage, ...] = ()
    memories: tuple[Memory, ...] = ()
    switches: tuple[Switch, ...] = ()
    rows: tuple[RowTable, ...] = ()
    variants: tuple[PartType, ...] = ()
    form: str = ""
    """Tells a variant from the others: its first family."""
    analogue: bool = False
    """What it stores is a charge: no pulse that is short moves it, so none is looked for."""
    output_classes: tuple[tuple[str, OutputClass], ...] = ()
    """The class of each output, by pin name, that is not the usual one of its kind."""
    limits: OwnLimits | None = None
    """What its part file says beside, or instead of, the family's limits."""
    powers_up: tuple[tuple[str, int], ...] = ()
    """What storage holds when power comes on, and keeps until the first quiet moment: where that
    is sure, it being what the part is for."""
    times: TimesText | None = None
    """Delays and the like, unread: `parttimes.times_of` reads them."""

    @property
    def key(self) -> str:
        """``266``, or ``266@HC`` of a variant: no other part type of a catalogue has it."""
        return f"{self.number}@{self.form}" if self.form else self.number

    def output_class(self, name: str) -> OutputClass:
        """How strong the output of that pin name is."""
        named = dict(self.output_classes).get(name)
        if named is not None:
            return named
        pin = self.pin(name)
        switched = pin is not None and pin.kind in (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
        return "three-state" if switched else "ordinary"

    def held_inside(self, number: str) -> bool:
        """Whether a pin has a resistor to the supply inside: it reads high if it is open."""
        return any(pin.pulled_up for pin in self.pins if pin.number == number)

    @property
    def moments(self) -> tuple[PinType, ...]:
        """What the world chooses about the part, beside its pins."""
        return tuple(pin for pin in self.pins if pin.kind is PinKind.MOMENT)

    @property
    def switch_pins(self) -> frozenset[str]:
        """The names of the pins that the part's analogue switches join."""
        return frozenset(name for switch in self.switches for name in switch.joins)

    def in_family(self, family: str) -> PartType:
        """What the number means in a family."""
        return next((v for v in self.variants if family in v.families), self)

    def forms(self) -> tuple[PartType, ...]:
        """All that the number means: itself, unless all its families differ, and the variants.

        Each has only those families in which it is just this.
        """
        others = {family for variant in self.variants for family in variant.families}
        own = tuple(family for family in self.families if family not in others)
        itself = (replace(self, families=own, variants=()),) if own else ()
        return (*itself, *self.variants)

    def pin(self, name_or_number: str) -> PinType | None:
        """The pin with that number or name, or None."""
        for pin in self.pins:
            if name_or_number == pin.number:
                return pin
        for pin in self.pins:
            if name_or_number == pin.name:
                return pin
        return None
