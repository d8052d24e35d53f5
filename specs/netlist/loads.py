"""What the pins on a net ask of a resistor that is to hold its level: worst case of data books."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.model import Netlist, Part, Pin


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """``low`` and ``high`` are amperes that ``givers`` give out of a low net, and ``takers`` take
    from a high one; ``v_il`` and ``v_ih`` are those of the pickiest of ``readers``.
    """

    readers: tuple[Pin, ...]
    givers: tuple[Pin, ...]
    takers: tuple[Pin, ...]
    low: float
    high: float
    v_il: float
    v_ih: float


NOTHING_V_IL, NOTHING_V_IH = 30.0, 0.0
"""The thresholds where nothing reads: any level does."""


def load_of(netlist: Netlist, parts: Mapping[str, Part], pins: Iterable[Pin]) -> Load:
    """The load of inputs, and of outputs that let go: what those still take, or give, is in the
    data books too (I_OZ of three-state outputs, I_OH of open collectors).

    ``parts`` are the netlist's by name.
    """
    readers: list[Pin] = []
    lows: list[tuple[Pin, float]] = []
    highs: list[tuple[Pin, float]] = []
    v_il, v_ih = NOTHING_V_IL, NOTHING_V_IH
    for pin in pins:
        part = parts[pin.part]
        limits = part.limits
        if limits is None:
            continue
        low, high = asked_by(limits, pin)
        if pin.kind.reads:
            least, most = limits.inputs(pin.name).thresholds(netlist.volts(part))
            v_il, v_ih = min(v_il, least), max(v_ih, most)
            readers.append(pin)
        lows += [(pin, low)] if low else []
        highs += [(pin, high)] if high else []
    return Load(
        readers=tuple(readers),
        givers=tuple(pin for pin, _ in lows),
        takers=tuple(pin for pin, _ in highs),
        low=sum(current for _, current in lows),
        high=sum(current for _, current in highs),
        v_il=v_il,
        v_ih=v_ih,
    )


def asked_by(limits: Limits, pin: Pin) -> tuple[float, float]:
    """What a pin gives out of a low net and takes from a high one while it does not drive it.

    Amperes. A bidirectional pin is an input and an output that lets go at once: the books give one
    value for both.
    """
    low = high = 0.0
    if pin.kind.reads:
        inputs = limits.inputs(pin.name)
        low, high = inputs.i_il, inputs.i_ih
    if pin.kind.drives and pin.kind is not PinKind.OUT:
        off = limits.off(pin.name)
        high = max(high, off)
        low = low if pin.kind.sinks else max(low, off)
    return low, high


LOWEST = 0.95
"""The lowest a supply may be, as a part of what it should be (5 %, data books)."""
HIGHEST = 1.05
"""The highest it may be, likewise."""


def guaranteed(
    netlist: Netlist, part: Part, pin: Pin, current: float | None = None
) -> tuple[float, float | None]:
    """The highest low and the lowest high of an output; an open collector gives no high.

    ``part`` is the pin's, and a chip. ``current`` is all that is asked of it, in amperes; None if
    that is not known.
    """
    limits = part.limits
    assert limits is not None
    if pin.kind.sinks:
        return limits.sink(pin.name).v_ol, None
    drive = limits.drive(pin.name)
    drive = drive if current is None else drive.loaded(current)
    return drive.v_ol, drive.high(LOWEST * netlist.volts(part))
