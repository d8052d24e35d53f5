"""A wrapped board in Amaranth's simulator, beside the Machine, in a world that bounces."""

from collections import defaultdict
from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from amaranth.sim import Simulator

from breadproof.export.amaranth_file import generate
from breadproof.export.fpga.feeds import Feed
from breadproof.export.fpga.wrapper import Wrapper
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.model import Control

Bits = tuple[int, ...]
Watch = Callable[[Any, Wrapper, int], None]


def contacts(machine: Machine, wait: int) -> list[Feed]:
    """Every control at pins that must lie still for so long."""
    return [Feed(control=c, source="pins", wait=wait) for c in machine.netlist.controls]


class World:
    """Drives the pins at random and holds the board, at each change it is handed, to the Machine.

    ``handed`` lists (clock, control, bits) of all changes after power-up.
    """

    def __init__(self, machine: Machine, feeds: Sequence[Feed], seed: int, warm: int = 40) -> None:
        self.machine = machine
        self.feeds = {feed.control.name: feed for feed in feeds}
        self.generated = generate(machine.netlist)
        self.wrapper = Wrapper(machine.netlist, self.generated, feeds, warm)
        self.walker = Walker(machine, choice=self.found)
        self.dice = Random(seed)
        self.levels: dict[str, int] = {}
        self.controls: dict[str, Bits] | None = None
        self.bounces: dict[str, tuple[int, int]] = {}
        self.pins: dict[str, int] = defaultdict(int)
        self.since: dict[str, int] = defaultdict(int)
        self.still: dict[str, set[int]] = defaultdict(lambda: {0})
        self.handed: list[tuple[int, str, Bits]] = []
        self.quiets = 0

    def found(self, loop: str, cut: int) -> int:
        """Where the Machine leaves a loop's level open, that of the modules is one of its own."""
        one = next(one for one in self.machine.loops if one.name == loop)
        return self.levels[one.variables[cut]]

    # the world --------------------------------------------------------------------------------

    def legal(self, control: Control, pins: int) -> Bits:
        """What a control's pins mean: one position at most, and no levels from nobody."""
        feed = self.feeds[control.name]
        if feed.single is not None:
            return tuple(
                pins if bit == feed.single else 1 - pins for bit in range(len(control.bits))
            )
        bits = tuple((pins >> bit) & 1 for bit in range(len(control.bits)))
        if control.kind == "both" and not bits[0]:
            return (0,) * len(bits)
        if control.exclusive and sum(bits) > 1:
            return (0,) * len(bits)
        return bits

    def act(self, context: Any, clock: int, rate: float) -> None:
        """Somebody may move something, and contacts on their way bounce."""
        moved = [name for name, feed in self.feeds.items() if feed.pins]
        if moved and self.dice.random() < rate:
            name = self.dice.choice(moved)
            last = clock + self.dice.randrange(self.feeds[name].wait + 1)
            self.bounces[name] = (last, self.dice.randrange(1 << self.feeds[name].pins))
        for name, (last, value) in list(self.bounces.items()):
            width = self.feeds[name].pins
            now = value if clock >= last else self.dice.randrange(1 << width)
            if clock >= last:
                del self.bounces[name]
            if now != self.pins[name]:
                self.pins[name], self.since[name] = now, clock
                context.set(self.wrapper.raw[name], now)
        for name in moved:
            if clock - self.since[name] >= self.feeds[name].wait:
                self.still[name].add(self.pins[name])

    # the check --------------------------------------------------------------------------------

    def look(self, context: Any, clock: int) -> None:
        """At a quiet moment: one control at most has moved, and all is as in the Machine."""
        self.quiets += 1
        now = {
            control.name: tuple(
                (context.get(self.wrapper.levels[control.name]) >> bit) & 1
                for bit in range(len(control.bits))
            )
            for control in self.machine.netlist.controls
        }
        if now == self.controls:
            return
        nets, places = self.machine.netlist.nets, self.generated.lowered.nets
        self.levels = {
            net.name: context.get(self.wrapper.at(place))
            for net, place in zip(nets, places, strict=True)
        }
        if self.controls is None:
            self.walker.controls = dict(now)
            step = self.walker.power_up()
        else:
            changed = [name for name, bits in now.items() if bits != self.controls[name]]
            assert len(changed) == 1, f"{changed} moved in one step"
            self.handed.append((clock, changed[0], now[changed[0]]))
            self.lay_still(changed[0], now[changed[0]])
            step = self.walker.step({changed[0]: now[changed[0]]})
        self.controls = now
        assert self.levels == dict(step.rounds[-1].nets)
        for label, (attribute, width) in self.generated.lowered.storage.items():
            value = context.get(self.wrapper.at(attribute))
            expected = [self.walker.storage[f"{label}[{bit}]"] for bit in range(width)]
            assert [(value >> bit) & 1 for bit in range(width)] == expected, label

    def lay_still(self, name: str, bits: Bits) -> None:
        """What was handed over was a position in which the pins lay still."""
        feed = self.feeds[name]
        if feed.source == "pins":
            meant = {self.legal(feed.control, pins) for pins in self.still[name]}
            assert bits in meant, f"{name} bounced to {bits}"

    def run(self, clocks: int, rate: float = 0.03, watch: Watch | None = None) -> None:
        """So many clocks, then as many as it takes until all that still moves has been handed."""

        async def bench(context: Any) -> None:
            for clock in range(clocks):
                self.act(context, clock, rate)
                if context.get(self.wrapper.quiet):
                    self.look(context, clock)
                if watch is not None:
                    watch(context, self.wrapper, clock)
                await context.tick()
            rest = 4 * max([feed.wait for feed in self.feeds.values()], default=0) + 60
            for clock in range(clocks, clocks + rest * (len(self.feeds) + 2)):
                self.act(context, clock, 0.0)
                if context.get(self.wrapper.quiet):
                    self.look(context, clock)
                await context.tick()
            self.words(context)

        simulator = Simulator(self.wrapper)
        simulator.add_clock(1e-6)
        simulator.add_testbench(bench)
        simulator.run()

    def words(self, context: Any) -> None:
        """At the end the memories hold what the Machine's hold, and controls are where pins are."""
        for number, memory in enumerate(self.machine.memories):
            data = self.wrapper.at(self.generated.lowered.memories[memory.label]).data
            for address in {0, 1, 2, 3, memory.words - 1}:
                assert context.get(data[address]) == self.walker.memories[number][address]
        for name, feed in self.feeds.items():
            if feed.source == "pins" and self.controls is not None:
                assert self.controls[name] == self.legal(feed.control, self.pins[name])
