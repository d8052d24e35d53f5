"""The board as an Amaranth class: one instance a chip, the nets by their names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.attributes import bit_of, place_of, value_at
from breadproof.export.lowering.chips import ChipClass, chip_class
from breadproof.export.lowering.cuts import Cuts, Standing, find_cuts
from breadproof.export.lowering.gating import Gating, LowHalf, NotSynchronous
from breadproof.export.lowering.layout import docstring, lay_out, prose
from breadproof.export.lowering.merging import Assignments
from breadproof.export.lowering.names import class_name
from breadproof.export.lowering.netlogic import NetText, NetTexts, connected_to_nothing
from breadproof.export.lowering.outside import Outside
from breadproof.export.lowering.places import Places
from breadproof.export.lowering.resolving import Resolving
from breadproof.export.lowering.signals import NetSignals, Signals, Word, net_signals
from breadproof.export.lowering.values import Value
from breadproof.export.lowering.wordlist import lay_out_made
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import NetPlan, plan_drives
from breadproof.specs.netlist.model import Closing, ControlBit, Netlist, Part, Pin
from breadproof.specs.reading.diagnostics import Problems

UNSETTLED = "a loop did not settle in the round (on its last tick)"
DIODES = "What comes in through diodes, and whether it is sure."
HELD = "Nets of loops, held from tick to tick."
FREE = "What is read where a net floats or fights; the choice made here is 0."


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A cut net's registers: its level, and whether it has one (None: always)."""

    net: int
    level: str
    known: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lowered:
    """A board as Amaranth text, and where everything of it is found.

    All maps lead to attributes of an instance of class ``top``, dots included (``U1.R``); one that
    stands for a bit of a wider signal has the bit behind it, as in Verilog (``bus[3]``, see
    `attributes.place_of`); that holds for ``nets``, ``free``, ``drives``, ``lamps`` and ``held``.
    ``controls``: for each control the attribute and bit of each of its bits. ``free`` by reader,
    ``nets`` by index. ``storage``: ``U3.R`` to (attribute, width); ``memories`` and ``writes``
    (write ports) by ``U7.M``. ``contested``: the nets (vectors whole) that several could drive
    at once. ``drives``: pin label to (level, drives), each an attribute or a
    constant "0" or "1". ``lamps``: the output of each lamp by its name; ``outputs``: of each
    port that goes out the attribute, bit 0 being the port's last net. ``clock``: the control that
    is no input, being the clock of a synchronous board; "" if rounds follow each other.
    """

    top: str
    lines: tuple[str, ...]
    classes: tuple[ChipClass, ...]
    resolvers: bool
    controls: dict[str, tuple[tuple[str, int], ...]]
    free: dict[str, str]
    nets: tuple[str, ...]
    storage: dict[str, tuple[str, int]]
    memories: dict[str, str]
    writes: dict[str, str]
    drives: dict[str, tuple[str, str]]
    lamps: dict[str, str]
    outputs: dict[str, str]
    contested: tuple[str, ...]
    held: tuple[Held, ...]
    cuts: Cuts
    clock: str


def lower(netlist: Netlist, clock: str = "") -> Lowered:
    """A board as Amaranth text; ``clock`` is the control that is the clock of a synchronous one.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
        NotSynchronous: the board has no synchronous form with that clock.
    """
    problems = Problems()
    plans = plan_drives(netlist, problems)
    problems.stop_if_any()
    return _BoardWriter(netlist, plans, clock).lowered()


def standing(texts: NetTexts, now: list[NetText]) -> Standing:
    """What is known of nets whatever the board does."""
    known = {index for index, text in enumerate(now) if text.known.number == 1}
    return Standing(
        constant=frozenset(index for index in known if now[index].level.number is not None),
        known=frozenset(known),
        driven=frozenset(
            index for index in range(len(now)) if texts.strong(index).driven.number == 1
        ),
    )


