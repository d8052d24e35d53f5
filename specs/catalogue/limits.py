"""What limits are: of an input, of an output, of what only pulls down, and of a supply.

Guaranteed values, never typical ones. Currents are amperes and positive whatever their direction,
voltages volts. The values themselves are in `families` (by logic family) and in part files
(``limits:``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

OutputClass = Literal[
    "ordinary", "three-state", "bus-output", "bus-driver", "buffer",
    "pull-down-15", "driver-15", "driver-30",
]  # fmt: skip
"""How strong an output is, by what the data books put together:

- ``ordinary``: gates, counters, decoders.
- ``three-state``: selectors and small register files with three-state outputs (251, 253, 670).
- ``bus-output``: latches, registers and bus buffers (373, 374, 125, 365): they sink what a bus
  driver does and give less.
- ``bus-driver``: the octal drivers and transceivers (24x, 54x, 64x).
- ``buffer``: the 28, 33, 37, 38 and 40.
- ``pull-down-15``: open-collector gates for up to 15 V (26).
- ``driver-15``, ``driver-30``: open-collector drivers for up to 15 V and 30 V (16, 17; 06, 07).
"""

OUTPUT_CLASSES: tuple[OutputClass, ...] = (
    "ordinary", "three-state", "bus-output", "bus-driver", "buffer",
    "pull-down-15", "driver-15", "driver-30",
)  # fmt: skip

NEXT_WEAKER: dict[OutputClass, OutputClass] = {
    "three-state": "ordinary",
    "bus-output": "three-state",
    "bus-driver": "bus-output",
    "buffer": "ordinary",
    "pull-down-15": "ordinary",
    "driver-15": "pull-down-15",
    "driver-30": "driver-15",
}
"""Which class stands for one that a family has no values of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What an input asks for: at most ``v_il`` for a low, at least ``v_ih`` for a high.

    ``i_il`` is what it gives out at most while low, ``i_ih`` what it takes at most while high.
    ``points`` are (supply, V_IL, V_IH) where the thresholds go with the supply, the lowest supply
    first; ``v_il`` and ``v_ih`` are then those at ``nominal``. ``bears`` is the highest voltage
    that an input may see whatever its supply; None: its supply, and half a volt.
    """

    v_il: float
    v_ih: float
    i_il: float
    i_ih: float
    source: str
    points: tuple[tuple[float, float, float], ...] = ()
    nominal: float = 5.0
    bears: float | None = None

    def thresholds(self, supply: float) -> tuple[float, float]:
        """V_IL and V_IH at a supply voltage: on straight lines between the data book's points.

        Beyond the points the outermost one is scaled with the supply.
        """
        if not self.points:
            return self.v_il, self.v_ih
        if supply == self.nominal:
            return self.v_il, self.v_ih
        first, last = self.points[0], self.points[-1]
        if supply <= first[0] or supply >= last[0]:
            volts, low, high = first if supply <= first[0] else last
            return low * supply / volts, high * supply / volts
        for (v0, low0, high0), (v1, low1, high1) in zip(self.points, self.points[1:], strict=False):
            if v0 <= supply <= v1:
                part = (supply - v0) / (v1 - v0)
                return low0 + part * (low1 - low0), high0 + part * (high1 - high0)
        raise AssertionError(f"the points of {self.source} are out of order")


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """What a CMOS output gives to other CMOS inputs: V_OL and V_OH at ``current`` at most."""

    current: float
    v_ol: float
    v_oh: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """What an output gives: V_OL at I_OL and V_OH at I_OH, at the lowest supply.

    ``i_oh_max`` is the current an output may give with no promise of the level ``v_oh``. ``at`` is
    the supply at which ``v_oh`` is promised, where the high goes with the supply (CMOS); ``light``
    is what it gives at that supply with hardly any load.
    """

    v_ol: float
    v_oh: float
    i_ol: float
    i_oh: float
    i_oh_max: float
    source: str
    at: float | None = None
    light: Light | None = None

    def loaded(self, current: float) -> Drive:
        """The same output with its levels at a load of that current, where that is told."""
        if self.light is None or current > self.light.current:
            return self
        return replace(self, v_ol=self.light.v_ol, v_oh=self.light.v_oh, source=self.light.source)

    def high(self, supply: float) -> float:
        """V_OH at ``supply``: a CMOS output loses there what it loses where it is promised.

        So the data books' points lie: HC 3.84 V at 4.5 V, 5.34 V at 6 V (JEDEC JESD7-A, from
        memory).
        """
        return self.v_oh if self.at is None else self.v_oh + supply - self.at


@dataclass(frozen=True, slots=True, kw_only=True)
class Sink:
    """What an open-collector (or open-drain) output takes: V_OL at I_OL.

    ``bears`` is the highest voltage that it may be pulled up to; None: its supply. ``off`` is what
    it takes at most while it lets go (I_OH of the data books).
    """

    v_ol: float
    i_ol: float
    off: float
    source: str
    bears: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Quiescent:
    """I_CC at rest, the most that the data book allows.

    ``gate``: of one gate of two inputs with its output low (bipolar, the fourth part of what the
    00 takes); ``gates``, ``flip_flops``, ``larger``: of a package of that class (CMOS). None where
    no such value is general: other parts have each their own.
    """

    source: str
    gate: float | None = None
    gates: float | None = None
    flip_flops: float | None = None
    larger: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLimits:
    """The limits that a part file names under ``limits:``; None: as the family's.

    ``i_oz`` is what an output that lets go takes at most, ``bears`` what an open collector may be
    pulled up to, ``input_bears`` what an input may see whatever its supply. ``pins`` are those of
    single pins.
    """

    source: str
    supply: tuple[float, float] | None = None
    v_il: float | None = None
    v_ih: float | None = None
    i_il: float | None = None
    i_ih: float | None = None
    v_ol: float | None = None
    v_oh: float | None = None
    i_ol: float | None = None
    i_oh: float | None = None
    i_cc: float | None = None
    i_oz: float | None = None
    bears: float | None = None
    input_bears: float | None = None
    pins: tuple[PinLimits, ...] = ()

    def of_pin(self, name: str, family: str) -> OwnLimits:
        """What holds for the pin of that name in a family: its own where it has some."""
        for pin in self.pins:
            if name in pin.names and (not pin.families or family in pin.families):
                return self._with(pin.values)
        return self

    def _with(self, own: OwnLimits) -> OwnLimits:
        """These limits, and in their place those that ``own`` has."""
        return replace(
            self,
            v_il=_or(own.v_il, self.v_il),
            v_ih=_or(own.v_ih, self.v_ih),
            i_il=_or(own.i_il, self.i_il),
            i_ih=_or(own.i_ih, self.i_ih),
            v_ol=_or(own.v_ol, self.v_ol),
            v_oh=_or(own.v_oh, self.v_oh),
            i_ol=_or(own.i_ol, self.i_ol),
            i_oh=_or(own.i_oh, self.i_oh),
            i_oz=_or(own.i_oz, self.i_oz),
            bears=_or(own.bears, self.bears),
            input_bears=_or(own.input_bears, self.input_bears),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLimits:
    """Limits of single pins.

    ``families`` are those in which they hold; none: in all.
    """

    names: tuple[str, ...]
    families: tuple[str, ...]
    values: OwnLimits


def _or(own: float | None, other: float | None) -> float | None:
    return other if own is None else own


_Value = TypeVar("_Value", Drive, Sink)


def chosen(classes: Sequence[tuple[OutputClass, _Value]], wanted: OutputClass) -> _Value:
    """The values of a class, or else of the next weaker one that is there."""
    there = dict(classes)
    while wanted not in there:
        wanted = NEXT_WEAKER[wanted]
    return there[wanted]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A logic family at its nominal supply (5 V; of LVC 3.3 V).

    ``bipolar``: an input that is connected to nothing reads high. ``schmitt`` are the thresholds
    of its Schmitt-trigger inputs. ``outputs`` and ``sinks`` (open collectors) go by class of
    output; a class that is not there has the limits of the next weaker one. ``i_oz`` is what a
    three-state output takes or gives at most while it drives nothing. ``military``: of the 54
    series, whose limits hold from -55 to 125 degrees.
    """

    name: str
    bipolar: bool
    supply: tuple[float, float]
    supply_source: str
    inputs: Inputs
    schmitt: Inputs
    outputs: tuple[tuple[OutputClass, Drive], ...]
    sinks: tuple[tuple[OutputClass, Sink], ...]
    i_oz: float
    quiescent: Quiescent
    military: bool = False

    def drive(self, kind: OutputClass = "ordinary") -> Drive:
        """The limits of its outputs of a class."""
        return chosen(self.outputs, kind)

    def sink(self, kind: OutputClass = "ordinary") -> Sink:
        """The limits of its open-collector (open-drain) outputs of a class."""
        return chosen(self.sinks, kind)
