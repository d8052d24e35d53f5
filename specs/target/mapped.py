"""A target held against its board: every control, lamp and port with its pins, as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.netlist.model import Control
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.target.devices import Device
from breadproof.specs.target.model import Active, Pull, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedPin:
    """A pin of the FPGA, or an input of a chain (``chain`` and ``number``)."""

    pin: str
    span: Span
    active: Active
    pull: Pull
    chain: str = ""
    number: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedControl:
    """Where a control comes from; as `Wiring`, with defaults put in and pins in order of bits.

    ``single`` is the bit of a change-over switch for which its one pin is active.
    """

    control: Control
    source: Literal["pins", "divider", "step", "free", "fixed"]
    pins: tuple[MappedPin, ...] = ()
    single: int | None = None
    debounce: float = 0.0
    frequency: float = 0.0
    levels: tuple[int, ...] = ()
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedOut:
    """A lamp or outgoing port: a pin a bit, first net first."""

    name: str
    pins: tuple[MappedPin, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedChain:
    """A chain of shift registers with its pins."""

    name: str
    load: MappedPin
    clock: MappedPin
    data: MappedPin
    inputs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """A target on its board. ``unseen`` are lamps and outgoing ports that are at no pin."""

    target: Target
    device: Device
    clock_pin: str
    frequency: float
    chains: tuple[MappedChain, ...]
    controls: tuple[MappedControl, ...]
    lamps: tuple[MappedOut, ...]
    ports: tuple[MappedOut, ...]
    unseen: tuple[str, ...]
