"""The gates between the board's clock and the clock pins, while the clock is high.

A synchronous board has its clock low for good; what gates the clock stands in its class a second
time, with the clock high, so that a clock pin's level in both halves of a period is there at once:
if it rises from the one to the other, its register is enabled.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import networkx as nx

from breadproof.export.lowering import values as v
from breadproof.export.lowering.attributes import value_at
from breadproof.export.lowering.chips import ChipClass
from breadproof.export.lowering.cuts import Standing, dependencies, pin_dependencies
from breadproof.export.lowering.layout import lay_out, prose
from breadproof.export.lowering.merging import Assignments
from breadproof.export.lowering.netlogic import NetText, NetTexts
from breadproof.export.lowering.signals import Signals
from breadproof.export.lowering.values import Value
from breadproof.specs.netlist.drive import NetPlan
from breadproof.specs.netlist.model import ChipSwitch, Closing, ControlBit, Netlist, Part, Pin


class NotSynchronous(Exception):
    """The board has no synchronous form; the text says why, with the part or net."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LowHalf:
    """The board while its clock is low.

    ``chips`` and ``types`` lead to instances and classes, ``closed`` tells what closes a contact
    at a level of the clock, and ``driving`` what a pin drives.
    """

    netlist: Netlist
    plans: tuple[NetPlan, ...]
    signals: Signals
    chips: dict[str, str]
    types: dict[str, ChipClass]
    standing: Standing
    texts: Sequence[NetText]
    closed: Callable[[Closing, Value], Value]
    driving: Callable[[Pin], tuple[Value, Value]]


