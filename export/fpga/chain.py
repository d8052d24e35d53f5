"""Switches behind shift registers (the 165): scanned all the time, one after the other."""

from __future__ import annotations

from typing import Any

from amaranth.hdl import Cat, Elaboratable, Module, Signal
from amaranth.lib.cdc import FFSynchronizer

RATE = 500_000
"""Bits a second at most: slow enough for chips and long wires at 3.3 V."""


class ChainScan(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """Reads ``inputs`` levels through three pins.

    ``load_n`` low takes all inputs into the chips; each rise of ``clock`` then shifts the next one
    to ``data`` (the 165's data sheet, from memory). Each half of a bit takes ``half`` clocks, at
    least 4, so that the synchroniser of ``data`` has settled. ``levels`` are those of the last
    whole scan, input 1 in bit 0; ``done`` is high in the clock in which they are taken over.
    """

    def __init__(self, inputs: int, half: int) -> None:
        """Take the number of inputs, and the clocks of half a bit."""
        self.inputs = inputs
        self.half = max(4, half)
        self.data = Signal()
        self.load_n = Signal(init=1)
        self.clock = Signal()
        self.levels = Signal(inputs)
        self.done = Signal()

    def elaborate(self, platform: Any) -> Module:
        """Slot 0 loads; in slot k the clock is low, then high, and input k is taken."""
        m = Module()
        synced = Signal()
        m.submodules.synchroniser = FFSynchronizer(self.data, synced)
        left = Signal(range(self.half), init=self.half - 1)
        high = Signal()
        slot = Signal(range(self.inputs + 1))
        taken = Signal(self.inputs)
        m.d.sync += left.eq(left - 1)
        with m.If(left == 0):
            m.d.sync += [left.eq(self.half - 1), high.eq(~high)]
            with m.If(high):
                m.d.sync += slot.eq(slot + 1)
                with m.If(slot == self.inputs):
                    m.d.sync += slot.eq(0)
            with m.Elif(slot != 0):
                # The end of the low half: what was shifted out last has long settled.
                m.d.sync += taken.eq(Cat(taken[1:], synced))
        m.d.comb += self.done.eq((left == 0) & high & (slot == self.inputs))
        with m.If(self.done):
            m.d.sync += self.levels.eq(taken)
        # From registers, so that neither of them pulses.
        m.d.sync += [self.load_n.eq(slot != 0), self.clock.eq((slot != 0) & high)]
        return m

    def scan_clocks(self) -> int:
        """The clocks of a whole scan."""
        return 2 * self.half * (self.inputs + 1)
