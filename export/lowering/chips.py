"""One Amaranth class a chip type."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.expressions import Translator
from breadproof.export.lowering.layout import docstring, lay_out, prose
from breadproof.export.lowering.names import Names
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue import part as c


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivePins:
    """The attributes of a driving pin: its level, and whether it drives (None: always)."""

    level: str
    when: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipClass:
    """A chip type's class.

    ``reads`` maps pin names to attributes, ``drives`` pin names to theirs; ``storage`` and
    ``memories`` map names of the part file to attributes, ``ports`` a memory that is written to
    the attribute of its write port. ``switches`` are the attributes that tell, for each analogue
    switch, that it is closed. ``clocked``: it has anything that a tick of `sync` moves.
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
    clocked: bool
    has_contents: bool


def chip_class(part: c.PartType) -> ChipClass:
    """The class of a chip type.

    Raises:
        BadInput: for an operator that is not exported.
    """
    return _ChipWriter(part).written()


@dataclass(slots=True)
class _Scope:
    """Names of a part; ``before`` stands for the pins as they were in the round before."""

    writer: _ChipWriter
    before: bool

    def bit(self, name: str) -> Value | None:
        if name in self.writer.reads:
            if self.before:
                return v.name(self.writer.remembered(name))
            return v.name(f"self.{self.writer.reads[name]}")
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
    names: Names = field(default_factory=Names)
    reads: dict[str, str] = field(default_factory=dict)
    drives: dict[str, DrivePins] = field(default_factory=dict)
    widths: dict[str, int] = field(default_factory=dict)
    storage: dict[str, str] = field(default_factory=dict)
    units: dict[str, c.Memory] = field(default_factory=dict)
    memories: dict[str, str] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    switches: list[str] = field(default_factory=list)
    inner: dict[str, str] = field(default_factory=dict)
    before: dict[str, str] = field(default_factory=dict)
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
            *docstring(f"{title} Source: {self.part.source}.", 1),
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
            clocked=bool(self.part.storage or self.ports),
            has_contents=self.has_contents,
        )

    @property
    def name(self) -> str:
        return "Chip" + "".join(letter for letter in self.part.key if letter.isalnum())

    @property
    def has_contents(self) -> bool:
        return any(memory.write is None for memory in self.part.memories)

    # declarations -----------------------------------------------------------------------------

    def members(self) -> list[str]:
        conditional = {name for output in self.part.logic if output.when for name in output.names}
        lines: list[str] = []
        for pin in self.part.pins:
            role = "" if pin.role is c.Role.DATA else f", {pin.role.value}"
            where = pin.says if pin.kind is c.PinKind.MOMENT else f"pin {pin.number}{role}"
            if pin.kind.reads:
                self.reads[pin.name] = self.names.new(pin.name)
                lines += lay_out(f"{self.reads[pin.name]}: In(1)", 1, where)
            if not pin.kind.drives:
                continue
            level = self.names.new(f"{pin.name}_out" if pin.kind.reads else pin.name)
            when = None
            lines += lay_out(f"{level}: Out(1)", 1, f"pin {pin.number}, {pin.kind.value}")
            if pin.name in conditional or pin.kind.sinks:
                when = self.names.new(f"{pin.name}_drives")
                lines += lay_out(f"{when}: Out(1)", 1)
            self.drives[pin.name] = DrivePins(level=level, when=when)
        for switch in self.part.switches:
            one, other = switch.joins
            self.switches.append(self.names.new(f"{one}_{other}_closed"))
            lines += lay_out(f"{self.switches[-1]}: Out(1)", 1, f"joins {one} and {other}")
        return lines

    def made(self) -> list[str]:
        """``__init__``, where there is storage."""
        if not (self.part.storage or self.part.memories):
            return []
        contents = ", contents" if self.has_contents else ""
        lines = ["", f"    def __init__(self{contents}):", "        super().__init__()"]
        for storage in self.part.storage:
            self.widths[storage.name] = storage.width
            attribute = self.storage[storage.name] = self.names.new(storage.name)
            width = "" if storage.width == 1 else str(storage.width)
            lines += lay_out(f"self.{attribute} = Signal({width})", 2)
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
            self.assign([self.inner[name] for name in output.names], level)
        for output in self.part.logic:
            self.output(now, output)
        for switch, closed in zip(self.part.switches, self.switches, strict=True):
            self.assign([f"self.{closed}"], now.truth(switch.when))
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
                self.body += lay_out(f"m.d.sync += {local}.eq(self.{self.reads[name]})", 2)
        if self.wants_seen:
            self.body += lay_out("m.d.sync += seen.eq(1)", 2)
        return self.body

    def assign(self, targets: list[str], level: Value, domain: str = "comb") -> None:
        """Assign to names, given most significant first."""
        left = targets[0] if len(targets) == 1 else f"Cat({', '.join(reversed(targets))})"
        self.body += lay_out(f"m.d.{domain} += {left}.eq({level.text})", 2)

    def output(self, now: Translator, output: c.Output) -> None:
        pins = [self.drives[name] for name in output.names]
        level = now.exactly(output.level, len(pins))
        self.assign([f"self.{pin.level}" for pin in pins], level)
        when = None if output.when is None else now.truth(output.when)
        for name, pin in zip(output.names, pins, strict=True):
            if pin.when is None:
                continue
            kind = self.part.pin(name)
            drives = v.ONE if when is None else when
            if kind is not None and kind.kind.sinks:
                drives = v.all_of([drives, v.inverted(v.name(f"self.{pin.level}"))])
            self.assign([f"self.{pin.when}"], drives)

    def remembered(self, pin: str) -> str:
        """The local name of a pin's level in the round before; declared at its first use."""
        if pin not in self.before:
            self.before[pin] = self.names.new(f"{pin}_before")
            self.body += lay_out(f"{self.before[pin]} = Signal()", 2)
        return self.before[pin]

    def inner_before(self, name: str) -> str:
        """An inner name made of the pins of the round before."""
        if name not in self.inner_before_names:
            output = next(o for o in self.part.inner if name in o.names)
            level = Translator(_Scope(self, before=True)).exactly(output.level, len(output.names))
            for each in output.names:
                self.inner_before_names[each] = self.names.new(f"{each}_before")
                self.body += lay_out(f"{self.inner_before_names[each]} = Signal()", 2)
            self.assign([self.inner_before_names[each] for each in output.names], level)
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
        clock = self.names.new(f"{register.name}_clock")
        before = self.names.new(f"{register.name}_clock_before")
        edge = self.names.new(f"{register.name}_edge")
        if not self.wants_seen:
            self.wants_seen = True
            self.body += prose("At power-up no edge has been seen.", 2)
            self.body += lay_out("seen = Signal()", 2)
        kind = "rising" if register.rising else "falling"
        self.body += prose(f"{register.name}: captures on a {kind} edge.", 2)
        captured = Translator(_Scope(self, before=True)).exactly(register.next, register.width)
        for name in (clock, before, edge):
            self.body += lay_out(f"{name} = Signal()", 2)
        self.assign([clock], now.truth(register.clock))
        self.assign([before], v.name(clock), "sync")
        levels = (f"~{before} & {clock}") if register.rising else f"{before} & ~{clock}"
        self.body += lay_out(f"m.d.comb += {edge}.eq(seen & {levels})", 2)
        cases: list[tuple[Value, Value]] = [(v.name(edge), captured)]
        if register.load is not None:
            source = now.exactly(register.load.source, register.width)
            cases.insert(0, (now.truth(register.load.when), source))
        self.content(register, cases, now)

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
