"""Counters, as the words of the data books say it, from memory. A state that a counter cannot
reach by counting (a decade counter above 9) is followed no further: it is unknown until it is
loaded or cleared."""

from __future__ import annotations

from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Model, Pins, bits, number, shown

Makes = type[Model]


def synchronous(modulo: int, *, clear_waits: bool) -> Makes:
    """160 to 163. The clear of 162 and 163 waits for the clock."""

    class Counter(Model):
        seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "LD_n": 0, "ENP": 0, "ENT": 0}

        def __init__(self) -> None:
            self.count: int | None = None

        def step(self, p: Pins) -> None:
            if p.rose("CLK"):
                self.edge(p)
            if not clear_waits and p.low("CLR_n"):
                self.count = 0

        def edge(self, p: Pins) -> None:
            if p.low("CLR_n"):
                self.count = 0
            elif p.low("LD_n"):
                self.count = number(p.bits(numbered("D", range(4))))
            elif p.high("ENP", "ENT") and self.count is not None:
                self.count = (self.count + 1) % modulo if self.count < modulo else None

        def shows(self, p: Pins) -> dict[str, Shown]:
            full: Shown = 0
            if p.high("ENT"):
                odd = self.count is None or self.count >= modulo
                full = None if odd else int(self.count == modulo - 1)
            return shown(numbered("Q", range(4)), bits(self.count, 4)) | {"RCO": full}

    return Counter


def up_down_169(modulo: int) -> Makes:
    """168 and 169: high counts up, all enables low, nothing but the clock acts."""

    class Counter(Model):
        seldom: ClassVar[dict[str, int]] = {"LD_n": 0, "ENP_n": 1, "ENT_n": 1}

        def __init__(self) -> None:
            self.count: int | None = None

        def step(self, p: Pins) -> None:
            if not p.rose("CLK"):
                return
            if p.low("LD_n"):
                self.count = number(p.bits(numbered("D", range(4))))
            elif p.low("ENP_n", "ENT_n") and self.count is not None:
                step = 1 if p.high("U_D_n") else -1
                self.count = (self.count + step) % modulo if self.count < modulo else None

        def shows(self, p: Pins) -> dict[str, Shown]:
            over: Shown = 1
            if p.low("ENT_n"):
                odd = self.count is None or self.count >= modulo
                over = None if odd else int(self.count != (modulo - 1 if p.high("U_D_n") else 0))
            return shown(numbered("Q", range(4)), bits(self.count, 4)) | {"RCO_n": over}

    return Counter


def up_down_191(modulo: int) -> Makes:
    """190 and 191: D_U_n low counts up. The book lets the enable and the direction change only
    while the clock is high."""

    class Counter(Model):
        seldom: ClassVar[dict[str, int]] = {"LD_n": 0, "CTEN_n": 1}

        def __init__(self) -> None:
            self.count: int | None = None

        def may_move(self, p: Pins, pin: str) -> bool:
            return pin not in ("CTEN_n", "D_U_n") or p.high("CLK")

        def step(self, p: Pins) -> None:
            if p.rose("CLK") and p.low("CTEN_n") and self.count is not None:
                step = 1 if p.low("D_U_n") else -1
                self.count = (self.count + step) % modulo if self.count < modulo else None
            if p.low("LD_n"):
                self.count = number(p.bits(numbered("D", range(4))))

        def shows(self, p: Pins) -> dict[str, Shown]:
            found = shown(numbered("Q", range(4)), bits(self.count, 4))
            if self.count is None or self.count >= modulo:
                return found | {"MAX_MIN": None, "RCO_n": None}
            last = int(self.count == (modulo - 1 if p.low("D_U_n") else 0))
            ripple = last and p.low("CTEN_n", "CLK")
            return found | {"MAX_MIN": last, "RCO_n": int(not ripple)}

    return Counter


