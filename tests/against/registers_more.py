"""Rarer flip-flops, registers and latches, as the words of the data books say it, from memory."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Bit, Model, Pins, flip, shown
from tests.against.registers import (
    SEGMENTS,
    Decoder137,
    Dual112,
    Quad75,
    latches,
    register,
)

Makes = type[Model]


class Dual113(Dual112):
    """A preset each, no clear."""

    seldom: ClassVar[dict[str, int]] = {"PRE1_n": 0, "PRE2_n": 0}

    def step(self, p: Pins) -> None:
        self.each(p, ("CLK1", "CLK2"), "")

    def each(self, p: Pins, clocks: Sequence[str], clear: str) -> None:
        """Both flip-flops, with their clocks and a clear that they share."""
        for k, clock in zip((1, 2), clocks, strict=True):
            if p.fell(clock):
                self.q[k] = self.following(p, k)
            preset, cleared = p.low(f"PRE{k}_n"), bool(clear) and p.low(clear)
            if preset or cleared:
                self.q[k] = None if preset and cleared else int(preset)

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k in (1, 2):
            both = p.low(f"PRE{k}_n") and "CLR_n" in p.now and p.low("CLR_n")
            one: dict[str, Shown] = {f"Q{k}": self.q[k], f"Q{k}_n": flip(self.q[k])}
            found |= dict.fromkeys(one, 1) if both else one
        return found


class Dual114(Dual113):
    """78 and 114: a clock and a clear for both."""

    clocks = ("CLK",)
    seldom: ClassVar[dict[str, int]] = {"PRE1_n": 0, "PRE2_n": 0, "CLR_n": 0}

    def step(self, p: Pins) -> None:
        self.each(p, ("CLK", "CLK"), "CLR_n")


class Dual116(Model):
    """Two latches of four bits, open while both their enables are low."""

    clocks = ("C11_n", "C12_n", "C21_n", "C22_n")
    seldom: ClassVar[dict[str, int]] = {"CLR1_n": 0, "CLR2_n": 0}

    def __init__(self) -> None:
        self.q: dict[int, list[Bit]] = {1: [None] * 4, 2: [None] * 4}

    def step(self, p: Pins) -> None:
        for k in (1, 2):
            if p.low(f"C{k}1_n", f"C{k}2_n"):
                self.q[k] = p.bits(numbered(f"D{k}", range(1, 5)))
            if p.low(f"CLR{k}_n"):
                self.q[k] = [0] * 4

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k, q in self.q.items():
            found |= shown(numbered(f"Q{k}", range(1, 5)), q)
        return found


class Decoder237(Decoder137):
    """As the 137, with outputs active high."""

    def shows(self, p: Pins) -> dict[str, Shown]:
        levels = super().shows(p).items()
        return {n.removesuffix("_n"): 1 - x if isinstance(x, int) else x for n, x in levels}


class Addressable256(Model):
    """Two times four latches at one address; clear with LE_n low leaves the addressed ones."""

    clocks = ("LE_n",)
    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

    def __init__(self) -> None:
        self.q: dict[str, list[Bit]] = {"A": [None] * 4, "B": [None] * 4}

    def step(self, p: Pins) -> None:
        for half in "AB":
            if p.low("CLR_n"):
                self.q[half] = [0] * 4
            if p.low("LE_n"):
                self.q[half][(p["A0"] or 0) + 2 * (p["A1"] or 0)] = p[f"D{half}"]

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for half, q in self.q.items():
            found |= shown(numbered(f"Q{half}", range(4)), q)
        return found


class Quad279(Model):
    """A low on a set input sets, on a reset input resets; while there are both the output is
    high, and the one that goes last decides. Two of the four have two set inputs."""

    clocks: ClassVar[tuple[str, ...]] = ()
    sets: ClassVar[dict[int, tuple[str, ...]]] = {
        1: ("S11_n", "S12_n"),
        2: ("S2_n",),
        3: ("S31_n", "S32_n"),
        4: ("S4_n",),
    }
    seldom: ClassVar[dict[str, int]] = {
        **{f"R{k}_n": 0 for k in range(1, 5)},
        **{pin: 0 for pins in sets.values() for pin in pins},
    }

    def __init__(self) -> None:
        self.q: dict[int, Bit] = dict.fromkeys(self.sets)

    def step(self, p: Pins) -> None:
        for k, pins in self.sets.items():
            if not p.high(*pins):
                self.q[k] = 1
            elif p.low(f"R{k}_n"):
                self.q[k] = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {f"Q{k}": q for k, q in self.q.items()}


def chosen_words(*, rising: bool, bars: bool) -> Makes:
    """298, 398, 399: WS low takes A1 … D1, high A2 … D2, at the clock."""

    class Words(Model):
        def __init__(self) -> None:
            self.q: list[Bit] = [None] * 4

        def step(self, p: Pins) -> None:
            if p.rose("CLK") if rising else p.fell("CLK"):
                word = 2 if p.high("WS") else 1
                self.q = p.bits(f"{c}{word}" for c in "ABCD")

        def shows(self, p: Pins) -> dict[str, Shown]:
            found = shown([f"Q{c}" for c in "ABCD"], self.q)
            if bars:
                found |= shown([f"Q{c}_n" for c in "ABCD"], map(flip, self.q))
            return found

    return Words


class Register575(Model):
    """The clear waits for the clock."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            self.q = [0] * 8 if p.low("CLR_n") else p.bits(numbered("D", range(8)))

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(8)), self.q, on=p.low("OE_n"))


