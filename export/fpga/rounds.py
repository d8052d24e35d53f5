"""Rounds on an FPGA's clock, and whether the board is quiet (design.md, section 4)."""

from __future__ import annotations

from typing import Any

from amaranth.hdl import Elaboratable, Module, Signal, Value


class Rounds(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """Counts clocks to ticks and ticks to rounds, and notices when rounds change nothing.

    A tick of the board takes ``clocks`` clocks: the last of them is ``go``, in which its registers
    move; in the ones before its memories are read. ``last`` is high in the last tick of a round,
    ``ends`` is the last clock of a round. ``shown`` is all of the board's storage and what its
    memories' write ports do; ``unsettled`` is high if loops have not settled at a round's end.

    ``quiet`` at a round's end: with controls that have not changed (``handed`` is high in a round's
    last clock if they do) storage and writes were the same in three rounds running, and the loops
    settled. Then the levels of the last two were the same, nothing saw an edge, what was written
    was written already, and so one more round would change nothing.
    """

    def __init__(self, clocks: int, last: Value, shown: Value, unsettled: Value) -> None:
        """Take the clocks of a tick and what is seen of the board."""
        self.clocks = clocks
        self.last = last
        self.shown = shown
        self.unsettled = unsettled
        self.running = Signal()
        self.handed = Signal()
        self.go = Signal()
        self.ends = Signal()
        self.quiet = Signal()

    def elaborate(self, platform: Any) -> Module:
        """A counter, and the round before to compare with."""
        m = Module()
        m.d.comb += self.ends.eq(self.go & self.last)
        if self.clocks == 1:
            m.d.comb += self.go.eq(self.running)
        else:
            phase = Signal(range(self.clocks))
            m.d.comb += self.go.eq(self.running & (phase == self.clocks - 1))
            with m.If(self.running):
                m.d.sync += phase.eq(phase + 1)
            with m.If(self.go):
                m.d.sync += phase.eq(0)
        before = Signal(len(self.shown))
        fresh = Signal(init=1)
        same = Signal()
        calm = Signal()
        m.d.comb += [
            same.eq((self.shown == before) & ~self.unsettled & ~fresh),
            self.quiet.eq(self.ends & same & calm),
        ]
        with m.If(self.ends):
            m.d.sync += [before.eq(self.shown), calm.eq(same), fresh.eq(self.handed)]
        return m


EXTRA_ROUNDS = 2
"""A step is known to be over so many rounds after the round that the Machine calls its last."""
