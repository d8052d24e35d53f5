"""Rarer counters, as the words of the data books say it, from memory."""

from __future__ import annotations

from typing import ClassVar

from tests.against.chips import Shown
from tests.against.counters import long_ripple, ripple, up_down_169
from tests.against.functions import numbered
from tests.against.model import Model, Pins, bits, number, shown

Makes = type[Model]


class Ripple92(Model):
    """Divides by two, and by six: 0, 1, 2, 4, 5, 6 at Q3 Q2 Q1."""

    clocks = ("CKA", "CKB")
    seldom: ClassVar[dict[str, int]] = {"R01": 1, "R02": 1}
    sequence: ClassVar[tuple[int, ...]] = (0, 1, 2, 4, 5, 6)

    def __init__(self) -> None:
        self.first: int | None = None
        self.second: int | None = None

    def step(self, p: Pins) -> None:
        if p.fell("CKA") and self.first is not None:
            self.first = 1 - self.first
        if p.fell("CKB") and self.second is not None:
            self.second = (self.second + 1) % 6
        if p.high("R01", "R02"):
            self.first = self.second = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        value = None if self.second is None else self.sequence[self.second]
        return {"Q0": self.first} | shown(numbered("Q", (1, 2, 3)), bits(value, 3))


def presettable(second: int) -> Makes:
    """196 and 197: ripple counters that LD_n loads and CLR_n clears by level; not both at once."""

    class Counter(Model):
        clocks = ("CLK1", "CLK2")
        seldom: ClassVar[dict[str, int]] = {"LD_n": 0, "CLR_n": 0}

        def __init__(self) -> None:
            self.first: int | None = None
            self.second: int | None = None

        def may_move(self, p: Pins, pin: str) -> bool:
            other = {"LD_n": "CLR_n", "CLR_n": "LD_n"}.get(pin)
            return other is None or p.low(pin) or p.high(other)

        def step(self, p: Pins) -> None:
            if p.fell("CLK1") and self.first is not None:
                self.first = 1 - self.first
            if p.fell("CLK2") and self.second is not None:
                self.second = (self.second + 1) % second if self.second < second else None
            if p.low("LD_n"):
                self.first = p["D0"]
                self.second = number(p.bits(numbered("D", (1, 2, 3))))
            if p.low("CLR_n"):
                self.first = self.second = None if p.low("LD_n") else 0

        def shows(self, p: Pins) -> dict[str, Shown]:
            rest = shown(numbered("Q", (1, 2, 3)), bits(self.second, 3))
            return {"Q0": self.first} | rest

    return Counter


class Dual390(Model):
    """Two decade counters in two parts each."""

    clocks = ("CKA1", "CKB1", "CKA2", "CKB2")
    seldom: ClassVar[dict[str, int]] = {"CLR1": 1, "CLR2": 1}

    def __init__(self) -> None:
        self.first: dict[int, int | None] = {1: None, 2: None}
        self.second: dict[int, int | None] = {1: None, 2: None}

    def step(self, p: Pins) -> None:
        for k in (1, 2):
            first, second = self.first[k], self.second[k]
            if p.fell(f"CKA{k}") and first is not None:
                self.first[k] = 1 - first
            if p.fell(f"CKB{k}") and second is not None:
                self.second[k] = (second + 1) % 5
            if p.high(f"CLR{k}"):
                self.first[k] = self.second[k] = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k in (1, 2):
            found |= {f"Q{k}A": self.first[k]}
            found |= shown([f"Q{k}{c}" for c in "BCD"], bits(self.second[k], 3))
        return found


def clears_568(modulo: int) -> Makes:
    """568 and 569: as 168 and 169, with two clears and three-state outputs; CCO_n is a carry with
    the low half of the clock in it, of which nothing is compared while it loads or clears."""

    class Counter(up_down_169(modulo)):  # type: ignore[misc]  # made by a call
        seldom: ClassVar[dict[str, int]] = {
            **{"ACLR_n": 0, "SCLR_n": 0, "LD_n": 0},
            **{"ENP_n": 1, "ENT_n": 1, "OE_n": 1},
        }

        def step(self, p: Pins) -> None:
            super().step(p)
            if p.low("ACLR_n") or (p.rose("CLK") and p.low("SCLR_n")):
                self.count = 0

        def shows(self, p: Pins) -> dict[str, Shown]:
            found: dict[str, Shown] = super().shows(p)
            over = found["RCO_n"]
            if p.low("OE_n") is False:
                found |= dict.fromkeys(numbered("Q", range(4)), "Z")
            counts = p.low("ENP_n", "ENT_n", "CLK")
            unsaid = not p.high("LD_n", "SCLR_n", "ACLR_n")
            return found | {"CCO_n": None if unsaid else over if counts else 1}

    return Counter


