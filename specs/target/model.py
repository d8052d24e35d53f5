"""What a target file says, each item with its place; nothing looked up on the board yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Text

Pull = Literal["up", "down", "none"]
Making = Literal["divider", "step", "free"]
Active = Literal["high", "low"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """What is at a control, lamp or port.

    ``pins`` are the FPGA's, or inputs of a chain (``panel.3``). ``position`` is the position of a
    change-over switch in which its one pin is active. ``clock`` says that a clock is made inside,
    at ``frequency`` in hertz; ``fixed`` that a control stays as it is. ``outside`` is the pin that
    tells that another drives a port. ``debounce`` is in seconds; None and "" are: not said.
    """

    name: Text
    pins: tuple[Text, ...] = ()
    position: Text | None = None
    active: Active | None = None
    pull: Pull | None = None
    debounce: float | None = None
    clock: Making | None = None
    frequency: float | None = None
    fixed: Text | None = None
    outside: Wiring | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Shift registers (the 165) that bring many switches to three pins.

    Input 1 is the one that is shifted out first: input H of the chip at the data pin; 8 is its
    input A, 9 is input H of the next.
    """

    name: Text
    load: Text
    clock: Text
    data: Text
    inputs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A target file. Either ``board`` is given, or all of device, package and clock.

    ``frequency`` is that of the clock at ``clock_pin``, in hertz. ``spoiled`` are names whose
    entries could not be read.
    """

    file: str
    name: str
    span: Span
    title: str
    board: Text | None
    device: Text | None
    package: Text | None
    clock_pin: Text | None
    frequency: float | None
    frequency_span: Span
    chains: tuple[Chain, ...]
    controls: tuple[Wiring, ...]
    lamps: tuple[Wiring, ...]
    ports: tuple[Wiring, ...]
    spoiled: tuple[str, ...] = ()
