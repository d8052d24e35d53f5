"""What stands between a pin and a board: synchronisers, and waiting until contacts lie still."""

from __future__ import annotations

from typing import Any

from amaranth.hdl import Elaboratable, Module, Signal
from amaranth.lib.cdc import FFSynchronizer


class Strobe(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """High for one clock in every ``period``."""

    def __init__(self, period: int) -> None:
        """Take the period in clocks, at least 1."""
        self.period = period
        self.now = Signal()

    def elaborate(self, platform: Any) -> Module:
        """A counter."""
        m = Module()
        if self.period == 1:
            m.d.comb += self.now.eq(1)
            return m
        left = Signal(range(self.period), init=self.period - 1)
        m.d.comb += self.now.eq(left == 0)
        m.d.sync += left.eq(left - 1)
        with m.If(self.now):
            m.d.sync += left.eq(self.period - 1)
        return m


class Still(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """The bits of one control as they were when they last lay still.

    ``raw`` may change at any moment; ``level`` follows, all bits at once, when none of them has
    changed for more than one period of ``strobe`` and at most two. Without a strobe two equal
    looks, a clock apart, are enough, so that no vector is taken half old and half new.
    """

    def __init__(self, width: int, strobe: Signal | None) -> None:
        """Take the number of bits, and what tells that a period is over."""
        self.strobe = strobe
        self.raw = Signal(width)
        self.level = Signal(width)

    def elaborate(self, platform: Any) -> Module:
        """Two registers in a row for each bit, then one that must stay as it is."""
        m = Module()
        synced = Signal.like(self.raw)
        m.submodules.synchroniser = FFSynchronizer(self.raw, synced)
        candidate = Signal.like(self.raw)
        m.d.sync += candidate.eq(synced)
        if self.strobe is None:
            with m.If(candidate == synced):
                m.d.sync += self.level.eq(candidate)
            return m
        aged = Signal()
        with m.If(candidate != synced):
            m.d.sync += aged.eq(0)
        with m.Elif(self.strobe):
            m.d.sync += aged.eq(1)
            with m.If(aged):
                m.d.sync += self.level.eq(candidate)
        return m
