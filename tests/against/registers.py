"""Flip-flops, registers and latches, as the words of the data books say it, from memory."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Bit, Model, Pins, flip, shown

Makes = type[Model]


def register(
    count: int,
    *,
    clear: str = "",
    hold: Callable[[Pins], bool] = lambda p: False,
    off: Callable[[Pins], bool] = lambda p: False,
    inverts: bool = False,
    bars: bool = False,
) -> Makes:
    """D-type flip-flops with one rising clock: D0 … to Q0 …; ``clear`` acts by level, high or (its
    name ends so) low; ``hold`` keeps them at the edge; ``off`` lets the outputs go."""

    class Flops(Model):
        seldom: ClassVar[dict[str, int]] = {clear: int(not clear.endswith("_n"))} if clear else {}

        def __init__(self) -> None:
            self.q: list[Bit] = [None] * count

        def step(self, p: Pins) -> None:
            if p.rose("CLK") and not hold(p):
                self.q = p.bits(numbered("D", range(count)))
            if clear and p[clear] == self.seldom[clear]:
                self.q = [0] * count

        def shows(self, p: Pins) -> dict[str, Shown]:
            levels = [flip(q) for q in self.q] if inverts else self.q
            tail = "_n" if inverts else ""
            found = shown(numbered("Q", range(count), tail), levels, on=not off(p))
            if bars:
                found |= shown(numbered("Q", range(count), "_n"), map(flip, self.q))
            return found

    return Flops


def latches(count: int, *, inverts: bool = False) -> Makes:
    """Transparent while LE is high; three-state, OE_n."""

    class Latches(Model):
        clocks = ("LE",)

        def __init__(self) -> None:
            self.q: list[Bit] = [None] * count

        def step(self, p: Pins) -> None:
            if p.high("LE"):
                self.q = p.bits(numbered("D", range(count)))

        def shows(self, p: Pins) -> dict[str, Shown]:
            levels = [flip(q) for q in self.q] if inverts else self.q
            names = numbered("Q", range(count), "_n" if inverts else "")
            return shown(names, levels, on=p.low("OE_n"))

    return Latches


class FlipFlops(Model):
    """Two flip-flops with their own clock, clear and preset; both of these at once put both
    outputs high, and what goes last decides."""

    clocks: ClassVar[tuple[str, ...]] = ("CLK1", "CLK2")
    presets = True
    rising = True

    def __init__(self) -> None:
        self.q: dict[int, Bit] = {1: None, 2: None}

    def following(self, p: Pins, k: int) -> Bit:
        raise AssertionError("says what an edge captures")

    def step(self, p: Pins) -> None:
        for k in (1, 2):
            if p.rose(f"CLK{k}") if self.rising else p.fell(f"CLK{k}"):
                self.q[k] = self.following(p, k)
            preset = self.presets and p.low(f"PRE{k}_n")
            clear = f"CLR{k}_n" in p.now and p.low(f"CLR{k}_n")
            if preset or clear:
                self.q[k] = None if preset and clear else int(preset)

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for k in (1, 2):
            both = self.presets and p.low(f"PRE{k}_n", f"CLR{k}_n")
            found |= (
                {f"Q{k}": 1, f"Q{k}_n": 1}
                if both
                else {f"Q{k}": self.q[k], f"Q{k}_n": flip(self.q[k])}
            )
        return found


CONTROLS = {f"{name}{k}_n": 0 for name in ("CLR", "PRE") for k in (1, 2)}


class Dual74(FlipFlops):
    seldom = CONTROLS

    def following(self, p: Pins, k: int) -> Bit:
        return p[f"D{k}"]


class Dual112(FlipFlops):
    seldom = CONTROLS
    rising = False

    def following(self, p: Pins, k: int) -> Bit:
        if p.high(f"J{k}", f"K{k}"):
            return flip(self.q[k])
        return self.q[k] if p.low(f"J{k}", f"K{k}") else p[f"J{k}"]


class Dual73(Dual112):
    seldom: ClassVar[dict[str, int]] = {"CLR1_n": 0, "CLR2_n": 0}
    presets = False


class Pulse76(Dual112):
    """Pulse-triggered: while the clock is high the master keeps a J that would set, or a K that
    would clear, however short; the slave follows when the clock falls."""

    def __init__(self) -> None:
        super().__init__()
        self.master: dict[int, Bit] = {1: None, 2: None}

    def step(self, p: Pins) -> None:
        for k in (1, 2):
            if p.high(f"CLK{k}") and self.q[k] is not None:
                if p.high("JK"[self.q[k] or 0] + str(k)):
                    self.master[k] = flip(self.q[k])
            elif p.low(f"CLK{k}"):
                self.q[k] = self.master[k]
            preset = self.presets and p.low(f"PRE{k}_n")
            if preset or p.low(f"CLR{k}_n"):
                both = preset and p.low(f"CLR{k}_n")
                self.q[k] = self.master[k] = None if both else int(preset)


class Pulse73(Pulse76):
    seldom: ClassVar[dict[str, int]] = {"CLR1_n": 0, "CLR2_n": 0}
    presets = False


class Dual109(FlipFlops):
    seldom = CONTROLS

    def following(self, p: Pins, k: int) -> Bit:
        if p.high(f"J{k}") and p.low(f"K{k}_n"):
            return flip(self.q[k])
        return self.q[k] if p.low(f"J{k}") and p.high(f"K{k}_n") else p[f"J{k}"]


class Quad77(Model):
    """Two pairs of latches, each transparent while its enable is high."""

    clocks = ("C12", "C34")

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 4

    def step(self, p: Pins) -> None:
        for k in range(4):
            if p.high("C12" if k < 2 else "C34"):
                self.q[k] = p[f"D{k + 1}"]

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(1, 5)), self.q)


class Quad75(Quad77):
    def shows(self, p: Pins) -> dict[str, Shown]:
        return super().shows(p) | shown(numbered("Q", range(1, 5), "_n"), map(flip, self.q))


class Addressable259(Model):
    """LE_n low: the addressed latch follows D; with CLR_n low the others are cleared."""

    clocks = ("LE_n",)
    seldom: ClassVar[dict[str, int]] = {"CLR_n": 0}

    def __init__(self) -> None:
        self.q: list[Bit] = [None] * 8

    def step(self, p: Pins) -> None:
        if p.low("CLR_n"):
            self.q = [0] * 8
        if p.low("LE_n"):
            chosen = sum((p[f"A{k}"] or 0) << k for k in range(3))
            self.q[chosen] = p["D"]

    def shows(self, p: Pins) -> dict[str, Shown]:
        return shown(numbered("Q", range(8)), self.q)


class Decoder137(Model):
    """The address goes through while GL_n is low and stays when it goes high."""

    clocks = ("GL_n",)
    seldom: ClassVar[dict[str, int]] = {"G1": 0, "G2_n": 1}

    def __init__(self) -> None:
        self.address: int | None = None

    def step(self, p: Pins) -> None:
        if p.low("GL_n"):
            self.address = sum((p[f"A{k}"] or 0) << k for k in range(3))

    def shows(self, p: Pins) -> dict[str, Shown]:
        on = p.high("G1") and p.low("G2_n")
        if on and self.address is None:
            return dict.fromkeys(numbered("Y", range(8), "_n"))
        return {f"Y{k}_n": int(not (on and k == self.address)) for k in range(8)}


SEGMENTS = ("abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "cdefg", "abc", "abcdefg", "abcfg")


class Display4511(Model):
    """Segments of a digit; of 6 and 9 without their tails; nothing above 9. The lamp test wins
    over blanking, and the latch is open while LE is low."""

    clocks = ("LE",)
    seldom: ClassVar[dict[str, int]] = {"LT_n": 0, "BL_n": 0, "D": 1}

    def __init__(self) -> None:
        self.digit: int | None = None

    def step(self, p: Pins) -> None:
        if p.low("LE"):
            self.digit = sum((p[c] or 0) << k for k, c in enumerate("ABCD"))

    def shows(self, p: Pins) -> dict[str, Shown]:
        if p.low("LT_n"):
            lit = "abcdefg"
        elif p.low("BL_n"):
            lit = ""
        elif self.digit is None:
            return dict.fromkeys("abcdefg")
        else:
            lit = SEGMENTS[self.digit] if self.digit < 10 else ""
        return {segment: int(segment in lit) for segment in "abcdefg"}


def clears_and_enables(count: int, *enables: str) -> Makes:
    """The 823 and 825: clear, clock enable and output enables, all active low."""
    return register(
        count,
        clear="CLR_n",
        hold=lambda p: p.high("CLKEN_n"),
        off=lambda p: not p.low(*enables),
    )


CHIPS: dict[str, Makes] = {
    "73": Dual73,
    "73@TTL": Pulse73,
    "74": Dual74,
    "75": Quad75,
    "77": Quad77,
    "76": Dual112,
    "76@TTL": Pulse76,
    "107": Dual73,
    "107@TTL": Pulse73,
    "109": Dual109,
    "112": Dual112,
    "137": Decoder137,
    "173": register(
        4,
        clear="CLR",
        hold=lambda p: not p.low("G1_n", "G2_n"),
        off=lambda p: not p.low("M_n", "N_n"),
    ),
    "174": register(6, clear="CLR_n"),
    "175": register(4, clear="CLR_n", bars=True),
    "259": Addressable259,
    "273": register(8, clear="CLR_n"),
    "373": latches(8),
    "374": register(8, off=lambda p: p.high("OE_n")),
    "377": register(8, hold=lambda p: p.high("G_n")),
    "563": latches(8, inverts=True),
    "564": register(8, off=lambda p: p.high("OE_n"), inverts=True),
    "573": latches(8),
    "574": register(8, off=lambda p: p.high("OE_n")),
    "821": register(10, off=lambda p: p.high("OE_n")),
    "823": clears_and_enables(9, "OE_n"),
    "825": clears_and_enables(8, "OE1_n", "OE2_n", "OE3_n"),
    "841": latches(10),
    "4511": Display4511,
}
