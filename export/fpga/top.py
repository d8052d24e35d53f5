"""The whole design: a wrapped board at an FPGA's pins."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from amaranth.hdl import Cat, ClockDomain, Elaboratable, Module, Signal
from amaranth.hdl import Value as HdlValue
from amaranth.lib import io

from breadproof.export.amaranth_file import Generated
from breadproof.export.fpga.chain import RATE, ChainScan
from breadproof.export.fpga.feeds import Feed
from breadproof.export.fpga.wrapper import Wrapper
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.target.mapped import Mapped, MappedControl, MappedPin

SETTLING = 100e-6
"""Seconds after configuration in which nothing is done: block RAM of some devices reads as zero
for a few microseconds."""


class Top(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """A board as `Mapped` says, for a platform whose resources are `resource_of` the pins."""

    def __init__(self, netlist: Netlist, generated: Generated, mapped: Mapped) -> None:
        """Wrap the board."""
        self.mapped = mapped
        self.scans = {
            chain.name: ChainScan(chain.inputs, math.ceil(mapped.frequency / RATE / 2))
            for chain in mapped.chains
        }
        feeds = [feed(control, mapped.frequency) for control in mapped.controls]
        self.wrapper = Wrapper(netlist, generated, feeds, self.warm(feeds))

    def warm(self, feeds: Sequence[Feed]) -> int:
        """Clocks until every input has had the time to lie still, and block RAM is awake."""
        scans = max((scan.scan_clocks() for scan in self.scans.values()), default=0)
        wait = max((feed.wait for feed in feeds), default=0)
        return math.ceil(self.mapped.frequency * SETTLING) + 3 * wait + 2 * scans + 8

    def elaborate(self, platform: Any) -> Module:
        """Clock, inputs, the wrapped board, outputs."""
        m = Module()
        sync = ClockDomain("sync", reset_less=True)
        m.domains += sync
        m.submodules.clock_buffer = clock = io.Buffer("i", platform.request("clock", 0, dir="-"))
        m.d.comb += sync.clk.eq(clock.i)
        m.submodules.wrapper = self.wrapper
        for chain in self.mapped.chains:
            scan = self.scans[chain.name]
            m.submodules[f"chain_{chain.name}"] = scan
            m.d.comb += scan.data.eq(self.input_at(m, platform, resource_of(chain.data)))
            self.output_at(m, platform, resource_of(chain.load), scan.load_n)
            self.output_at(m, platform, resource_of(chain.clock), scan.clock)
        for control in self.mapped.controls:
            if control.control.kind == "both" and control.pins:
                self.bus(m, platform, control)
            elif control.pins:
                levels = Cat(*(self.level(m, platform, pin) for pin in control.pins))
                m.d.comb += self.wrapper.raw[control.control.name].eq(levels)
        for lamp in self.mapped.lamps:
            self.output_at(m, platform, resource_of(lamp.pins[0]), self.wrapper.lamps[lamp.name])
        for port in self.mapped.ports:
            for pin, level in zip(port.pins, self.wrapper.outs[port.name], strict=True):
                self.output_at(m, platform, resource_of(pin), level)
        return m

    def level(self, m: Module, platform: Any, pin: MappedPin) -> HdlValue:
        """True while a pin is active."""
        if not pin.chain:
            return self.input_at(m, platform, resource_of(pin))
        level = self.scans[pin.chain].levels[pin.number - 1]
        return ~level if pin.active == "low" else level

    def input_at(self, m: Module, platform: Any, resource: str) -> HdlValue:
        """True while an input is active."""
        buffer = io.Buffer("i", platform.request(resource, 0, dir="-"))
        m.submodules[f"pin_{resource}"] = buffer
        found: HdlValue = buffer.i
        return found

    def output_at(self, m: Module, platform: Any, resource: str, level: HdlValue) -> None:
        """Make an output active while a level is high."""
        buffer = io.Buffer("o", platform.request(resource, 0, dir="-"))
        m.submodules[f"pin_{resource}"] = buffer
        m.d.comb += buffer.o.eq(level)

    def bus(self, m: Module, platform: Any, control: MappedControl) -> None:
        """A port that both may drive: let go at once when another wants it, taken up when not.

        The board's own level is put out only while neither the pin that tells of the other, nor
        what the board has been told of it and has come to rest with, says that the other drives.
        """
        name = control.control.name
        outside = self.level(m, platform, control.pins[0])
        away = Signal(name=f"nobody_outside_{name}")
        told = self.wrapper.levels[name][0]
        m.d.comb += away.eq(~outside & ~told & self.wrapper.alone[name])
        levels = []
        for place, pin in enumerate(control.pins[1:]):
            buffer = io.Buffer("io", platform.request(resource_of(pin), 0, dir="-"))
            m.submodules[f"pin_{resource_of(pin)}"] = buffer
            m.d.comb += [
                buffer.o.eq(self.wrapper.outs[name][place]),
                buffer.oe.eq(self.wrapper.drives[name][place] & away),
            ]
            # While nobody outside drives, the lines may float: what they do then is of no concern.
            levels.append(buffer.i & outside)
        m.d.comb += self.wrapper.raw[name].eq(Cat(outside, *levels))


def feed(control: MappedControl, frequency: float) -> Feed:
    """A mapped control in clocks of an FPGA's ``frequency``."""
    half = round(frequency / control.frequency / 2) if control.frequency else 0
    return Feed(
        control=control.control,
        source=control.source,
        wait=math.ceil(control.debounce * frequency),
        single=control.single,
        half=half,
        levels=control.levels,
    )


def resource_of(pin: MappedPin) -> str:
    """What the platform calls a pin."""
    return f"pin_{pin.pin}"
