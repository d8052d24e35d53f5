"""One Amaranth class a chip type."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.attributes import bit_of, place_of, value_at
from breadproof.export.lowering.expressions import Translator
from breadproof.export.lowering.layout import docstring, lay_out, prose
from breadproof.export.lowering.names import Names
from breadproof.export.lowering.rows import Row, rows_of
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue import part as c
from breadproof.specs.formula import syntax as s


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivePins:
    """The attributes of a driving pin: its level, and whether it drives (None: always)."""

    level: str
    when: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipClass:
    """A chip type's class.

    ``reads`` maps pin names to attributes (``A[3]``: bit 3 of one, whose width ``widths`` tells),
    ``drives`` pin names to theirs; ``storage`` and ``memories`` map names of the part file to
    attributes, ``ports`` a memory that is written to the attribute of its write port. ``switches``
    are the attributes that tell, for each analogue switch, that it is closed. ``clocked``: it has
    anything that a tick of `sync` moves. ``high``: of a synchronous class the input by each clock
    pin that tells the pin's level while the clock is high.
    """

    name: str
    number: str
    lines: tuple[str, ...]
    reads: dict[str, str]
    drives: dict[str, DrivePins]
    storage: dict[str, str]
    memories: dict[str, str]
    ports: dict[str, str]
    switches: tuple[str, ...]
    widths: dict[str, int]
    clocked: bool
    has_contents: bool
    high: dict[str, str]


def chip_class(part: c.PartType, *, synchronous: bool = False) -> ChipClass:
    """The class of a chip type.

    A ``synchronous`` one advances once in a period of the board's clock, which is low when its pins
    are looked at: a register captures what its inputs are then, if its clock pin, by the level that
    the pin has while the clock is high, has its edge.

    Raises:
        BadInput: for an operator that is not exported.
    """
    return _ChipWriter(part, synchronous).written()


def _where(row: Row) -> str:
    """``A1 to A8: pins 2 3 4 5 6 7 8 9``."""
    numbers = " ".join(pin.number for pin in row.pins)
    return f"{row.pins[0].name} to {row.pins[-1].name}: pins {numbers}"


def _clock_pins(part: c.PartType) -> list[str]:
    """The pins that clock registers."""
    named: list[str] = []
    for storage in part.storage:
        if isinstance(storage, c.Register):
            stack = [storage.clock.expr]
            while stack:
                node = stack.pop()
                stack.extend(s.children(node))
                if isinstance(node, s.Name):
                    named.append(node.path)
    return [pin.name for pin in part.pins if pin.name in named and pin.kind.reads]


def _bits(name: str, pins: tuple[c.PinType, ...]) -> dict[str, str]:
    """For each pin its bit of a signal, the first pin being bit 0."""
    return {pin.name: bit_of(name, place, len(pins)) for place, pin in enumerate(pins)}


@dataclass(slots=True)
class _Scope:
    """Names of a part; ``before`` stands for the pins as they were in the round before."""

    writer: _ChipWriter
    before: bool
    high: bool = False

    def bit(self, name: str) -> Value | None:
        if self.high and name in self.writer.reads:
            return v.name(f"self.{self.writer.high[name]}")
        if name in self.writer.reads:
            return self.writer.remembered(name) if self.before else self.writer.read(name)
        if name in self.writer.inner:
            return v.name(
                self.writer.inner_before(name) if self.before else self.writer.inner[name]
            )
        return None

    def storage(self, name: str) -> Value | None:
        width = self.writer.widths.get(name)
        return None if width is None else v.name(f"self.{self.writer.storage[name]}", width)

    def word_bits(self, memory: str) -> int | None:
        unit = self.writer.units.get(memory)
        return None if unit is None else unit.bits

    def word(self, memory: str, address: Value) -> Value | None:
        unit = self.writer.units.get(memory)
        return None if unit is None else self.writer.read_word(unit, address)


@dataclass(slots=True)
class _ChipWriter:
    part: c.PartType
    synchronous: bool = False
    names: Names = field(default_factory=Names)
    reads: dict[str, str] = field(default_factory=dict)
    drives: dict[str, DrivePins] = field(default_factory=dict)
    port_widths: dict[str, int] = field(default_factory=dict)
    widths: dict[str, int] = field(default_factory=dict)
    storage: dict[str, str] = field(default_factory=dict)
    units: dict[str, c.Memory] = field(default_factory=dict)
    memories: dict[str, str] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    switches: list[str] = field(default_factory=list)
    inner: dict[str, str] = field(default_factory=dict)
    high: dict[str, str] = field(default_factory=dict)
    before: dict[str, str] = field(default_factory=dict)
    before_widths: dict[str, int] = field(default_factory=dict)
    inner_before_names: dict[str, str] = field(default_factory=dict)
    read_ports: dict[tuple[str, str], str] = field(default_factory=dict)
    body: list[str] = field(default_factory=list)
    wants_seen: bool = False

    def written(self) -> ChipClass:
        members = self.members()
        made = self.made()
        body = self.elaborated()
        title = f"{self.part.title} ({self.part.number})."
        lines = [
            f"class {self.name}(wiring.Component):",
            *docstring(title, 1, f"Source: {self.part.source}."),
            "",
            *members,
            *made,
            "",
            "    def elaborate(self, platform):",
            "        m = Module()",
            *body,
            "        return m",
        ]
        return ChipClass(
            name=self.name,
            number=self.part.number,
            lines=tuple(lines),
            reads=self.reads,
            drives=self.drives,
            storage=self.storage,
            memories=self.memories,
            ports=self.ports,
            switches=tuple(self.switches),
            widths=self.port_widths,
            clocked=bool(self.part.storage or self.ports),
            has_contents=self.has_contents,
            high=self.high,
        )

    @property
    def name(self) -> str:
        return "Chip" + "".join(letter for letter in self.part.key if letter.isalnum())

    @property
    def has_contents(self) -> bool:
        return any(memory.write is None for memory in self.part.memories)

    # declarations -----------------------------------------------------------------------------

    def members(self) -> list[str]:
        lines: list[str] = []
        row_of = {pin.name: row for row in rows_of(self.part) for pin in row.pins}
        for pin in self.part.pins:
            row = row_of.get(pin.name)
            if row is None:
                role = "" if pin.role is c.Role.DATA else f", {pin.role.value}"
                where = pin.says if pin.kind is c.PinKind.MOMENT else f"pin {pin.number}{role}"
                lines += self.port(pin.name, (pin,), where)
            elif pin.name not in self.reads and pin.name not in self.drives:
                lines += self.port(row.stem, row.pins, _where(row))
        for switch in self.part.switches:
            one, other = switch.joins
            self.switches.append(self.member(f"{one}_{other}_closed", 1))
            lines += lay_out(f"{self.switches[-1]}: Out(1)", 1, f"joins {one} and {other}")
        for name in _clock_pins(self.part) if self.synchronous else ():
            self.high[name] = self.member(f"{name}_high", 1)
            lines += lay_out(f"{self.high[name]}: In(1)", 1, f"{name} while the clock is high")
        return lines

    def port(self, wish: str, pins: tuple[c.PinType, ...], where: str) -> list[str]:
        """The members of a pin, or of a row of pins of one kind."""
        kind, width = pins[0].kind, len(pins)
        lines: list[str] = []
        if kind.reads:
            name = self.member(wish, width)
            self.reads.update(_bits(name, pins))
            lines += lay_out(f"{name}: In({width})", 1, where)
        if not kind.drives:
            return lines
        name = self.member(f"{wish}_out" if kind.reads else wish, width)
        lines += lay_out(f"{name}: Out({width})", 1, f"{where}, {kind.value}")
        when: dict[str, str] = {}
        outputs = [output for output in self.part.logic if output.when is not None]
        switched = {each for output in outputs for each in output.names}
        alike = any(all(pin.name in output.names for pin in pins) for output in outputs)
        if kind.sinks or any(pin.name in switched for pin in pins):
            drives = self.member(f"{wish}_drives", 1 if alike and not kind.sinks else width)
            if self.port_widths[drives] == width:
                when = _bits(drives, pins)
            else:
                when = dict.fromkeys((pin.name for pin in pins), drives)
            lines += lay_out(f"{drives}: Out({self.port_widths[drives]})", 1)
        for pin, level in _bits(name, pins).items():
            self.drives[pin] = DrivePins(level=level, when=when.get(pin))
        return lines

    def member(self, wish: str, width: int) -> str:
        name = self.names.new(wish)
        self.port_widths[name] = width
        return name

    def read(self, pin: str) -> Value:
        """What a pin reads."""
        return value_at(self.reads[pin], self.port_widths, "self.")

    def made(self) -> list[str]:
        """``__init__``, where there is storage."""
        if not (self.part.storage or self.part.memories):
            return []
        contents = ", contents" if self.has_contents else ""
        lines = ["", f"    def __init__(self{contents}):", "        super().__init__()"]
        for storage in self.part.storage:
            self.widths[storage.name] = storage.width
            attribute = self.storage[storage.name] = self.names.new(storage.name)
            shape = [str(storage.width)] if storage.width > 1 else []
            level = dict(self.part.powers_up).get(storage.name, 0)
            shape += [f"init={level}"] if level else []
            lines += lay_out(f"self.{attribute} = Signal({', '.join(shape)})", 2)
        for memory in self.part.memories:
            self.units[memory.name] = memory
            attribute = self.memories[memory.name] = self.names.new(memory.name)
            init = "contents" if memory.write is None else "[]"
            depth = f"shape={memory.bits}, depth={memory.words}, init={init}"
            lines += lay_out(f"self.{attribute} = Memory({depth})", 2)
            if memory.write is not None:
                port = self.ports[memory.name] = self.names.new(f"{memory.name}_write")
                lines += lay_out(f"self.{port} = self.{attribute}.write_port()", 2)
        return lines

    # behaviour --------------------------------------------------------------------------------

    def elaborated(self) -> list[str]:
        now = Translator(_Scope(self, before=False))
        for attribute in self.memories.values():
            self.body += lay_out(f"m.submodules.{attribute} = self.{attribute}", 2)
        for output in self.part.inner:
            for name in output.names:
                self.inner[name] = self.names.new(name)
                self.body += lay_out(f"{self.inner[name]} = Signal()", 2)
            level = now.exactly(output.level, len(output.names))
            self.assign([v.name(self.inner[name]) for name in output.names], level)
        for output in self.part.logic:
            self.output(now, output)
        for switch, closed in zip(self.part.switches, self.switches, strict=True):
            self.assign([v.name(f"self.{closed}")], now.truth(switch.when))
        for storage in self.part.storage:
            if isinstance(storage, c.Register):
                self.register(now, storage)
            else:
                self.latch(now, storage)
        for memory in self.part.memories:
            self.write(now, memory)
        if self.before:
            self.body += prose("The pins as they were in the round before.", 2)
            for name, local in self.before.items():
                self.body += lay_out(f"m.d.sync += {local}.eq(self.{name})", 2)
        if self.wants_seen:
            self.body += lay_out("m.d.sync += seen.eq(1)", 2)
        return self.body

    def assign(self, targets: list[Value], level: Value, domain: str = "comb") -> None:
        """Assign to signals, given most significant first."""
        left = v.joined(reversed(targets)).text
        self.body += lay_out(f"m.d.{domain} += {left}.eq({level.text})", 2)

    def driven(self, attribute: str) -> Value:
        """An attribute that a driving pin has."""
        return value_at(attribute, self.port_widths, "self.")

    def output(self, now: Translator, output: c.Output) -> None:
        pins = [self.drives[name] for name in output.names]
        level = now.exactly(output.level, len(pins))
        self.assign([self.driven(pin.level) for pin in pins], level)
        when = v.ONE if output.when is None else now.truth(output.when)
        kinds = [self.part.pin(name) for name in output.names]
        for sinks in (False, True):
            found = [
                (self.driven(pin.when), self.driven(pin.level))
                for pin, kind in zip(pins, kinds, strict=True)
                if pin.when is not None and kind is not None and kind.kind.sinks == sinks
            ]
            targets = list(dict.fromkeys(target for target, _ in found))
            if not targets:
                continue
            drives = v.repeated(when, len(targets))
            if sinks:
                low = v.inverted(v.joined(level for _, level in reversed(found)))
                drives = low if when.number == 1 else v.both(drives, low)
            self.assign(targets, drives)

    def remembered(self, pin: str) -> Value:
        """A pin's level in the round before; what holds it is declared at its first use."""
        attribute, _ = place_of(self.reads[pin])
        width = self.port_widths[attribute]
        if attribute not in self.before:
            local = self.before[attribute] = self.names.new(f"{attribute}_before")
            self.before_widths[local] = width
            self.body += lay_out(f"{local} = Signal({'' if width == 1 else width})", 2)
        local = self.before[attribute]
        return value_at(self.reads[pin].replace(attribute, local, 1), self.before_widths)

    def inner_before(self, name: str) -> str:
        """An inner name made of the pins of the round before."""
        if name not in self.inner_before_names:
            output = next(o for o in self.part.inner if name in o.names)
            level = Translator(_Scope(self, before=True)).exactly(output.level, len(output.names))
            for each in output.names:
                self.inner_before_names[each] = self.names.new(f"{each}_before")
                self.body += lay_out(f"{self.inner_before_names[each]} = Signal()", 2)
            names = [v.name(self.inner_before_names[each]) for each in output.names]
            self.assign(names, level)
        return self.inner_before_names[name]

    def read_word(self, memory: c.Memory, address: Value) -> Value:
        """An asynchronous read port; what lies beyond the last word reads 0."""
        key = (memory.name, address.text)
        if key not in self.read_ports:
            port = self.read_ports[key] = self.names.new(f"{memory.name}_read")
            attribute = self.memories[memory.name]
            self.body += lay_out(f'{port} = self.{attribute}.read_port(domain="comb")', 2)
            self.body += lay_out(f"m.d.comb += {port}.addr.eq({address.text})", 2)
        word = v.name(f"{self.read_ports[key]}.data", memory.bits)
        if memory.words & (memory.words - 1):
            inside = v.name(f"{self.read_ports[key]}.addr < {memory.words}")
            return v.chosen(inside, word, v.number(0, memory.bits))
        return word

    def content(
        self, storage: c.Storage, cases: list[tuple[Value, Value]], now: Translator
    ) -> None:
        """The next content: the first case that holds; clear, then preset, go before all."""
        width = storage.width
        if storage.preset is not None:
            cases = [(now.truth(storage.preset), v.number((1 << width) - 1, width)), *cases]
        if storage.clear is not None:
            cases = [(now.truth(storage.clear), v.number(0, width)), *cases]
        attribute = self.storage[storage.name]
        for position, (test, value) in enumerate(cases):
            word = "Elif" if position else "If"
            self.body += lay_out(f"with m.{word}({test.sized}):", 2)
            self.body += lay_out(f"m.d.sync += self.{attribute}.eq({value.text})", 3)

    def register(self, now: Translator, register: c.Register) -> None:
        if self.synchronous:
            self.in_step(now, register)
            return
        if not self.wants_seen:
            self.wants_seen = True
            self.body += prose("At power-up no edge has been seen.", 2)
            self.body += lay_out("seen = Signal()", 2)
        kind = "rising" if register.rising else "falling"
        self.body += prose(f"{register.name}: captures on a {kind} edge.", 2)
        captured = Translator(_Scope(self, before=True)).exactly(register.next, register.width)
        clock = now.truth(register.clock)
        if clock.of is None:
            clock = self.declared(f"{register.name}_clock", clock)
        before = v.name(self.names.new(f"{register.name}_clock_before"))
        self.body += lay_out(f"{before.text} = Signal()", 2)
        self.assign([before], clock, "sync")
        levels = [v.inverted(before), clock] if register.rising else [before, v.inverted(clock)]
        edge = self.declared(f"{register.name}_edge", v.all_of([v.name("seen"), *levels]))
        cases: list[tuple[Value, Value]] = [(edge, captured)]
        if register.load is not None:
            source = now.exactly(register.load.source, register.width)
            cases.insert(0, (now.truth(register.load.when), source))
        self.content(register, cases, now)

    def in_step(self, now: Translator, register: c.Register) -> None:
        """A register that advances once in a period of the clock."""
        kind = "rises" if register.rising else "falls"
        self.body += prose(f"{register.name}: captures if its clock pin {kind} with the clock.", 2)
        low = now.truth(register.clock)
        high = Translator(_Scope(self, before=False, high=True)).truth(register.clock)
        levels = [v.inverted(low), high] if register.rising else [low, v.inverted(high)]
        edge = self.declared(f"{register.name}_edge", v.all_of(levels))
        cases = [(edge, now.exactly(register.next, register.width))]
        if register.load is not None:
            source = now.exactly(register.load.source, register.width)
            cases.insert(0, (now.truth(register.load.when), source))
        self.content(register, cases, now)

    def declared(self, wish: str, value: Value) -> Value:
        """A local signal with a value."""
        local = v.name(self.names.new(wish))
        self.body += lay_out(f"{local.text} = Signal()", 2)
        self.assign([local], value)
        return local

    def latch(self, now: Translator, latch: c.Latch) -> None:
        self.body += prose(f"{latch.name}: copies while it is open.", 2)
        source = now.exactly(latch.source, latch.width)
        self.content(latch, [(now.truth(latch.open), source)], now)

    def write(self, now: Translator, memory: c.Memory) -> None:
        if memory.write is None or memory.source is None:
            return
        port = self.ports[memory.name]
        width = max(1, (memory.words - 1).bit_length())
        address = now.exactly(memory.address, width)
        self.body += prose(f"{memory.name}: written by level, in every round.", 2)
        for name, value in (
            ("en", now.truth(memory.write)),
            ("addr", address),
            ("data", now.exactly(memory.source, memory.bits)),
        ):
            self.body += lay_out(f"m.d.comb += self.{port}.{name}.eq({value.text})", 2)