def two_clocks(modulo: int) -> Makes:
    """192 and 193: a clock counts while the other one is high. Nothing is said of both low."""

    class Counter(Model):
        clocks = ("UP", "DOWN")
        seldom: ClassVar[dict[str, int]] = {"LD_n": 0, "CLR": 1}

        def __init__(self) -> None:
            self.count: int | None = None

        def may_move(self, p: Pins, pin: str) -> bool:
            other = {"UP": "DOWN", "DOWN": "UP"}.get(pin)
            return other is None or p.high(other) or not p.high(pin)

        def step(self, p: Pins) -> None:
            step = p.rose("UP") - p.rose("DOWN")
            if step and self.count is not None:
                clean = self.count < modulo and p.high("UP", "DOWN")
                self.count = (self.count + step) % modulo if clean else None
            if p.high("CLR"):
                self.count = 0
            elif p.low("LD_n"):
                self.count = number(p.bits(numbered("D", range(4))))

        def shows(self, p: Pins) -> dict[str, Shown]:
            found = shown(numbered("Q", range(4)), bits(self.count, 4))
            if self.count is None or self.count >= modulo:
                return found | {"CO_n": None, "BO_n": None}
            carry = self.count == modulo - 1 and p.low("UP")
            borrow = self.count == 0 and p.low("DOWN")
            return found | {"CO_n": int(not carry), "BO_n": int(not borrow)}

    return Counter


def ripple(second: int, resets: tuple[str, ...], nines: tuple[str, ...] = ()) -> Makes:
    """90 and 93 and kin: a stage of two at CKA and one of ``second`` at CKB, falling edges; all
    ``resets`` high clear both, all ``nines`` high set them to 9 and win."""

    class Counter(Model):
        clocks = ("CKA", "CKB")
        seldom: ClassVar[dict[str, int]] = dict.fromkeys((*resets, *nines), 1)

        def __init__(self) -> None:
            self.first: int | None = None
            self.second: int | None = None

        def step(self, p: Pins) -> None:
            if p.fell("CKA") and self.first is not None:
                self.first = 1 - self.first
            if p.fell("CKB") and self.second is not None:
                self.second = (self.second + 1) % second
            if p.high(*resets):
                self.first = self.second = 0
            if nines and p.high(*nines):
                self.first, self.second = 1, 4

        def shows(self, p: Pins) -> dict[str, Shown]:
            rest = shown(numbered("Q", (1, 2, 3)), bits(self.second, 3))
            return {"Q0": self.first} | rest

    return Counter


class Dual393(Model):
    clocks = ("CLK1", "CLK2")
    seldom: ClassVar[dict[str, int]] = {"CLR1": 1, "CLR2": 1}

    def __init__(self) -> None:
        self.count: dict[int, int | None] = {1: None, 2: None}

    def step(self, p: Pins) -> None:
        for k, count in self.count.items():
            if p.fell(f"CLK{k}") and count is not None:
                self.count[k] = (count + 1) % 16
            if p.high(f"CLR{k}"):
                self.count[k] = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k, count in self.count.items():
            found |= shown([f"Q{k}{c}" for c in "ABCD"], bits(count, 4))
        return found


class Ring4017(Model):
    """Counts when CP0 rises with CP1_n low or CP1_n falls with CP0 high; CO is high for 0 to 4."""

    clocks = ("CP0", "CP1_n")
    seldom: ClassVar[dict[str, int]] = {"MR": 1}

    def __init__(self) -> None:
        self.count: int | None = None

    def step(self, p: Pins) -> None:
        counts = (p.rose("CP0") and p.low("CP1_n")) or (p.fell("CP1_n") and p.high("CP0"))
        if counts and self.count is not None:
            self.count = (self.count + 1) % 10
        if p.high("MR"):
            self.count = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        if self.count is None:
            return dict.fromkeys((*numbered("Q", range(10)), "CO"))
        decoded: dict[str, Shown] = {f"Q{k}": int(k == self.count) for k in range(10)}
        return decoded | {"CO": int(self.count < 5)}


