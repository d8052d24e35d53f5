"""The scan of a chain, against shift registers that work as the 165's function table says."""

from random import Random
from typing import Any

from amaranth.sim import Simulator

from breadproof.export.fpga.chain import ChainScan

INPUTS = 24


class Registers:
    """Chips of the 165, one behind the other: while SH/LD_n is low all inputs are taken in, with
    each rise of CLK all shift towards QH (function table of the data book, from memory)."""

    def __init__(self) -> None:
        self.inside = [0] * INPUTS
        self.clock = 0

    def look(self, load_n: int, clock: int, inputs: list[int]) -> int:
        if not load_n:
            self.inside = list(inputs)
        elif clock and not self.clock:
            self.inside = [*self.inside[1:], 0]
        self.clock = clock
        return self.inside[0]


def test_a_scan_reads_what_stands_at_the_inputs() -> None:
    dice, registers = Random(1), Registers()
    scan = ChainScan(INPUTS, 4)
    seen: list[tuple[list[int], int]] = []

    async def bench(context: Any) -> None:
        inputs = [dice.randrange(2) for _ in range(INPUTS)]
        loaded: list[int] = []
        rises = [0, 0]
        for _ in range(6 * scan.scan_clocks()):
            load_n, clock = context.get(scan.load_n), context.get(scan.clock)
            if not load_n:
                loaded = list(inputs)
            elif loaded:
                inputs = [dice.randrange(2) for _ in range(INPUTS)]
            rises = [rises[1], clock]
            context.set(scan.data, registers.look(load_n, clock, inputs))
            done = context.get(scan.done)
            await context.tick()
            if done and loaded:
                seen.append((loaded, context.get(scan.levels)))

    simulator = Simulator(scan)
    simulator.add_clock(1e-6)
    simulator.add_testbench(bench)
    simulator.run()
    assert len(seen) >= 4
    for loaded, levels in seen:
        assert [(levels >> place) & 1 for place in range(INPUTS)] == loaded
