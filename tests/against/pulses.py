"""Monostables and timers, as the function tables of the data books say it, from memory.

The end of a pulse is a moment that the world chooses: each change of T ends the one that runs.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.model import Bit, Model, Pins, flip

Makes = type[Model]
Ready = Callable[[Pins, str], bool]
"""Whether the inputs of a half (its number, or "") stand so that a pulse would be under way."""


def monostable(
    halves: tuple[str, ...], ready: Ready, *, clears: bool, clear_starts: bool = False
) -> Makes:
    """A pulse starts, or starts anew, when ``ready`` becomes true; ``clears``: there is a clear,
    which ends it, and the release of which starts one if ``clear_starts``."""

    class Monostable(Model):
        clocks = tuple(f"T{half}" for half in halves)
        seldom: ClassVar[dict[str, int]] = {f"CLR{h}_n": 0 for h in halves} if clears else {}

        def __init__(self) -> None:
            self.runs: dict[str, Bit] = dict.fromkeys(halves)

        def step(self, p: Pins) -> None:
            before = Pins(p.before)
            for half in halves:
                clear = clears and p.low(f"CLR{half}_n")
                released = clears and p.rose(f"CLR{half}_n")
                if p.rose(f"T{half}") or p.fell(f"T{half}") or clear:
                    self.runs[half] = 0
                elif ready(p, half) and (not ready(before, half) or (released and clear_starts)):
                    self.runs[half] = 1

        def shows(self, p: Pins) -> dict[str, Shown]:
            found: dict[str, Shown] = {}
            for half in halves:
                found |= {f"Q{half}": self.runs[half], f"Q{half}_n": flip(self.runs[half])}
            return found

    return Monostable


def edge(p: Pins, half: str) -> bool:
    """A falls while B is high, or B rises while A is low."""
    return p.low(f"A{half}_n") and p.high(f"B{half}")


def edge_121(p: Pins, half: str) -> bool:
    """An A falls while the other and B are high, or B rises while an A is low."""
    return p.high("B") and not p.high("A1_n", "A2_n")


def edge_122(p: Pins, half: str) -> bool:
    return p.high("B1", "B2") and not p.high("A1_n", "A2_n")


def edge_4538(p: Pins, half: str) -> bool:
    """A rises while B is high, or B falls while A is low."""
    return p.high(f"A{half}") or p.low(f"B{half}_n")


class Timer(Model):
    """RESET_n low wins, then the trigger low; the threshold high ends what the trigger began."""

    clocks: ClassVar[tuple[str, ...]] = ("TRIG_n", "THRES")
    seldom: ClassVar[dict[str, int]] = {"RESET_n": 0}
    halves: ClassVar[tuple[str, ...]] = ("",)

    def __init__(self) -> None:
        self.q: dict[str, Bit] = dict.fromkeys(self.halves)

    def step(self, p: Pins) -> None:
        for half in self.halves:
            if p.low(f"RESET{half}_n"):
                self.q[half] = 0
            elif p.low(f"TRIG{half}_n"):
                self.q[half] = 1
            elif p.high(f"THRES{half}"):
                self.q[half] = 0

    def shows(self, p: Pins) -> dict[str, Shown]:
        found: dict[str, Shown] = {}
        for half, q in self.q.items():
            found |= {f"OUT{half}": q, f"DISCH{half}": q}
        return found


class DualTimer(Timer):
    clocks = ("TRIG1_n", "TRIG2_n", "THRES1", "THRES2")
    seldom: ClassVar[dict[str, int]] = {"RESET1_n": 0, "RESET2_n": 0}
    halves: ClassVar[tuple[str, ...]] = ("1", "2")


CHIPS: dict[str, Makes] = {
    "121": monostable(("",), edge_121, clears=False),
    "122": monostable(("",), edge_122, clears=True, clear_starts=True),
    "123": monostable(("1", "2"), edge, clears=True, clear_starts=True),
    "423": monostable(("1", "2"), edge, clears=True),
    "4538": monostable(("1", "2"), edge_4538, clears=True),
    "555": Timer,
    "556": DualTimer,
}
