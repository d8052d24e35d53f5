"""Memories as Python dictionaries, as the function tables of the data books say it, from memory."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Bit, Model, Pins, flip, number, shown

Makes = type[Model]


def separate(select: str, outputs: list[str], *, inverts: bool) -> Makes:
    """189, 219: 16 words of 4 bits, data in and out on pins of their own, which are off unless it
    is read."""
    data, address = numbered("D", range(4)), numbered("A", range(4))

    class Memory(Model):
        clocks = ("WE_n",)
        seldom: ClassVar[dict[str, int]] = {select: 1}

        def __init__(self) -> None:
            self.words: dict[int | None, list[Bit]] = {}

        def step(self, p: Pins) -> None:
            if p.low(select, "WE_n"):
                self.words[number(p.bits(address))] = p.bits(data)

        def shows(self, p: Pins) -> dict[str, Shown]:
            if p.high(select) or p.low("WE_n"):
                return dict.fromkeys(outputs, "Z")
            word = self.words.get(number(p.bits(address)), [None] * 4)
            return shown(outputs, [flip(bit) if inverts else bit for bit in word])

    return Memory


class Memory89(separate("ME_n", [], inverts=True)):  # type: ignore[misc]  # made by a call
    """Open collectors, which show the complement of the data while WE_n is low, selected or not,
    and high while it is neither written nor read."""

    def shows(self, p: Pins) -> dict[str, Shown]:
        outputs, data = numbered("S", range(4), "_n"), numbered("D", range(4))
        if p.low("WE_n"):
            return shown(outputs, map(flip, p.bits(data)))
        if p.high("ME_n"):
            return dict.fromkeys(outputs, 1)
        address = number(p.bits(numbered("A", range(4))))
        return shown(outputs, map(flip, self.words.get(address, [None] * 4)))


class File670(Model):
    """4 words of 4 bits, written at one address while another is read."""

    clocks = ("GW_n",)
    seldom: ClassVar[dict[str, int]] = {"GR_n": 1}
    off: ClassVar[Shown] = "Z"

    def __init__(self) -> None:
        self.words: dict[int | None, list[Bit]] = {}

    def step(self, p: Pins) -> None:
        if p.low("GW_n"):
            self.words[number(p.bits(("WA", "WB")))] = p.bits(numbered("D", range(1, 5)))

    def shows(self, p: Pins) -> dict[str, Shown]:
        outputs = numbered("Q", range(1, 5))
        if p.high("GR_n"):
            return dict.fromkeys(outputs, self.off)
        return shown(outputs, self.words.get(number(p.bits(("RA", "RB"))), [None] * 4))


class File170(File670):
    """As the 670, with open collectors."""

    off: ClassVar[Shown] = 1


def common(
    addresses: int, selected: Callable[[Pins], bool], seldom: dict[str, int], width: int = 8
) -> Makes:
    """Static memories with data in and out at the same pins: writing wins over reading."""
    pins, data = numbered("A", range(addresses)), numbered("IO", range(width))

    class Memory(Model):
        clocks = ("WE_n", "OE_n")
        few = tuple(pins)

        def __init__(self) -> None:
            self.words: dict[int | None, list[Bit]] = {}

        def step(self, p: Pins) -> None:
            if selected(p) and p.low("WE_n"):
                self.words[number(p.bits(pins))] = p.bits(data)

        def shows(self, p: Pins) -> dict[str, Shown]:
            enabled = "OE_n" not in p.now or p.low("OE_n")
            on = selected(p) and p.high("WE_n") and enabled
            word = self.words.get(number(p.bits(pins)), [None] * width)
            return shown(data, word, on=on)

    Memory.seldom = seldom
    return Memory


def by_one(addresses: int) -> Makes:
    return common(addresses, lambda p: p.low("CS_n"), {"CS_n": 1})


CHIPS: dict[str, Makes] = {
    "89": Memory89,
    "170": File170,
    "189": separate("CS_n", numbered("O", range(4), "_n"), inverts=True),
    "219": separate("CS_n", numbered("O", range(4)), inverts=False),
    "670": File670,
    "2114": common(10, lambda p: p.low("CS_n"), {"CS_n": 1}, width=4),
    "6116": by_one(11),
    "6264": common(13, lambda p: p.low("CS1_n") and p.high("CS2"), {"CS1_n": 1, "CS2": 0}),
    "62256": by_one(15),
    "628128": common(17, lambda p: p.low("CE1_n") and p.high("CE2"), {"CE1_n": 1, "CE2": 0}),
    "628512": common(19, lambda p: p.low("CE_n"), {"CE_n": 1}),
}

READ_ONLY: dict[str, int] = {
    **{"2716": 11, "27C16": 11, "2732": 12, "27C32": 12, "27C64": 13, "27C128": 14, "27C256": 15},
    **{"2764": 13, "27128": 14, "27256": 15},
    **{"27C512": 16, "27C010": 17, "27C020": 18, "27C040": 19},
    **{"28C16": 11, "28C64": 13, "28C256": 15, "28C010": 17},
    **{"39SF010": 17, "39SF020": 18, "39SF040": 19},
}
"""Address pins. CE_n and OE_n must be low for the word to show."""