def up_down_4516(modulo: int) -> Makes:
    """4510 and 4516: PL high loads, MR high clears, both by level; CE_n low counts."""

    class Counter(Model):
        clocks = ("CP",)
        seldom: ClassVar[dict[str, int]] = {"PL": 1, "MR": 1, "CE_n": 1}

        def __init__(self) -> None:
            self.count: int | None = None

        def step(self, p: Pins) -> None:
            if p.rose("CP") and p.low("CE_n") and self.count is not None:
                step = 1 if p.high("UP") else -1
                self.count = (self.count + step) % modulo if self.count < modulo else None
            if p.high("PL"):
                self.count = number(p.bits(numbered("D", range(4))))
            if p.high("MR"):
                self.count = 0

        def shows(self, p: Pins) -> dict[str, Shown]:
            over: Shown = 1
            if p.low("CE_n"):
                odd = self.count is None or self.count >= modulo or p.high("MR") or p.high("PL")
                over = None if odd else int(self.count != (modulo - 1 if p.high("UP") else 0))
            return shown(numbered("Q", range(4)), bits(self.count, 4)) | {"TC_n": over}

    return Counter


def dual_4520(modulo: int) -> Makes:
    """4518 and 4520: CLK rises while EN is high, or EN falls while CLK is low."""

    class Counter(Model):
        clocks = ("CLK1", "EN1", "CLK2", "EN2")
        seldom: ClassVar[dict[str, int]] = {"CLR1": 1, "CLR2": 1}

        def __init__(self) -> None:
            self.count: dict[int, int | None] = {1: None, 2: None}

        def step(self, p: Pins) -> None:
            for k, count in self.count.items():
                rose = p.rose(f"CLK{k}") and p.high(f"EN{k}")
                fell = p.fell(f"EN{k}") and p.low(f"CLK{k}")
                if (rose or fell) and count is not None:
                    self.count[k] = (count + 1) % modulo
                if p.high(f"CLR{k}"):
                    self.count[k] = 0

        def shows(self, p: Pins) -> dict[str, Shown]:
            found: dict[str, Shown] = {}
            for k, count in self.count.items():
                found |= shown([f"Q{k}{c}" for c in "ABCD"], bits(count, 4))
            return found

    return Counter


class Oscillator4060(long_ripple("- - - Q3 Q4 Q5 Q6 Q7 Q8 Q9 - Q11 Q12 Q13", "RS", "MR")):  # type: ignore[misc]  # made by a call
    """With the gates of the oscillator, of which nothing is said while MR is high."""

    def shows(self, p: Pins) -> dict[str, Shown]:
        rs = p["RS"] if p.low("MR") else None
        found: dict[str, Shown] = super().shows(p)
        return found | {"RTC": None if rs is None else 1 - rs, "CTC": rs}


STAGES_4020 = "Q0 - - Q3 Q4 Q5 Q6 Q7 Q8 Q9 Q10 Q11 Q12 Q13"
CHIPS: dict[str, Makes] = {
    "92": Ripple92,
    "168": up_down_169(10),
    "196": presettable(5),
    "197": presettable(8),
    "290": ripple(5, ("R01", "R02"), ("R91", "R92")),
    "390": Dual390,
    "568": clears_568(10),
    "569": clears_568(16),
    "4020": long_ripple(STAGES_4020, "CP_n", "MR"),
    "4024": long_ripple(" ".join(numbered("Q", range(7))), "CP_n", "MR"),
    "4040": long_ripple(" ".join(numbered("Q", range(12))), "CP_n", "MR"),
    "4060": Oscillator4060,
    "4510": up_down_4516(10),
    "4516": up_down_4516(16),
    "4518": dual_4520(10),
    "4520": dual_4520(16),
}
