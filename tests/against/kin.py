"""Kin of the chips in the other files: latched selectors, dual decades, open-collector shift
registers, as the words of the data books say it, from memory."""

from __future__ import annotations

from typing import ClassVar

from tests.against.chips import Shown
from tests.against.counters import up_down_169
from tests.against.counters_more import presettable
from tests.against.model import Bit, Model, Pins, bits, flip, number, shown
from tests.against.shifts import Shift594

Makes = type[Model]


def kept_selector(data: str) -> Makes:
    """354 and 356: the select inputs pass while SC_n is low; the data while DC_n is low, or at
    the rising clock. On while both low enables are low and G3 is high."""

    class Selector(Model):
        clocks = ("SC_n", data)
        seldom: ClassVar[dict[str, int]] = {"G1_n": 1, "G2_n": 1, "G3": 0}

        def __init__(self) -> None:
            self.data: list[Bit] = [None] * 8
            self.address: int | None = None

        def step(self, p: Pins) -> None:
            if p.low("SC_n"):
                self.address = number(p.bits(["S0", "S1", "S2"]))
            if p.low(data) if data == "DC_n" else p.rose(data):
                self.data = p.bits([f"D{k}" for k in range(8)])

        def shows(self, p: Pins) -> dict[str, Shown]:
            chosen = None if self.address is None else self.data[self.address]
            on = p.low("G1_n", "G2_n") and p.high("G3")
            return shown(["Y", "W"], [chosen, flip(chosen)], on=on)

    return Selector


class Dual490(Model):
    """Two decades, falling edge; clear and set to nine by level, and nothing is said of both."""

    clocks = ("CLK1", "CLK2")
    seldom: ClassVar[dict[str, int]] = {"CLR1": 1, "CLR2": 1, "SET1": 1, "SET2": 1}

    def __init__(self) -> None:
        self.count: dict[int, int | None] = {1: None, 2: None}

    def may_move(self, p: Pins, pin: str) -> bool:
        other = {"CLR": "SET", "SET": "CLR"}.get(pin[:-1])
        return other is None or p.high(pin) or p.low(f"{other}{pin[-1]}")

    def step(self, p: Pins) -> None:
        for k, count in self.count.items():
            if p.fell(f"CLK{k}") and count is not None:
                self.count[k] = (count + 1) % 10
            if p.high(f"SET{k}"):
                self.count[k] = 9
            if p.high(f"CLR{k}"):
                self.count[k] = None if p.high(f"SET{k}") else 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k, count in self.count.items():
            found |= shown([f"Q{k}{c}" for c in "ABCD"], bits(count, 4))
        return found


class Shift596(Shift594):
    """With an enable that turns the outputs off: of open collectors that is high."""

    seldom: ClassVar[dict[str, int]] = {"SRCLR_n": 0}

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {pin: 1 if level == "Z" else level for pin, level in super().shows(p).items()}


CHIPS: dict[str, Makes] = {
    "176": presettable(5),
    "177": presettable(8),
    "354": kept_selector("DC_n"),
    "356": kept_selector("CLK"),
    "490": Dual490,
    "596": Shift596,
    "599": Shift594,
    "668": up_down_169(10),
    "669": up_down_169(16),
}