def inverting_inputs(make: Makes, count: int) -> Makes:
    """The same with data inputs D0_n …, which are active low."""

    class Inverting(make):  # type: ignore[misc,valid-type]  # a class that is chosen at run time
        def step(self, p: Pins) -> None:
            turned = Pins(p.now | {f"D{k}": flip(p[f"D{k}_n"]) for k in range(count)})
            turned.before = p.before
            super().step(turned)

    return Inverting


def set_and_cleared(count: int, *enables: str) -> Makes:
    """843 and 845: latches with preset and clear; nothing is compared of both at once."""

    class Latches(Model):
        clocks = ("LE",)
        seldom: ClassVar[dict[str, int]] = {"PRE_n": 0, "CLR_n": 0}

        def __init__(self) -> None:
            self.q: list[Bit] = [None] * count

        def step(self, p: Pins) -> None:
            if p.high("LE"):
                self.q = p.bits(numbered("D", range(count)))
            preset, clear = p.low("PRE_n"), p.low("CLR_n")
            if preset or clear:
                self.q = [None if preset and clear else int(preset)] * count

        def shows(self, p: Pins) -> dict[str, Shown]:
            return shown(numbered("Q", range(count)), self.q, on=p.low(*enables))

    return Latches


def fours(*, latch: bool, inverts: bool) -> Makes:
    """873, 874, 876, 880: two halves of four; the first two with clear, the others with preset and
    inverted outputs."""

    class Halves(Model):
        clocks = ("LE1", "LE2") if latch else ("CLK1", "CLK2")
        control: ClassVar[str] = "PRE" if inverts else "CLR"
        seldom: ClassVar[dict[str, int]] = {f"{control}1_n": 0, f"{control}2_n": 0}

        def __init__(self) -> None:
            self.q: dict[int, list[Bit]] = {1: [None] * 4, 2: [None] * 4}

        def step(self, p: Pins) -> None:
            for k in (1, 2):
                if p.high(f"LE{k}") if latch else p.rose(f"CLK{k}"):
                    self.q[k] = p.bits(numbered(f"D{k}", range(1, 5)))
                if p.low(f"{self.control}{k}_n"):
                    self.q[k] = [int(inverts)] * 4

        def shows(self, p: Pins) -> dict[str, Shown]:
            found: dict[str, Shown] = {}
            for k, q in self.q.items():
                levels = [flip(x) for x in q] if inverts else q
                names = numbered(f"Q{k}", range(1, 5), "_n" if inverts else "")
                found |= shown(names, levels, on=p.low(f"OE{k}_n"))
            return found

    return Halves


