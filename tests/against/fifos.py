"""First-in first-out memories: a queue, and what the world says of how fast words pass.

Source: functional description of the data sheet, from memory and compared with copies.
"""

from collections import deque
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.model import Bit, Model, Pins, shown

DEPTH = 16
DATA = ("D0", "D1", "D2", "D3")
OUTPUTS = ("Q0", "Q1", "Q2", "Q3")


class Fifo40105(Model):
    """Sixteen words. A lane fills the chip until it is tried full, then empties it, and so on."""

    seldom: ClassVar = {"MR": 1}
    clocks = ("SI", "SO", "T", "U")
    most = 0
    """The most words that any was seen with."""
    late = 0
    """How many words a pulse of SI that waited has put in."""

    def __init__(self) -> None:
        self.inside: deque[list[Bit]] = deque()  # those that are not at the outputs yet
        self.out: list[Bit] = [None] * 4
        self.known = self.there = self.free = self.waits = self.answered = False
        self.filling = True

    @property
    def count(self) -> int:
        return len(self.inside) + self.there

    def may_move(self, p: Pins, pin: str) -> bool:
        held = self.known and self.filling and p.low("MR")
        return not (held and pin in ("SO", "MR"))

    def step(self, p: Pins) -> None:
        if p.high("MR"):
            self.reset(p)
        elif self.known:
            self.move(p)

    def move(self, p: Pins) -> None:
        """One pin, or the world, after a first reset."""
        free, there, before = self.free, self.there, self.count
        if p.rose("SI"):
            if free:
                self.enter(p)
            else:
                self.waits = True
                self.filling = before < DEPTH and self.filling
        elif p.rose("Z") and p.high("SI") and self.waits and before < DEPTH:
            self.enter(p)
            Fifo40105.late += 1
        if p.low("SI"):
            self.waits = False
        if p.rose("T") and not there and self.inside:
            self.out, self.there = self.inside.popleft(), True
        if p.fell("SO"):
            self.there = False
            self.filling = self.filling or self.count == 0
        if p.rose("U") and before < DEPTH:
            self.free = True
        if p.rose("Y") and p.high("SO") and there:
            self.answered = True
        if p.low("SO"):
            self.answered = False

    def reset(self, p: Pins) -> None:
        """Nothing is in it; the outputs stay as they are."""
        self.known, self.free, self.waits = True, True, p.high("SI")
        self.there = self.answered = False
        self.inside.clear()

    def enter(self, p: Pins) -> None:
        """A word goes in; if that was the last place, a pulse that stays may put in another."""
        self.inside.append(p.bits(DATA))
        self.free, self.waits = False, self.count == DEPTH
        Fifo40105.most = max(Fifo40105.most, self.count)

    def shows(self, p: Pins) -> dict[str, Shown]:
        flags: dict[str, Shown] = {"DIR": None, "DOR": None}
        if self.known:
            flags = {"DIR": int(self.free), "DOR": int(self.there and not self.answered)}
        word = self.out if self.known else [None] * 4
        return flags | shown(OUTPUTS, word, on=p.low("OE_n"))