def long_ripple(pins: str, clock: str, clear: str) -> Makes:
    """4020, 4024, 4040: ``pins`` from the least significant, "-" for a stage without a pin."""
    stages = pins.split()

    class Counter(Model):
        clocks = (clock,)
        seldom: ClassVar[dict[str, int]] = {clear: 1}
        never = tuple((pin, 1) for pin in stages[6:] if pin != "-")

        def __init__(self) -> None:
            self.count: int | None = None

        def step(self, p: Pins) -> None:
            if p.fell(clock) and self.count is not None:
                self.count = (self.count + 1) % (1 << len(stages))
            if p.high(clear):
                self.count = 0

        def shows(self, p: Pins) -> dict[str, Shown]:
            levels = bits(self.count, len(stages))
            return {pin: q for pin, q in zip(stages, levels, strict=True) if pin != "-"}

    return Counter


def eight_bits(*, clear_waits: bool) -> Makes:
    """867 and 869. S1 S0: clear, count down, load, count up."""

    class Counter(Model):
        seldom: ClassVar[dict[str, int]] = {"ENP_n": 1, "ENT_n": 1, "S1": 0}

        def __init__(self) -> None:
            self.count: int | None = None

        def step(self, p: Pins) -> None:
            if p.rose("CLK"):
                self.edge(p)
            if not clear_waits and p.low("S1", "S0"):
                self.count = 0

        def edge(self, p: Pins) -> None:
            if p.low("S1", "S0"):
                self.count = 0
            elif p.high("S1") and p.low("S0"):
                self.count = number(p.bits(numbered("D", range(8))))
            elif p.low("ENP_n", "ENT_n") and self.count is not None:
                self.count = (self.count + (1 if p.high("S1") else -1)) % 256

        def shows(self, p: Pins) -> dict[str, Shown]:
            over: Shown = 1
            if p.low("ENT_n"):
                over = None
                if p.high("S0") and self.count is not None:
                    over = int(self.count != (255 if p.high("S1") else 0))
            return shown(numbered("Q", range(8)), bits(self.count, 8)) | {"RCO_n": over}

    return Counter


class Shown590(Model):
    """Counts with CCKEN_n low; the register takes the count at RCLK. At the last count RCO_n is
    low while it counts; makers differ on what it is while it does not."""

    clocks = ("CCLK", "RCLK")
    seldom: ClassVar[dict[str, int]] = {"CCLR_n": 0, "CCKEN_n": 1}
    never = (("RCO_n", 0), *((f"Q{k}", 1) for k in (5, 6, 7)))

    def __init__(self) -> None:
        self.count: int | None = None
        self.kept: int | None = None

    def step(self, p: Pins) -> None:
        if p.rose("RCLK"):
            self.kept = self.count
        if p.rose("CCLK") and p.low("CCKEN_n") and self.count is not None:
            self.count = (self.count + 1) % 256
        if p.low("CCLR_n"):
            self.count = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        last = self.count is None or (self.count == 255 and p.high("CCKEN_n"))
        over = None if last else int(self.count != 255)
        found = shown(numbered("Q", range(8)), bits(self.kept, 8), on=p.low("OE_n"))
        return found | {"RCO_n": over}