def decoder_4514(active: int) -> Makes:
    """4514 and 4515: the address goes through while LE is high; off while E_n is high."""

    class Decoder(Model):
        clocks = ("LE",)

        def __init__(self) -> None:
            self.address: int | None = None

        def step(self, p: Pins) -> None:
            if p.high("LE"):
                self.address = sum((p[f"A{k}"] or 0) << k for k in range(4))

        def shows(self, p: Pins) -> dict[str, Shown]:
            names = numbered("Y", range(16), "" if active else "_n")
            if p.low("E_n") and self.address is None:
                return dict.fromkeys(names)
            on = p.low("E_n")
            return {n: active ^ int(not (on and k == self.address)) for k, n in enumerate(names)}

    return Decoder


class Display4543(Model):
    """Open while LE is high; PH high inverts all; 6 and 9 have tails; nothing above 9."""

    clocks = ("LE",)
    seldom: ClassVar[dict[str, int]] = {"BL": 1, "D": 1}

    def __init__(self) -> None:
        self.digit: int | None = None

    def step(self, p: Pins) -> None:
        if p.high("LE"):
            self.digit = sum((p[c] or 0) << k for k, c in enumerate("ABCD"))

    def shows(self, p: Pins) -> dict[str, Shown]:
        if self.digit is None and p.low("BL"):
            return dict.fromkeys("abcdefg")
        drawn = [*SEGMENTS[:6], "acdefg", *SEGMENTS[7:9], "abcdfg", *[""] * 6]
        lit = "" if p.high("BL") else drawn[self.digit or 0]
        return {c: int(c in lit) ^ (p["PH"] or 0) for c in "abcdefg"}


def off_by_oe(p: Pins) -> bool:
    return p.high("OE_n")


def inverted_register(count: int, *enables: str) -> Makes:
    """824 and 826."""
    plain = register(
        count,
        clear="CLR_n",
        hold=lambda p: p.high("CLKEN_n"),
        off=lambda p: not p.low(*enables),
    )
    return inverting_inputs(plain, count)


THREE = ("OE1_n", "OE2_n", "OE3_n")
CHIPS: dict[str, Makes] = {
    "78": Dual114,
    "113": Dual113,
    "114": Dual114,
    "116": Dual116,
    "237": Decoder237,
    "256": Addressable256,
    "279": Quad279,
    "298": chosen_words(rising=False, bars=False),
    "363": latches(8),
    "364": register(8, off=off_by_oe),
    "375": Quad75,
    "378": register(6, hold=lambda p: p.high("G_n")),
    "379": register(4, hold=lambda p: p.high("G_n"), bars=True),
    "398": chosen_words(rising=True, bars=True),
    "399": chosen_words(rising=True, bars=False),
    "533": latches(8, inverts=True),
    "534": register(8, off=off_by_oe, inverts=True),
    "575": Register575,
    "576": register(8, off=off_by_oe, inverts=True),
    "580": latches(8, inverts=True),
    "822": inverting_inputs(register(10, off=off_by_oe), 10),
    "824": inverted_register(9, "OE_n"),
    "826": inverted_register(8, *THREE),
    "842": inverting_inputs(latches(10), 10),
    "843": set_and_cleared(9, "OE_n"),
    "844": inverting_inputs(set_and_cleared(9, "OE_n"), 9),
    "845": set_and_cleared(8, *THREE),
    "846": inverting_inputs(set_and_cleared(8, *THREE), 8),
    "873": fours(latch=True, inverts=False),
    "874": fours(latch=False, inverts=False),
    "876": fours(latch=False, inverts=True),
    "880": fours(latch=True, inverts=True),
    "4514": decoder_4514(1),
    "4515": decoder_4514(0),
    "4543": Display4543,
}
