"""The board's module with what brings the world to it: one control at a time, while it is quiet.

This is what makes an FPGA do what the Machine does: a step begins with a change of one control, and
ends when the board is quiet (fundamental mode, Huffman 1954). Contacts bounce and people press two
buttons at once, so inputs are synchronised, must lie still, and wait for their turn.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import reduce
from typing import Any

from amaranth.hdl import Cat, Const, DomainRenamer, Elaboratable, EnableInserter, Module, Signal
from amaranth.hdl import Value as HdlValue

from breadproof.export.amaranth_file import Generated
from breadproof.export.fpga.feeds import Feed
from breadproof.export.fpga.inputs import Still, Strobe
from breadproof.export.fpga.memory import READS, ClockedMemory, longest_reads
from breadproof.export.fpga.rounds import Rounds
from breadproof.export.lowering.attributes import place_of
from breadproof.export.lowering.board import Lowered
from breadproof.export.lowering.names import Names
from breadproof.export.simulate import built
from breadproof.specs.netlist.model import Netlist


class Wrapper(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """A board with its inputs and outputs, all in the domain ``sync``, which needs no reset.

    ``raw`` has the pins of each feed that has any, true for what the control's bits mean, in their
    order (the first bit in bit 0). ``lamps``, ``outs``, ``drives`` (whether the board itself
    drives a ``both`` port, by bit) and ``alone`` (that nobody outside drives it) are as at the last
    quiet moment; bit 0 of a port is its first net. ``quiet`` is high for one clock at each round's
    end after which the board is quiet, ``steps`` in that clock if a control changes. Rounds begin
    after ``warm`` clocks (``running``), with all controls where they stand; the board's storage
    moves in the clocks in which ``go`` is high.
    """

    def __init__(
        self, netlist: Netlist, generated: Generated, feeds: Sequence[Feed], warm: int
    ) -> None:
        """Take the board, its generated source, the source of each control, and the warming-up."""
        self.netlist = netlist
        self.lowered = generated.lowered
        self.board = built(generated, ClockedMemory)
        self.feeds = tuple(feeds)
        self.warm = warm
        names = Names()
        self.plain = {feed.control.name: names.new(feed.control.name) for feed in feeds}
        self.clocks = tick_clocks(netlist, self.lowered)
        self.raw = {
            feed.control.name: Signal(feed.pins, name=f"pins_{self.plain[feed.control.name]}")
            for feed in feeds
            if feed.pins
        }
        self.levels = {
            feed.control.name: Signal(
                len(feed.control.bits), name=f"control_{self.plain[feed.control.name]}"
            )
            for feed in feeds
        }
        self.lamps = {lamp.name: Signal(name=f"lamp_{_plain(lamp.name)}") for lamp in netlist.lamps}
        ports = {port.name: port for port in netlist.ports if port.direction != "in"}
        self.outs = {
            name: Signal(len(port.nets), name=f"out_{_plain(name)}") for name, port in ports.items()
        }
        self.drives = {
            name: Signal(len(port.nets), name=f"drives_{_plain(name)}")
            for name, port in ports.items()
            if port.direction == "both"
        }
        self.alone = {name: Signal(name=f"alone_{_plain(name)}") for name in self.drives}
        self.quiet = Signal()
        self.steps = Signal()
        self.go = Signal(name="ticks")
        self.running = Signal(name="ticking")

    def at(self, place: str) -> HdlValue:
        """What a place of the lowered board is: an attribute, or a bit of one."""
        attribute, bit = place_of(place)
        value = reduce(getattr, attribute.split("."), self.board)
        return value if bit is None else value[bit]

    def elaborate(self, platform: Any) -> Module:
        """The board, its rounds, and the way of inputs to it."""
        m = Module()
        rounds = self.rounds(m)
        board = EnableInserter({"sync": rounds.go})(self.board)
        m.submodules.board = DomainRenamer({READS: "sync"})(board)
        self.connect_controls(m)
        wanted = self.wanted(m, rounds)
        self.hand_over(m, rounds, wanted)
        self.show(m, rounds)
        return m

    # rounds -----------------------------------------------------------------------------------

    def rounds(self, m: Module) -> Rounds:
        """The counting of rounds, started after the warming-up."""
        lowered = self.lowered
        ports = [self.at(name) for name in lowered.writes.values()]
        shown = Cat(
            *(self.at(attribute) for attribute, _ in lowered.storage.values()),
            *(signal for port in ports for signal in (port.en, port.addr, port.data)),
        )
        slow = lowered.cuts.ticks > 1
        last = (self.board.tick == lowered.cuts.ticks - 1) if slow else Const(1, 1)
        unsettled = self.board.unsettled if slow else Const(0, 1)
        rounds = Rounds(self.clocks, last, shown, unsettled)
        m.submodules.rounds = rounds
        left = Signal(range(self.warm + 1), init=self.warm)
        m.d.comb += rounds.running.eq(left == 0)
        with m.If(left != 0):
            m.d.sync += left.eq(left - 1)
        m.d.comb += [self.quiet.eq(rounds.quiet), self.steps.eq(rounds.handed)]
        m.d.comb += [self.go.eq(rounds.go), self.running.eq(rounds.running)]
        return rounds

    # controls ---------------------------------------------------------------------------------

    def connect_controls(self, m: Module) -> None:
        """What the board sees of each control."""
        for name, level in self.levels.items():
            for bit, (attribute, place) in enumerate(self.lowered.controls[name]):
                m.d.comb += self.at(attribute)[place].eq(level[bit])

    def wanted(self, m: Module, rounds: Rounds) -> dict[str, HdlValue]:
        """Where the world wants each control to be."""
        strobes: dict[int, Strobe] = {}
        for wait in sorted({feed.wait for feed in self.feeds if feed.pins and feed.wait}):
            strobes[wait] = Strobe(wait)
            m.submodules[f"strobe_{wait}"] = strobes[wait]
        found: dict[str, HdlValue] = {}
        for feed in self.feeds:
            name = feed.control.name
            match feed.source:
                case "pins":
                    found[name] = _legal(m, feed, self.still(m, feed, strobes))
                case "divider":
                    found[name] = self.divided(m, feed, rounds)
                case "step":
                    pressed = self.still(m, feed, strobes)
                    found[name] = self.stepped(m, feed, pressed, rounds)
                case "free":
                    found[name] = ~self.levels[name]
                case "fixed":
                    found[name] = Cat(*(Const(level, 1) for level in feed.levels))
        return found

    def still(self, m: Module, feed: Feed, strobes: Mapping[int, Strobe]) -> Signal:
        """The pins of a feed as they lie still."""
        name = feed.control.name
        still = Still(feed.pins, strobes[feed.wait].now if feed.wait else None)
        m.submodules[f"still_{self.plain[name]}"] = still
        m.d.comb += still.raw.eq(self.raw[name])
        return still.level

    def divided(self, m: Module, feed: Feed, rounds: Rounds) -> Signal:
        """A clock of its own."""
        name = self.plain[feed.control.name]
        strobe = Strobe(feed.half)
        m.submodules[f"divider_{name}"] = strobe
        level = Signal(name=f"divided_{name}")
        with m.If(strobe.now & rounds.running):
            m.d.sync += level.eq(~level)
        return level

    def stepped(self, m: Module, feed: Feed, pressed: Signal, rounds: Rounds) -> Signal:
        """Up once for each press, and down again when the board is quiet."""
        name = self.plain[feed.control.name]
        level = Signal(name=f"stepped_{name}")
        before = Signal(name=f"pressed_before_{name}", init=1)
        with m.If(rounds.running):
            m.d.sync += before.eq(pressed)
        with m.If(rounds.running & pressed & ~before):
            m.d.sync += level.eq(1)
        with m.Elif(rounds.quiet & self.levels[feed.control.name][0]):
            m.d.sync += level.eq(0)
        return level

    def hand_over(self, m: Module, rounds: Rounds, wanted: Mapping[str, HdlValue]) -> None:
        """One control at a time, at a round's end after which the board is quiet.

        Dividers go first; the others each when a token is at them, so that none waits for ever;
        a free clock when nobody else wants to.
        """
        first = [f for f in self.feeds if f.source == "divider"]
        ring = [f for f in self.feeds if f.source in ("pins", "step")]
        later = [f for f in self.feeds if f.source == "free"]
        token = Signal(max(1, len(ring)), init=1)
        busy: HdlValue = Const(0, 1)
        turns: list[tuple[Feed, HdlValue]] = []
        for feed in first:
            pending = self.pending(m, feed, wanted)
            turns.append((feed, pending & ~busy))
            busy = busy | pending
        at_token = Signal()
        m.d.comb += at_token.eq(busy)
        anybody = [busy]
        for place, feed in enumerate(ring):
            pending = self.pending(m, feed, wanted)
            turns.append((feed, pending & token[place] & ~at_token))
            anybody.append(pending)
        nobody = Signal()
        m.d.comb += nobody.eq(~Cat(*anybody).any())
        free = Signal(max(1, len(later)), init=1)
        turns += [(feed, nobody & free[place]) for place, feed in enumerate(later)]
        with m.If(rounds.quiet):
            m.d.sync += token.eq(token.rotate_left(1))
            with m.If(nobody):
                m.d.sync += free.eq(free.rotate_left(1))
        handed = []
        for feed, turn in turns:
            name = feed.control.name
            takes = Signal(name=f"takes_{self.plain[name]}")
            m.d.comb += takes.eq(rounds.quiet & turn)
            handed.append(takes)
            with m.If(takes | self.before_start(feed, rounds)):
                m.d.sync += self.levels[name].eq(wanted[name])
        for feed in self.feeds:
            if feed.source == "fixed":
                m.d.comb += self.levels[feed.control.name].eq(wanted[feed.control.name])
        m.d.comb += rounds.handed.eq(Cat(*handed).any())

    def before_start(self, feed: Feed, rounds: Rounds) -> HdlValue:
        """Before rounds begin a control stands where its pins are."""
        return ~rounds.running if feed.source == "pins" else Const(0, 1)

    def pending(self, m: Module, feed: Feed, wanted: Mapping[str, HdlValue]) -> Signal:
        """Whether the world wants a control to be elsewhere."""
        name = feed.control.name
        found = Signal(name=f"pending_{self.plain[name]}")
        m.d.comb += found.eq(self.levels[name] != wanted[name])
        return found

    # outputs ----------------------------------------------------------------------------------

    def show(self, m: Module, rounds: Rounds) -> None:
        """Lamps and ports follow at quiet moments; in between they stay as they were."""
        with m.If(rounds.quiet):
            for name, lamp in self.lamps.items():
                m.d.sync += lamp.eq(self.at(self.lowered.lamps[name]))
            for port in self.netlist.ports:
                if port.name not in self.outs:
                    continue
                level = self.at(self.lowered.outputs[port.name])
                m.d.sync += self.outs[port.name].eq(Cat(*reversed([*level])))
                if port.name in self.drives:
                    drives = Cat(*(self.driven(net) for net in port.nets))
                    m.d.sync += self.drives[port.name].eq(drives)
                    m.d.sync += self.alone[port.name].eq(~self.levels[port.name][0])

    def driven(self, net: int) -> HdlValue:
        """Whether a chip of the board drives a net."""
        found = []
        for pin in self.netlist.nets[net].pins:
            _, when = self.lowered.drives.get(pin.label, ("0", "0"))
            found.append(Const(int(when), 1) if when in ("0", "1") else self.at(when))
        return Cat(*found).any() if found else Const(0, 1)


def tick_clocks(netlist: Netlist, lowered: Lowered) -> int:
    """The clocks of a tick: one for each memory that is read after another, and the tick's own."""
    return longest_reads(netlist, lowered.cuts) + 1


def round_clocks(netlist: Netlist, lowered: Lowered) -> int:
    """The clocks of a round."""
    return tick_clocks(netlist, lowered) * lowered.cuts.ticks


def _legal(m: Module, feed: Feed, pins: Signal) -> HdlValue:
    """A control's bits as its pins say, where they say what it can be."""
    control = feed.control
    if feed.single is not None:
        bits = [pins[0] if bit == feed.single else ~pins[0] for bit in range(len(control.bits))]
        return Cat(*bits)
    if control.kind == "both":
        # Nobody outside: what is read is what the board itself drives.
        return Cat(pins[0], *(pins[0] & pin for pin in pins[1:]))
    if control.exclusive:
        # Contacts that are both closed are a fault; the switch is then in neither position.
        return Cat(*(pins[bit] & ~_others(pins, bit) for bit in range(len(pins))))
    return pins


def _others(pins: Signal, bit: int) -> HdlValue:
    return Cat(*(pins[other] for other in range(len(pins)) if other != bit)).any()


def _plain(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9_]+", "_", name).strip("_")