@dataclass(slots=True)
class _BoardWriter:
    netlist: Netlist
    plans: tuple[NetPlan, ...]
    clock: str = ""
    signals: Signals = field(default_factory=Signals)
    types: dict[str, ChipClass] = field(default_factory=dict)
    chips: dict[str, str] = field(default_factory=dict)
    diode_signals: dict[tuple[int, str], str] = field(default_factory=dict)
    free: dict[str, str] = field(default_factory=dict)
    free_names: dict[str, str] = field(default_factory=dict)
    held: dict[int, Held] = field(default_factory=dict)
    seen_by: dict[int, NetText] = field(default_factory=dict)
    moving: list[Value] = field(default_factory=list)
    gating: Gating | None = None
    nets: NetSignals = field(init=False)
    resolving: Resolving = field(init=False)
    outside: Outside = field(init=False)

    def lowered(self) -> Lowered:
        netlist = self.netlist
        for part in netlist.parts:
            if part.device == "chip":
                if part.type.key not in self.types:
                    made_of = chip_class(part.type, synchronous=bool(self.clock))
                    self.types[part.type.key] = made_of
                kind = self.types[part.type.key]
                self.chips[part.name] = self.signals.names.new(part.name)
                self.signals.chip(self.chips[part.name], kind)
        self.nets = net_signals(netlist, self.signals)
        self.resolving = Resolving(self.signals, self.nets)
        self.outside = Outside(netlist, self.signals, clock=self.clock)
        inputs = self.outside.inputs()
        resolved = self.resolving.output
        texts = NetTexts(netlist, self.plans, self.closed, self.driving, resolved, self.diode)
        now = [texts.net(net.index) for net in netlist.nets]
        cuts = find_cuts(netlist, self.plans, standing(texts, now))
        if self.clock:
            self.gate(texts, now, cuts)
        outputs = self.outside.outputs()
        body = self.body(texts, now, cuts)
        made = self.made(texts, cuts, "" if inputs or outputs or cuts.ticks > 1 else "{}")
        title = class_name(netlist.board)
        lines = [
            f"class {title}(wiring.Component):",
            *docstring(f"{netlist.title or netlist.board}.", 1),
            "",
            *inputs,
            *outputs,
            *(lay_out("unsettled: Out(1)", 1, UNSETTLED) if cuts.ticks > 1 else []),
            *made,
            "",
            "    def elaborate(self, platform):",
            "        m = Module()",
            *body,
            "        return m",
        ]
        places = Places(netlist=netlist, chips=self.chips, types=self.types)
        return Lowered(
            top=title,
            lines=tuple(lines),
            classes=tuple(self.types.values()),
            resolvers=bool(self.resolving.by_word),
            controls=self.outside.controls,
            free=self.free,
            nets=tuple(self.nets.attribute(net.index) for net in netlist.nets),
            lamps=self.outside.lamps,
            outputs=self.outside.ports,
            contested=self.contested(texts),
            held=tuple(self.held.values()),
            cuts=cuts,
            clock=self.clock,
            storage=places.storage(),
            memories=places.memories(written=False),
            writes=places.memories(written=True),
            drives=places.drives(),
        )

    def chip(self, part: Part) -> tuple[str, ChipClass]:
        return f"self.{self.chips[part.name]}", self.types[part.type.key]

    def net(self, index: int) -> Value:
        """A net under its own name."""
        word, bit = self.nets.places[index]
        return self.signals.at(f"self.{word.name}", bit)

    def assignments(self) -> Assignments:
        return Assignments(self.signals.widths)

    # what levels are made of ------------------------------------------------------------------

    def gate(self, texts: NetTexts, now: list[NetText], cuts: Cuts) -> None:
        """Find what gates the clock.

        Raises:
            NotSynchronous: see `Gating`; or nets hold each other without storage.
        """
        if cuts.loops:
            names = ", ".join(self.netlist.nets[net].name for net in cuts.loops[0])
            raise NotSynchronous(f"nets hold each other without storage between: {names}")
        low = LowHalf(
            netlist=self.netlist,
            plans=self.plans,
            signals=self.signals,
            chips=self.chips,
            types=self.types,
            standing=standing(texts, now),
            texts=now,
            closed=self.closed,
            driving=self.driving,
        )
        self.gating = Gating(low)
        self.gating.prepare()

    def closed(self, closing: Closing, clock: Value = v.ZERO) -> Value:
        """What closes a contact: a control's input, or an output of a chip; ``clock``: the level of
        the clock of a synchronous board."""
        if isinstance(closing, ControlBit) and closing.control == self.clock:
            return clock
        if isinstance(closing, ControlBit):
            return self.outside.closed(closing.control, closing.bit)
        part = self.netlist.part(closing.part)
        if part is None:
            raise AssertionError("a switch belongs to a part")
        chip, kind = self.chip(part)
        return v.name(f"{chip}.{kind.switches[closing.number]}")

    def driving(self, pin: Pin) -> tuple[Value, Value]:
        """(drives, level) of a driving pin."""
        part = self.netlist.part(pin.part)
        if part is None:
            raise AssertionError("a pin belongs to a part")
        if part.device in ("oscillator", "crystal"):
            return v.ONE, self.closed(ControlBit(part.name, 0))
        chip, kind = self.chip(part)
        drive = kind.drives[pin.name]
        widths = self.signals.widths
        drives = v.ONE if drive.when is None else value_at(f"{chip}.{drive.when}", widths)
        return drives, value_at(f"{chip}.{drive.level}", widths)

    def diode(self, net: int, what: str) -> Value:
        """A signal about the diodes of a net."""
        if (net, what) not in self.diode_signals:
            name = self.signals.attribute(f"{self.netlist.nets[net].name}_{what}")
            self.diode_signals[net, what] = name
        return v.name(f"self.{self.diode_signals[net, what]}")

    def choice(self, reader: str, place: str, width: int) -> Value:
        """What a reader sees that has a choice; ``place`` is where it reads: ``U1.A[3]``."""
        if reader not in self.free:
            signal, bit = place_of(place)
            if signal not in self.free_names:
                self.free_names[signal] = self.signals.attribute(f"free_{signal}", width)
            self.free[reader] = bit_of(self.free_names[signal], bit or 0, width)
        return value_at(f"self.{self.free[reader]}", self.signals.widths)

    def reads(self, net: int, reader: str, place: str, width: int) -> Value:
        """What somebody sees of a net."""
        seen = self.seen_by[net]
        if seen.known.number == 1:
            return seen.level
        return v.chosen(seen.known, seen.level, self.choice(reader, place, width))

    # the text ---------------------------------------------------------------------------------

    def body(self, texts: NetTexts, now: list[NetText], cuts: Cuts) -> list[str]:
        lines = self.round_control(cuts.ticks) if cuts.ticks > 1 else []
        for part in self.netlist.parts:
            if part.device == "chip":
                chip, kind = self.chip(part)
                slow = cuts.ticks > 1 and kind.clocked
                made = f"EnableInserter(last)({chip})" if slow else chip
                lines += lay_out(f"m.submodules.{self.chips[part.name]} = {made}", 2)
        lines += self.resolving.submodules()
        for word in self.nets.words:
            lines += self.resolution(texts, word)
            lines += self.levels(now, word, cuts)
        lines += self.observed()
        lines += self.gating.lines() if self.gating is not None else []
        lines += self.pins()
        lines += self.lit()
        lines += self.going_out()
        if cuts.ticks > 1:
            moving = v.any_of(self.moving)
            lines += lay_out(f"m.d.comb += self.unsettled.eq({moving.text})", 2)
        return lines

    def round_control(self, ticks: int) -> list[str]:
        return [
            *prose(
                f"A round has {ticks} ticks: loops settle, and in the last one storage advances.", 2
            ),
            "        last = Signal()",
            *lay_out(f"m.d.comb += last.eq(self.tick == {ticks - 1})", 2),
            *lay_out("m.d.sync += self.tick.eq(Mux(last, 0, self.tick + 1))", 2),
        ]

    def resolution(self, texts: NetTexts, word: Word) -> list[str]:
        """What comes through diodes, and the inputs of a word's resolver."""
        assigned = self.assignments()
        for net in word.nets:
            for signal, value in texts.definitions(net):
                assigned.add(signal, value)
        self.resolving.assign(texts, word, assigned)
        return assigned.lines(2)

    def levels(self, now: list[NetText], word: Word, cuts: Cuts) -> list[str]:
        """What the readers of nets see: locals where it can be unknown, or held by a register."""
        lines: list[str] = []
        assigned, held = self.assignments(), self.assignments()
        open_ended = [
            net for net in word.nets if net not in cuts.nets and now[net].known.number is None
        ]
        level = known = ""
        if open_ended:
            width = len(word.nets)
            level = self.signals.local(f"{word.name}_level", width)
            known = self.signals.local(f"{word.name}_known", width)
            lines += [f"        {name} = Signal({_width(width)})" for name in (level, known)]
        for bit, net in enumerate(word.nets):
            text = now[net]
            if net in cuts.nets:
                lines += self.cut(net, text, assigned, held)
            elif text.known.number == 1:
                self.seen_by[net] = NetText(known=v.ONE, level=self.net(net))
                assigned.add(self.net(net), text.level)
            elif text.known.number == 0:
                self.seen_by[net] = NetText(known=v.ZERO, level=v.ZERO)
            else:
                seen = NetText(known=self.signals.at(known, bit), level=self.signals.at(level, bit))
                self.seen_by[net] = seen
                assigned.add(seen.level, text.level)
                assigned.add(seen.known, text.known)
        return [*lines, *assigned.lines(2), *held.lines(2, "sync")]

    def cut(
        self, net: int, text: NetText, assigned: Assignments, registers: Assignments
    ) -> list[str]:
        """Registers that hold a net of a loop, level and whether it has one."""
        name = self.netlist.nets[net].name
        lines, found = [], []
        wanted = [("", text.level)] + (
            [] if text.known.number is not None else [("_known", text.known)]
        )
        for what, value in wanted:
            register = self.signals.attribute(f"{name}{what}_held")
            local = self.signals.local(f"{name}{what}_now")
            lines.append(f"        {local} = Signal()")
            assigned.add(v.name(local), value)
            registers.add(v.name(f"self.{register}"), v.name(local))
            self.moving.append(Value(text=f"self.{register} ^ {local}", bind=v.XOR))
            found.append(register)
        level, known = found[0], found[1] if len(found) > 1 else None
        self.held[net] = Held(net=net, level=level, known=known)
        self.seen_by[net] = NetText(
            known=text.known if known is None else v.name(f"self.{known}"),
            level=v.name(f"self.{level}"),
        )
        return lines

    def observed(self) -> list[str]:
        """The nets under their own names, where their readers do not see just that."""
        assigned = self.assignments()
        for net in self.netlist.nets:
            if self.seen_by[net.index].level == self.net(net.index):
                continue
            if any(pin.kind.reads and self.open_high(pin) for pin in net.pins):
                assigned.add(self.net(net.index), v.ONE, "an open input reads high")
                continue
            word, _ = self.nets.places[net.index]
            place = self.nets.attribute(net.index)
            level = self.reads(net.index, net.name, place, len(word.nets))
            assigned.add(self.net(net.index), level)
        return assigned.lines(2)

    def open_high(self, pin: Pin) -> bool:
        """Whether a pin is connected to nothing and reads high all the same."""
        part = self.netlist.part(pin.part)
        if pin.net is None and part is not None and part.type.held_inside(pin.number):
            return True
        bipolar = part is not None and part.family is not None and part.family.bipolar
        return bipolar and connected_to_nothing(self.netlist, self.plans, pin)

    def pins(self) -> list[str]:
        """What each chip reads."""
        lines: list[str] = []
        for part in self.netlist.parts:
            if part.device != "chip":
                continue
            assigned = self.assignments()
            for pin in part.pins:
                if pin.kind.reads:
                    self.pin(part, pin, assigned)
            if self.gating is not None:
                self.gating.clock_pins(part, assigned)
            wired = assigned.lines(2)
            lines += [*prose(f"{part.name}, {part.printed}", 2), *wired] if wired else []
        return lines

    def pin(self, part: Part, pin: Pin, assigned: Assignments) -> None:
        chip, kind = self.chip(part)
        target = value_at(f"{chip}.{kind.reads[pin.name]}", self.signals.widths)
        whole = 1 if target.of is None else target.of.whole
        notes = []
        if whole == 1:
            notes = ["a moment" if pin.kind is PinKind.MOMENT else f"pin {pin.number}"]
        place = f"{self.chips[part.name]}.{kind.reads[pin.name]}"
        if whole == 1:
            place = f"{self.chips[part.name]}.{pin.number}"
        if self.open_high(pin):
            level, note = v.ONE, "open: reads high"
        elif pin.net is None or connected_to_nothing(self.netlist, self.plans, pin):
            level, note = self.choice(pin.label, place, whole), "open"
        else:
            level, note = self.reads(pin.net, pin.label, place, whole), ""
        assigned.add(target, level, ", ".join([*notes, *([note] if note else [])]))

    def lit(self) -> list[str]:
        """The lamps: an end that has no level hangs in the air."""
        assigned = self.assignments()
        for lamp in self.netlist.lamps:
            lit = v.all_of(
                [
                    self.seen_by[lamp.anode].known,
                    self.net(lamp.anode),
                    self.seen_by[lamp.cathode].known,
                    v.inverted(self.net(lamp.cathode)),
                ]
            )
            target = value_at(f"self.{self.outside.lamps[lamp.name]}", self.signals.widths)
            assigned.add(target, lit)
        return assigned.lines(2)

    def going_out(self) -> list[str]:
        assigned = self.assignments()
        for port in self.netlist.ports:
            if port.direction == "in":
                continue
            base = f"self.{self.outside.ports[port.name]}"
            for bit, net in enumerate(reversed(port.nets)):
                assigned.add(self.signals.at(base, bit), self.net(net))
        return assigned.lines(2)

    # what there is ----------------------------------------------------------------------------

    def made(self, texts: NetTexts, cuts: Cuts, signature: str) -> list[str]:
        """``__init__``: what `body` has come to need."""
        lines = ["", "    def __init__(self):", f"        super().__init__({signature})"]
        if cuts.ticks > 1:
            lines += lay_out(f"self.tick = Signal(range({cuts.ticks}))", 2)
        for part in self.netlist.parts:
            if part.device == "chip":
                chip, kind = self.chip(part)
                words = part.contents if kind.has_contents else None
                lines += lay_out_made(f"{chip} = {kind.name}", words, 2, part.printed)
        lines += self.resolving.made(texts)
        lines += self.made_signals(self.diode_signals.values(), DIODES)
        for word in self.nets.words:
            lines += lay_out(
                f"self.{word.name} = Signal({_width(len(word.nets))})", 2, self.joins(word)
            )
        registers = [
            name for held in self.held.values() for name in (held.level, held.known) if name
        ]
        lines += self.made_signals(registers, HELD)
        return lines + self.made_signals(self.free_names.values(), FREE)

    def joins(self, word: Word) -> str:
        """The pins of a net; of several the parts, and of a supply nothing, as nearly all are."""
        pins = [pin for net in word.nets for pin in self.netlist.nets[net].pins]
        if len(word.nets) == 1:
            supply = self.netlist.nets[word.nets[0]].rail is not None
            return "supply" if supply else " ".join(pin.label for pin in pins)
        return " ".join(dict.fromkeys(pin.part for pin in pins))

    def made_signals(self, names: Iterable[str], says: str) -> list[str]:
        """Signals of one sort."""
        lines: list[str] = []
        for name in names:
            width = self.signals.widths[f"self.{name}"]
            lines += lay_out(f"self.{name} = Signal({_width(width)})", 2)
        return [*prose(says, 2), *lines] if lines else []

    def contested(self, texts: NetTexts) -> tuple[str, ...]:
        """Nets that two may drive at once; a vector by its own name, once."""
        vector_of = {net: vector.name for vector in self.netlist.vectors for net in vector.nets}
        names = (
            vector_of.get(net.index, net.name)
            for net in self.netlist.nets
            if texts.fights(net.index).number != 0
        )
        return tuple(dict.fromkeys(names))


def _width(width: int) -> str:
    return "" if width == 1 else str(width)