class Loaded592(Model):
    """An input register, which CLOAD_n puts into the counter by level; clear acts by level too,
    and nothing is said of both."""

    clocks = ("CCK", "RCK")
    seldom: ClassVar[dict[str, int]] = {"CCLR_n": 0, "CLOAD_n": 0, "CCKEN_n": 1}
    data: ClassVar[list[str]] = numbered("D", range(8))

    def __init__(self) -> None:
        self.count: int | None = None
        self.kept: int | None = None

    def takes(self, p: Pins) -> bool:
        return True

    def there(self, p: Pins) -> int | None:
        """What is on the data pins."""
        return number(p.bits(self.data))

    def counts(self, p: Pins) -> bool:
        return p.low("CCKEN_n")

    def step(self, p: Pins) -> None:
        if p.rose("RCK") and self.takes(p):
            self.kept = self.there(p)
        if p.rose("CCK") and self.counts(p) and self.count is not None:
            self.count = (self.count + 1) % 256
        if p.low("CLOAD_n"):
            self.count = self.kept
        if p.low("CCLR_n"):
            self.count = None if p.low("CLOAD_n") else 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {"RCO_n": None if self.count is None else int(self.count != 255)}


class Both593(Loaded592):
    """As the 592, with the data and the count at the same pins."""

    never = (("RCO_n", 0),)
    seldom: ClassVar[dict[str, int]] = {"CCLR_n": 0, "CLOAD_n": 0, "RCKEN_n": 1}
    data: ClassVar[list[str]] = numbered("IO", range(8))

    def on(self, p: Pins) -> bool:
        return p.high("G") and p.low("G_n")

    def takes(self, p: Pins) -> bool:
        return p.low("RCKEN_n")

    def there(self, p: Pins) -> int | None:
        return self.count if self.on(p) else super().there(p)

    def counts(self, p: Pins) -> bool:
        return p.high("CCKEN") or p.low("CCKEN_n")

    def shows(self, p: Pins) -> dict[str, Shown]:
        found = shown(self.data, bits(self.count, 8), on=self.on(p))
        return found | super().shows(p)


def kept(*, clear_waits: bool) -> Makes:
    """697 and 699: an up/down counter with a register; R_C_n high shows the register."""

    class Counter(Model):
        clocks = ("CCK", "RCK")
        seldom: ClassVar[dict[str, int]] = {
            **{"CCLR_n": 0, "LD_n": 0},
            **{"ENP_n": 1, "ENT_n": 1, "G_n": 1},
        }

        def __init__(self) -> None:
            self.count: int | None = None
            self.kept: int | None = None

        def step(self, p: Pins) -> None:
            if p.rose("RCK"):
                self.kept = self.count
            if p.rose("CCK"):
                self.edge(p)
            if p.low("CCLR_n") and (not clear_waits or p.rose("CCK")):
                self.count = 0

        def edge(self, p: Pins) -> None:
            if p.low("LD_n"):
                self.count = number(p.bits(numbered("D", range(4))))
            elif p.low("ENP_n", "ENT_n") and self.count is not None:
                self.count = (self.count + (1 if p.high("U_D_n") else -1)) % 16

        def shows(self, p: Pins) -> dict[str, Shown]:
            over: Shown = 1
            if p.low("ENT_n"):
                last = 15 if p.high("U_D_n") else 0
                over = None if self.count is None else int(self.count != last)
            value = self.kept if p.high("R_C_n") else self.count
            return shown(numbered("Q", range(4)), bits(value, 4), on=p.low("G_n")) | {"RCO_n": over}

    return Counter


CHIPS: dict[str, Makes] = {
    "90": ripple(5, ("R01", "R02"), ("R91", "R92")),
    "93": ripple(8, ("R01", "R02")),
    "160": synchronous(10, clear_waits=False),
    "161": synchronous(16, clear_waits=False),
    "162": synchronous(10, clear_waits=True),
    "163": synchronous(16, clear_waits=True),
    "169": up_down_169(16),
    "190": up_down_191(10),
    "191": up_down_191(16),
    "192": two_clocks(10),
    "193": two_clocks(16),
    "293": ripple(8, ("R01", "R02")),
    "393": Dual393,
    "590": Shown590,
    "592": Loaded592,
    "593": Both593,
    "697": kept(clear_waits=False),
    "699": kept(clear_waits=True),
    "867": eight_bits(clear_waits=False),
    "869": eight_bits(clear_waits=True),
    "4017": Ring4017,
}
