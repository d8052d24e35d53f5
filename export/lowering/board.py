"""The board as an Amaranth class: one instance a chip, the nets by their names."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.chips import ChipClass, chip_class
from breadproof.export.lowering.cuts import Cuts, Standing, find_cuts
from breadproof.export.lowering.layout import docstring, lay_out, prose
from breadproof.export.lowering.names import Names, class_name
from breadproof.export.lowering.netlogic import NetText, NetTexts, connected_to_nothing
from breadproof.export.lowering.places import Places
from breadproof.export.lowering.values import Value
from breadproof.export.lowering.wordlist import lay_out_made
from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.netlist.drive import NetPlan, plan_drives
from breadproof.specs.netlist.model import (
    ChipSwitch,
    Closing,
    Control,
    ControlBit,
    Netlist,
    Part,
    Pin,
)
from breadproof.specs.reading.diagnostics import Problems


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
    `place_of`); that holds for ``nets``, ``free``, ``drives``, ``lamps`` and ``held``.
    ``controls``: for each control the attribute and bit of each of its bits. ``free`` by reader,
    ``nets`` by index. ``storage``: ``U3.R`` to (attribute, width); ``memories`` and ``writes``
    (write ports) by ``U7.M``. ``contested``: the nets (vectors whole) that several could drive
    at once. ``drives``: pin label to (level, drives), each an attribute or a
    constant "0" or "1". ``lamps``: the output of each lamp by its name; ``outputs``: of each
    port that goes out the attribute, bit 0 being the port's last net.
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


def lower(netlist: Netlist) -> Lowered:
    """A board as Amaranth text.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
    """
    problems = Problems()
    plans = plan_drives(netlist, problems)
    problems.stop_if_any()
    return _BoardWriter(netlist, plans).lowered()


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


def control_name(control: Control, bit: int) -> str:
    """What a control's input is called: for a port with a suffix, its net has the name."""
    if control.kind in ("in", "moment"):
        return f"{control.name}_in"
    if control.kind == "both":
        return f"{control.name}_in" if bit else f"{control.name}_outside"
    return control.bits[bit]


