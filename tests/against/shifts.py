"""Shift registers, as the words of the data books say it, from memory.

The contents are lists, the stage that the serial input feeds first; shifting is putting one item
in at an end and dropping one at the other.
"""

from __future__ import annotations

from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Bit, Model, Pins, flip, shown

EIGHT = range(8)


class Shift164(Model):
    """The serial input is A and B; cleared by level."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            self.q = [int(p.high("A", "B")), *self.q[:-1]]
        if p.low("CLR_n"):
            self.q = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", EIGHT), self.q)


class Shift165(Model):
    """Loads by level; the clock and its inhibit are two inputs of one OR gate."""

    clocks = ("CLK", "CLK_INH")
    seldom: ClassVar[dict[str, int]] = {"SH_LD_n": 0, "CLK_INH": 1}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if (p.rose("CLK") and p.low("CLK_INH")) or (p.rose("CLK_INH") and p.low("CLK")):
            self.q = [p["SER"], *self.q[:-1]]
        if p.low("SH_LD_n"):
            self.q = p.bits(numbered("D", EIGHT))

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {"Q7": self.q[-1], "Q7_n": flip(self.q[-1])}


class Shift166(Model):
    """Loads at the clock; cleared by level."""

    clocks = ("CLK", "CLK_INH")
    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "SH_LD_n": 0, "CLK_INH": 1}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if (p.rose("CLK") and p.low("CLK_INH")) or (p.rose("CLK_INH") and p.low("CLK")):
            loads = p.low("SH_LD_n")
            self.q = p.bits(numbered("D", EIGHT)) if loads else [p["SER"], *self.q[:-1]]
        if p.low("CLR_n"):
            self.q = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {"Q7": self.q[-1]}


def turned(q: list[Bit], p: Pins, right: Bit, left: Bit, data: list[Bit]) -> list[Bit]:
    """S1 S0: stay, shift right (towards the last stage), shift left, load."""
    match p["S1"], p["S0"]:
        case 0, 1:
            return [right, *q[:-1]]
        case 1, 0:
            return [*q[1:], left]
        case 1, 1:
            return data
    return q


def both_ways(count: int) -> type[Model]:
    """194 and 198."""

    class Shift(Model):
        seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

        def __init__(self) -> None:
            self.q: list[Bit] = [None] * count

        def step(self, p: Pins) -> None:
            if p.rose("CLK"):
                data = p.bits(numbered("D", range(count)))
                self.q = turned(self.q, p, p["SR_SER"], p["SL_SER"], data)
            if p.low("CLR_n"):
                self.q = [0] * count

        def shows(self, p: Pins) -> dict[str, Shown]:
            return shown(numbered("Q", range(count)), self.q)

    return Shift


class Shift195(Model):
    """The first stage is a J-K-bar flip-flop; the last one shows its inverse too."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "SH_LD_n": 0}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 4

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            match p["J"], p["K_n"]:
                case 0, 1:
                    first = self.q[0]
                case 1, 0:
                    first = flip(self.q[0])
                case both:
                    first = both[0]
            loads = p.low("SH_LD_n")
            self.q = p.bits(numbered("D", range(4))) if loads else [first, *self.q[:-1]]
        if p.low("CLR_n"):
            self.q = [0] * 4

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(4)), self.q) | {"Q3_n": flip(self.q[3])}