@dataclass(slots=True)
class Gating:
    """Works out which nets and chips there are twice; then says so."""

    low: LowHalf
    high: dict[int, str] = field(default_factory=dict)
    twins: dict[str, str] = field(default_factory=dict)
    moving: frozenset[int] = frozenset()

    def prepare(self) -> None:
        """Find the nets and chips.

        Raises:
            NotSynchronous: the clock goes through something that is no gate.
        """
        low = self.low
        needs = dependencies(low.netlist, low.plans, low.standing)
        sources = self.sources()
        self.moving = frozenset(sources).union(*(nx.descendants(needs, net) for net in sources))
        wanted = self.wanted() & self.moving
        nets = wanted.union(*(nx.ancestors(needs, net) for net in wanted)) & self.moving
        for net in sorted(nets):
            name = f"{low.netlist.nets[net].name}_high"
            self.high[net] = low.signals.local(name)
        for part in low.netlist.parts:
            if part.device == "chip" and self.passes(part):
                if part.type.storage or part.type.memories:
                    raise NotSynchronous(f"the clock goes through {part.name}, which stores")
                name = low.signals.names.new(f"{low.chips[part.name]}_high")
                self.twins[part.name] = name
                kind = low.types[part.type.key]
                widths = {f"{name}.{port}": width for port, width in kind.widths.items()}
                low.signals.widths.update(widths)

    def sources(self) -> list[int]:
        """The nets that the clock is put to: those with another text while it is high."""
        low = self.low
        texts = self.net_texts(self.driving, self.closed)
        return [
            net.index
            for net in low.netlist.nets
            if self.plain(texts, net.index) != low.texts[net.index]
        ]

    def plain(self, texts: NetTexts, net: int) -> NetText:
        """A net's text, those with several drivers being as they are while the clock is low."""
        try:
            return texts.net(net)
        except NotSynchronous:
            return self.low.texts[net]

    def net_texts(
        self,
        driving: Callable[[Pin], tuple[Value, Value]],
        closed: Callable[[Closing], Value],
    ) -> NetTexts:
        """Net texts of another half; a net that several drive has none."""

        def refuse(net: int, what: str) -> Value:
            name = self.low.netlist.nets[net].name
            raise NotSynchronous(f"the clock goes over net {name}, which several drive")

        return NetTexts(self.low.netlist, self.low.plans, closed, driving, refuse, refuse)

    def wanted(self) -> frozenset[int]:
        """The nets of the clock pins."""
        found: set[int] = set()
        for part in self.low.netlist.parts:
            if part.device == "chip":
                high = self.low.types[part.type.key].high
                found |= {pin.net for pin in part.pins if pin.name in high and pin.net is not None}
        return frozenset(found)

    def passes(self, part: Part) -> bool:
        """Whether a chip puts the clock, gated or not, to a net that is wanted."""
        nets = {pin.name: pin.net for pin in part.pins}
        for name, reads in pin_dependencies(part.type).items():
            if nets.get(name) in self.high and any(nets[pin] in self.moving for pin in reads):
                return True
        return False

    # the text ---------------------------------------------------------------------------------

    def driving(self, pin: Pin) -> tuple[Value, Value]:
        """What a pin drives while the clock is high."""
        twin = self.twins.get(pin.part)
        part = self.low.netlist.part(pin.part)
        if part is not None and part.device in ("oscillator", "crystal"):
            return v.ONE, self.closed(ControlBit(part.name, 0))
        if twin is None or part is None:
            return self.low.driving(pin)
        drive = self.low.types[part.type.key].drives[pin.name]
        widths = self.low.signals.widths
        drives = v.ONE if drive.when is None else value_at(f"{twin}.{drive.when}", widths)
        return drives, value_at(f"{twin}.{drive.level}", widths)

    def closed(self, closing: Closing) -> Value:
        """What closes a contact while the clock is high."""
        if isinstance(closing, ChipSwitch) and closing.part in self.twins:
            raise NotSynchronous(f"the clock goes to a switch of {closing.part}")
        return self.low.closed(closing, v.ONE)

    def lines(self) -> list[str]:
        """The nets and chips once more.

        Raises:
            NotSynchronous: a clock net may be without a level.
        """
        low = self.low
        if not self.high:
            return []
        lines = prose("The clock's nets and gates once more, while the clock is high.", 2)
        texts = self.net_texts(self.driving, self.closed)
        for part in low.netlist.parts:
            if part.name in self.twins:
                twin, kind = self.twins[part.name], low.types[part.type.key]
                lines += lay_out(f"m.submodules.{twin} = {twin} = {kind.name}()", 2)
        lines += [f"        {name} = Signal()" for name in self.high.values()]
        assigned = Assignments(low.signals.widths)
        for net, name in self.high.items():
            text = texts.net(net)
            if text.known.number != 1:
                raise NotSynchronous(f"clock net {low.netlist.nets[net].name} may float")
            assigned.add(v.name(name), text.level)
        for part in low.netlist.parts:
            if part.name in self.twins:
                self.twin_pins(part, assigned)
        return [*lines, *assigned.lines(2)]

    def twin_pins(self, part: Part, assigned: Assignments) -> None:
        """A twin reads the clock's nets while the clock is high, and else what the chip reads."""
        kind = self.low.types[part.type.key]
        widths = self.low.signals.widths
        for pin in part.pins:
            if pin.kind.reads:
                target = value_at(f"{self.twins[part.name]}.{kind.reads[pin.name]}", widths)
                assigned.add(target, self.seen(part, pin))

    def seen(self, part: Part, pin: Pin) -> Value:
        """What a pin reads while the clock is high."""
        if pin.net in self.high:
            return v.name(self.high[pin.net])
        reads = self.low.types[part.type.key].reads[pin.name]
        return value_at(f"self.{self.low.chips[part.name]}.{reads}", self.low.signals.widths)

    def clock_pins(self, part: Part, assigned: Assignments) -> None:
        """What a chip's clock pins are while the clock is high."""
        kind = self.low.types[part.type.key]
        for pin in part.pins:
            if pin.name in kind.high:
                target = f"self.{self.low.chips[part.name]}.{kind.high[pin.name]}"
                assigned.add(value_at(target, self.low.signals.widths), self.seen(part, pin))