@dataclass(slots=True)
class _BoardWriter:
    netlist: Netlist
    plans: tuple[NetPlan, ...]
    names: Names = field(default_factory=Names)
    types: dict[str, ChipClass] = field(default_factory=dict)
    chips: dict[str, str] = field(default_factory=dict)
    nets: list[str] = field(default_factory=list)
    controls: dict[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    widths: dict[str, int] = field(default_factory=dict)
    resolvers: dict[int, str] = field(default_factory=dict)
    diode_signals: dict[tuple[int, str], str] = field(default_factory=dict)
    free: dict[str, str] = field(default_factory=dict)
    held: dict[int, Held] = field(default_factory=dict)
    lamps: dict[str, str] = field(default_factory=dict)
    ports_out: dict[str, str] = field(default_factory=dict)
    seen_by: dict[int, NetText] = field(default_factory=dict)
    moving: list[str] = field(default_factory=list)

    def lowered(self) -> Lowered:
        netlist = self.netlist
        for part in netlist.parts:
            if part.device == "chip":
                self.add_type(part.type)
                self.chips[part.name] = self.names.new(part.name)
        self.nets = [self.names.new(net.name) for net in netlist.nets]
        members = self.members()
        texts = NetTexts(netlist, self.plans, self.closed, self.driving, self.resolver, self.signal)
        now = [texts.net(net.index) for net in netlist.nets]
        cuts = find_cuts(netlist, self.plans, standing(texts, now))
        body = self.body(texts, now, cuts)
        out = self.outputs()
        ports = bool(members or out or cuts.ticks > 1)
        made = self.made(texts, cuts, "" if ports else "{}")
        title = class_name(netlist.board)
        lines = [
            f"class {title}(wiring.Component):",
            *docstring(f"{netlist.title or netlist.board}.", 1),
            "",
            *members,
            *[line for _, line in out],
            *(["    unsettled: Out(1)  # a loop did not settle in the round (on its last tick)"]
              if cuts.ticks > 1 else []),
            *made,
            "",
            "    def elaborate(self, platform):",
            "        m = Module()",
            *body,
            *[line for text, _ in out for line in lay_out(text, 2)],
            "        return m",
        ]  # fmt: skip
        places = Places(netlist=netlist, chips=self.chips, types=self.types)
        return Lowered(
            top=title,
            lines=tuple(lines),
            classes=tuple(self.types.values()),
            resolvers=bool(self.resolvers),
            controls=self.controls,
            free=self.free,
            nets=tuple(self.nets),
            lamps=self.lamps,
            outputs=self.ports_out,
            contested=self.contested(texts),
            held=tuple(self.held.values()),
            cuts=cuts,
            storage=places.storage(),
            memories=places.memories(written=False),
            writes=places.memories(written=True),
            drives=places.drives(),
        )

    def add_type(self, part: PartType) -> None:
        if part.key not in self.types:
            self.types[part.key] = chip_class(part)

    def chip(self, part: Part) -> tuple[str, ChipClass]:
        return f"self.{self.chips[part.name]}", self.types[part.type.key]

    # what is outside --------------------------------------------------------------------------

    def members(self) -> list[str]:
        """The inputs: every control."""
        lines: list[str] = []
        kinds = {
            "button": "push-button, 1 while pressed",
            "changeover": "change-over switch, 1 in this position",
            "way": "DIP switch, 1 while closed",
            "rotary": "coded switch, 1 while this contact is closed",
            "jumper": "jumper, 1 while plugged",
            "oscillator": "oscillator",
            "in": "port",
            "moment": "a moment that the world chooses: each change",
            "both": "port",
        }
        for control in self.netlist.controls:
            note = kinds[control.kind]
            if control.kind in ("in", "both"):
                levels = control.bits if control.kind == "in" else control.bits[1:]
                places: list[tuple[str, int]] = []
                if control.kind == "both":
                    name = self.names.new(control_name(control, 0), port=True)
                    lines += lay_out(f"{name}: In(1)", 1, "1 while the port is driven from outside")
                    places.append((name, 0))
                    self.widths[name] = 1
                width = len(levels)
                name = self.names.new(control_name(control, 1), port=True)
                lines += lay_out(f"{name}: In({width})", 1, note)
                self.widths[name] = width
                places += [(name, width - 1 - bit) for bit in range(width)]
            else:
                places = []
                for bit in range(len(control.bits)):
                    name = self.names.new(control_name(control, bit), port=True)
                    lines += lay_out(f"{name}: In(1)", 1, note)
                    self.widths[name] = 1
                    places.append((name, 0))
            self.controls[control.name] = tuple(places)
        return lines

    def outputs(self) -> list[tuple[str, str]]:
        """The outputs: (statement, declaration) for each lamp and each port that goes out."""
        found: list[tuple[str, str]] = []
        for lamp in self.netlist.lamps:
            name = self.lamps[lamp.name] = self.names.new(lamp.name, port=True)
            lit = v.all_of(
                [
                    *self.held_at(lamp.anode),
                    v.name(f"self.{self.nets[lamp.anode]}"),
                    *self.held_at(lamp.cathode),
                    v.inverted(v.name(f"self.{self.nets[lamp.cathode]}")),
                ]
            )
            statement = f"m.d.comb += self.{name}.eq({lit.text})"
            found.append((statement, f"    {name}: Out(1)  # lamp, 1 while lit"))
        for port in self.netlist.ports:
            if port.direction == "in":
                continue
            name = self.ports_out[port.name] = self.names.new(f"{port.name}_out", port=True)
            bits = v.joined(v.name(f"self.{self.nets[net]}") for net in reversed(port.nets))
            declaration = f"    {name}: Out({len(port.nets)})  # port"
            found.append((f"m.d.comb += self.{name}.eq({bits.text})", declaration))
        return found

    def held_at(self, net: int) -> list[Value]:
        """The condition under which an end of a lamp has a level: else it hangs in the air."""
        known = self.seen_by[net].known
        return [] if known.number == 1 else [known]

    def closed(self, closing: Closing) -> Value:
        """What closes a contact: a control's input, or an output of a chip."""
        if isinstance(closing, ChipSwitch):
            part = self.netlist.part(closing.part)
            if part is None:
                raise AssertionError("a switch belongs to a part")
            chip, kind = self.chip(part)
            return v.name(f"{chip}.{kind.switches[closing.number]}")
        name, bit = self.controls[closing.control][closing.bit]
        return v.name(f"self.{name}" if self.widths[name] == 1 else f"self.{name}[{bit}]")

    # chips ------------------------------------------------------------------------------------

    def driving(self, pin: Pin) -> tuple[Value, Value]:
        """(drives, level) of a driving pin."""
        part = self.netlist.part(pin.part)
        if part is None:
            raise AssertionError("a pin belongs to a part")
        if part.device in ("oscillator", "crystal"):
            return v.ONE, self.closed(ControlBit(part.name, 0))
        chip, kind = self.chip(part)
        drive = kind.drives[pin.name]
        drives = v.ONE if drive.when is None else v.name(f"{chip}.{drive.when}")
        return drives, v.name(f"{chip}.{drive.level}")

    def resolver(self, net: int) -> str:
        if net not in self.resolvers:
            self.resolvers[net] = self.names.new(f"{self.nets[net]}_resolver")
        return f"self.{self.resolvers[net]}"

    def signal(self, net: int, what: str) -> str:
        """A signal about the diodes of a net."""
        if (net, what) not in self.diode_signals:
            name = self.names.new(f"{self.nets[net]}_{what}")
            self.diode_signals[net, what] = name
        return f"self.{self.diode_signals[net, what]}"

    def choice(self, reader: str) -> Value:
        if reader not in self.free:
            self.free[reader] = self.names.new(f"free_{reader}")
        return v.name(f"self.{self.free[reader]}")

    def reads(self, net: int, reader: str) -> Value:
        """What somebody sees of a net."""
        seen = self.seen_by[net]
        if seen.known.number == 1:
            return seen.level
        return v.chosen(seen.known, seen.level, self.choice(reader))

    # the text ---------------------------------------------------------------------------------

    def body(self, texts: NetTexts, now: list[NetText], cuts: Cuts) -> list[str]:
        lines: list[str] = []
        for part in self.netlist.parts:
            if part.device == "chip":
                chip, kind = self.chip(part)
                slow = cuts.ticks > 1 and kind.clocked
                made = f"EnableInserter(last)({chip})" if slow else chip
                lines += lay_out(f"m.submodules.{self.chips[part.name]} = {made}", 2)
        lines += [
            piece
            for name in self.resolvers.values()
            for piece in lay_out(f"m.submodules.{name} = self.{name}", 2)
        ]
        if cuts.ticks > 1:
            lines = [*self.round_control(cuts.ticks), *lines]
        nets: list[str] = []
        for index in range(len(self.netlist.nets)):
            nets += self.resolution(texts, index)
            nets += self.level(now[index], index, index in cuts.nets)
        lines += nets
        for index in range(len(self.netlist.nets)):
            lines += self.observed(index)
        lines += self.pins()
        if cuts.ticks > 1:
            moving = " | ".join(self.moving) if len(self.moving) > 1 else self.moving[0][1:-1]
            lines += lay_out(f"m.d.comb += self.unsettled.eq({moving})", 2)
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

    def resolution(self, texts: NetTexts, index: int) -> list[str]:
        """The inputs of a net's resolver."""
        diodes = [
            line
            for name, value in texts.definitions(index)
            for line in lay_out(f"m.d.comb += {name}.eq({value.text})", 2)
        ]
        if index not in self.resolvers:
            return diodes
        groups = texts.groups[index]
        drives = v.joined([group.drives for group in groups])
        levels = v.joined([group.level for group in groups])
        name = f"self.{self.resolvers[index]}"
        who = ", ".join(label for group in groups for label in group.labels)
        return [
            *diodes,
            *lay_out(f"m.d.comb += {name}.drives.eq({drives.text})", 2, f"drivers: {who}"),
            *lay_out(f"m.d.comb += {name}.levels.eq({levels.text})", 2),
        ]

    def level(self, text: NetText, index: int, cut: bool) -> list[str]:
        """What a net's readers see, as locals where it can be unknown, or held by a register."""
        name = self.nets[index]
        known, level = text.known, text.level
        if not cut:
            if known.number == 1:
                self.seen_by[index] = NetText(known=v.ONE, level=v.name(f"self.{name}"))
                return lay_out(f"m.d.comb += self.{name}.eq({level.text})", 2)
            if known.number == 0:
                self.seen_by[index] = NetText(known=v.ZERO, level=v.ZERO)
                return []
            seen, lines = self.local(f"{name}_level", level)
            local, more = self.local(f"{name}_known", known)
            self.seen_by[index] = NetText(known=v.name(local), level=v.name(seen))
            return [*lines, *more]
        held = Held(
            net=index,
            level=self.names.new(f"{name}_held"),
            known=None if known.number is not None else self.names.new(f"{name}_known_held"),
        )
        self.held[index] = held
        lines = self.hold(held.level, f"{name}_now", level)
        if held.known is not None:
            lines += self.hold(held.known, f"{name}_known_now", known)
            known = v.name(f"self.{held.known}")
        self.seen_by[index] = NetText(known=known, level=v.name(f"self.{held.level}"))
        return lines

    def local(self, wish: str, value: Value) -> tuple[str, list[str]]:
        """A local signal with a value: its name, and the lines."""
        name = self.names.new(wish)
        assign = lay_out(f"m.d.comb += {name}.eq({value.text})", 2)
        return name, [f"        {name} = Signal()", *assign]

    def hold(self, register: str, wish: str, value: Value) -> list[str]:
        """A register that follows a value from tick to tick."""
        now, lines = self.local(wish, value)
        self.moving.append(f"(self.{register} ^ {now})")
        return [*lines, *lay_out(f"m.d.sync += self.{register}.eq({now})", 2)]

    def observed(self, index: int) -> list[str]:
        """The net under its own name, where its readers do not see just that."""
        net, name = self.netlist.nets[index], self.nets[index]
        seen = self.seen_by[index]
        if seen.level.text == f"self.{name}":
            return []
        for pin in net.pins:
            if pin.kind.reads and self.open_high(pin):
                return lay_out(f"m.d.comb += self.{name}.eq(1)", 2, "an open input reads high")
        return lay_out(f"m.d.comb += self.{name}.eq({self.reads(index, net.name).text})", 2)

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
            chip, kind = self.chip(part)
            for pin in part.pins:
                if not pin.kind.reads:
                    continue
                note = "a moment" if pin.kind is PinKind.MOMENT else f"pin {pin.number}"
                if self.open_high(pin):
                    level, note = v.ONE, f"{note}, open: reads high"
                elif pin.net is None or connected_to_nothing(self.netlist, self.plans, pin):
                    level, note = self.choice(pin.label), f"{note}, open"
                else:
                    level = self.reads(pin.net, pin.label)
                target = f"{chip}.{kind.reads[pin.name]}"
                lines += lay_out(f"m.d.comb += {target}.eq({level.text})", 2, note)
        return lines

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
        for index, name in self.resolvers.items():
            groups = len(texts.groups[index])
            lines += lay_out(f"self.{name} = Resolver({groups})", 2)
        lines += self.made_for_diodes()
        for net, name in zip(self.netlist.nets, self.nets, strict=True):
            pins = " ".join(pin.label for pin in net.pins)
            lines += lay_out(f"self.{name} = Signal()", 2, pins)
        if self.held:
            lines += prose("Nets of loops, held from tick to tick.", 2)
        for held in self.held.values():
            for register in (held.level, held.known):
                lines += lay_out(f"self.{register} = Signal()", 2) if register else []
        if self.free:
            lines += prose(
                "What a pin reads where its net floats or fights; the choice made here is 0.", 2
            )
        for name in self.free.values():
            lines += lay_out(f"self.{name} = Signal()", 2)
        return lines

    def made_for_diodes(self) -> list[str]:
        """The signals about diodes."""
        if not self.diode_signals:
            return []
        lines = prose("What comes in through diodes, and whether it is sure.", 2)
        for name in self.diode_signals.values():
            lines += lay_out(f"self.{name} = Signal()", 2)
        return lines

    def contested(self, texts: NetTexts) -> tuple[str, ...]:
        """Nets that two may drive at once; a vector by its own name, once."""
        vector_of = {net: vector.name for vector in self.netlist.vectors for net in vector.nets}
        names = (
            vector_of.get(net.index, net.name)
            for net in self.netlist.nets
            if texts.fights(net.index).number != 0
        )
        return tuple(dict.fromkeys(names))