class Universal299(Model):
    """Data in and out at the same pins; while it loads its outputs are off."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "G1_n": 1, "G2_n": 1}
    clear_waits = False

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            self.q = turned(self.q, p, p["SR"], p["SL"], p.bits(numbered("IO", EIGHT)))
        if p.low("CLR_n") and (p.rose("CLK") or not self.clear_waits):
            self.q = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        on = p.low("G1_n", "G2_n") and not p.high("S0", "S1")
        ends: dict[str, Shown] = {"Q0S": self.q[0], "Q7S": self.q[7]}
        return shown(numbered("IO", EIGHT), self.q, on=on) | ends


class Universal323(Universal299):
    clear_waits = True


class Shift594(Model):
    """A shift register, and an output register with a clock of its own; each has its clear."""

    clocks = ("SRCLK", "RCLK")
    seldom: ClassVar[dict[str, int]] = {"SRCLR_n": 0, "RCLR_n": 0}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8
        self.out: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("RCLK"):
            self.out = list(self.q)
        if p.rose("SRCLK"):
            self.q = [p["SER"], *self.q[:-1]]
        if p.low("SRCLR_n"):
            self.q = [0] * 8
        if "RCLR_n" in p.now and p.low("RCLR_n"):
            self.out = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        on = "OE_n" not in p.now or p.low("OE_n")
        return shown(numbered("Q", EIGHT), self.out, on=on) | {"Q7S": self.q[7]}


class Shift595(Shift594):
    """As the 594, with three-state outputs in place of the second clear."""

    seldom: ClassVar[dict[str, int]] = {"SRCLR_n": 0}


class Shift597(Model):
    """An input register, loaded into the shift register by level; nothing is said of loading and
    clearing at once."""

    clocks = ("SRCLK", "RCLK")
    seldom: ClassVar[dict[str, int]] = {"SRCLR_n": 0, "SRLD_n": 0}

    def __init__(self) -> None:
        self.kept: list[Bit] = [None] * 8
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("RCLK"):
            self.kept = p.bits(numbered("D", EIGHT))
        if p.rose("SRCLK"):
            self.q = [p["SER"], *self.q[:-1]]
        if p.low("SRLD_n"):
            self.q = [None] * 8 if p.low("SRCLR_n") else list(self.kept)
        elif p.low("SRCLR_n"):
            self.q = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {"Q7": self.q[7]}


class Store4094(Model):
    """The latches follow while STR is high; QS2 shows the last stage half a clock later."""

    clocks = ("CP",)

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8
        self.late: Bit = None
        self.out: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("CP"):
            self.q = [p["D"], *self.q[:-1]]
        if p.fell("CP"):
            self.late = self.q[7]
        if p.high("STR"):
            self.out = list(self.q)

    def shows(self, p: Pins) -> dict[str, Shown]:
        found = shown(numbered("Q", EIGHT), self.out, on=p.high("OE"))
        return found | {"QS1": self.q[7], "QS2": self.late}


class Shift95(Model):
    """MODE low: CLK1 shifts; high: CLK2 loads; falling edges. MODE changes while both are low."""

    clocks = ("CLK1", "CLK2")

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 4

    def may_move(self, p: Pins, pin: str) -> bool:
        return pin != "MODE" or p.low("CLK1", "CLK2")

    def step(self, p: Pins) -> None:
        if p.low("MODE") and p.fell("CLK1"):
            self.q = [p["SER"], *self.q[:-1]]
        if p.high("MODE") and p.fell("CLK2"):
            self.q = p.bits(numbered("D", range(4)))

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(4)), self.q)


class Shift91(Model):
    """Eight stages of which the last comes out; the input is A and B; no clear."""

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            self.q = [int(p.high("A", "B")), *self.q[:-1]]

    def shows(self, p: Pins) -> dict[str, Shown]:
        return {"Q7": self.q[7], "Q7_n": flip(self.q[7])}


class Shift96(Model):
    """PE high sets the stages whose data input is high; nothing is said of PE and clear at once."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "PE": 1}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 5

    def may_move(self, p: Pins, pin: str) -> bool:
        if pin == "PE":
            return p.high("PE") or p.high("CLR_n")
        return pin != "CLR_n" or p.low("CLR_n") or p.low("PE")

    def step(self, p: Pins) -> None:
        if p.rose("CLK"):
            self.q = [p["SER"], *self.q[:-1]]
        if p.high("PE"):
            self.q = [1 if p.high(f"D{k}") else q for k, q in enumerate(self.q)]
        if p.low("CLR_n"):
            self.q = [None if p.high("PE") else 0] * 5

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(5)), self.q)


class Shift199(Model):
    """As the 195, with eight stages and a clock inhibit."""

    clocks = ("CLK", "CLK_INH")
    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0, "SH_LD_n": 0, "CLK_INH": 1}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if (p.rose("CLK") and p.low("CLK_INH")) or (p.rose("CLK_INH") and p.low("CLK")):
            first = p["J"]
            if p["J"] != p["K_n"]:
                first = flip(self.q[0]) if p.high("J") else self.q[0]
            loads = p.low("SH_LD_n")
            self.q = p.bits(numbered("D", EIGHT)) if loads else [first, *self.q[:-1]]
        if p.low("CLR_n"):
            self.q = [0] * 8

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", EIGHT), self.q)


class Shift295(Model):
    """Falling edge; LD_SH_n high loads; outputs on while OC is high."""

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 4

    def step(self, p: Pins) -> None:
        if p.fell("CLK"):
            loads = p.high("LD_SH_n")
            self.q = p.bits(numbered("D", range(4))) if loads else [p["SER"], *self.q[:-1]]

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(4)), self.q, on=p.high("OC"))


class Shift395(Shift295):
    """With a clear, outputs on while OC_n is low, and the last stage for the next chip."""

    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

    def step(self, p: Pins) -> None:
        super().step(p)
        if p.low("CLR_n"):
            self.q = [0] * 4

    def shows(self, p: Pins) -> dict[str, Shown]:
        on = p.low("OC_n")
        return shown(numbered("Q", range(4)), self.q, on=on) | {"Q3S": self.q[3]}


CHIPS: dict[str, type[Model]] = {
    "91": Shift91,
    "95": Shift95,
    "96": Shift96,
    "164": Shift164,
    "165": Shift165,
    "166": Shift166,
    "194": both_ways(4),
    "195": Shift195,
    "198": both_ways(8),
    "199": Shift199,
    "295": Shift295,
    "299": Universal299,
    "323": Universal323,
    "395": Shift395,
    "594": Shift594,
    "595": Shift595,
    "597": Shift597,
    "4094": Store4094,
}
