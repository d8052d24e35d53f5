"""A part's formulas as nodes: its outputs, storage and memory on this board."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from breadproof.specs.catalogue import part as c
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.blast import Bits, Blaster, WrongFormula
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import MemoryUnit, PinDrive, StoreBit, Strobe, StrobeKind
from breadproof.specs.netlist.model import ChipSwitch, Part


@dataclass(slots=True)
class Built:
    """What the parts of a board come to; filled part by part."""

    drives: dict[str, PinDrive] = field(default_factory=dict)
    switches: dict[ChipSwitch, int] = field(default_factory=dict)
    """When each analogue switch is closed."""
    stores: list[StoreBit] = field(default_factory=list)
    memories: list[MemoryUnit] = field(default_factory=list)
    strobes: list[Strobe] = field(default_factory=list)
    through: list[Strobe] = field(default_factory=list)
    """Inputs of storage that can be open: see `breadproof.specs.machine.through`."""


class PartScope:
    """Names inside a part file: pins, pin vectors, inner names, storage, memories.

    With ``captured`` pins are read as they were in the round before; storage always as it is.
    """

    def __init__(
        self,
        graph: Graph,
        part: Part,
        levels: Mapping[str, int],
        memory_index: Mapping[str, int],
        captured: bool = False,
    ) -> None:
        """``levels`` are the nodes of the part's reading pins by name."""
        self.graph = graph
        self.part = part
        self.levels = levels
        self.memory_index = memory_index
        self.captured = captured
        self.outputs = {n: o for o in part.type.logic + part.type.inner for n in o.names}
        self.widths = {store.name: store.width for store in part.type.storage}
        self.pin_names: set[str] = set()
        self.blaster = Blaster(graph, self)

    def pin_level(self, name: str) -> int | None:
        """The level of one reading pin."""
        level = self.levels.get(name)
        if level is None:
            return None
        self.pin_names.add(name)
        return self.graph.was(level) if self.captured else level

    def single(self, name: str) -> int | None:
        """One bit: a reading pin, or what an output or inner name is made of."""
        level = self.pin_level(name)
        if level is not None:
            return level
        output = self.outputs.get(name)
        if output is None:
            return None
        width = len(output.names)
        bits = self.blaster.exactly(output.level.expr, width)
        return bits[width - 1 - output.names.index(name)]

    def name(self, name: s.Name) -> Bits:
        """See `blast.Scope`."""
        path = name.path
        if path in self.widths:
            label = f"{self.part.name}.{path}"
            return tuple(self.graph.leaf("store", label, bit) for bit in range(self.widths[path]))
        single = self.single(path)
        if single is not None:
            return (single,)
        raise WrongFormula(f"the part has no '{path}'", name.stretch)

    def numbering(self, name: s.Name) -> tuple[int, int] | None:
        """See `blast.Scope`; a vector of pins is handled by `word`."""
        return None

    def word(self, name: s.Name, at: Callable[[], Bits]) -> Bits | None:
        """A word of the part's memory."""
        memory = next((m for m in self.part.type.memories if m.name == name.path), None)
        if memory is None:
            return None
        return read_word(
            self.graph, self.memory_index[memory.name], memory.words, memory.bits, at()
        )

    def call(self, call: s.Call, blaster: Blaster) -> Bits:
        """Part files have no functions of their own."""
        raise WrongFormula(f"a part file has no function '{call.function}'", call.stretch)

    def compare(self, left: s.Expr, right: s.Expr) -> int | None:
        """Part files have no positions."""
        return None


def read_word(graph: Graph, memory: int, words: int, bits: int, at: Bits) -> Bits:
    """The word at an address; address bits beyond the memory are not looked at (they wrap)."""
    width = max(1, (words - 1).bit_length())
    address = tuple(reversed((at + (Graph.FALSE,) * width)[:width]))
    return tuple(graph.read(memory, bit, address) for bit in range(bits))


class PartVectors(Blaster):
    """A blaster that also knows ``D[7:0]`` as the pins D7 to D0."""

    def __init__(self, graph: Graph, scope: PartScope) -> None:
        """Work in a part's scope."""
        super().__init__(graph, scope)
        self.part_scope = scope

    def leaf(self, expr: s.Name | s.Index | s.Part | s.Slide) -> Bits:
        """Pin vectors first, then what `Blaster` knows."""
        if isinstance(expr, s.Part) and isinstance(expr.base, s.Name):
            left, right = self.constant(expr.left), self.constant(expr.right)
            names = [f"{expr.base.path}{number}" for number in indices(left, right)]
            if expr.base.path not in self.part_scope.widths:
                found = [self.part_scope.single(name) for name in names]
                bits = tuple(bit for bit in found if bit is not None)
                if len(bits) == len(names):
                    return tuple(reversed(bits))
        return super().leaf(expr)


def build_part(
    graph: Graph, part: Part, levels: Mapping[str, int], first_memory: int, built: Built
) -> None:
    """Add what a chip drives, stores and watches for to ``built``.

    ``levels`` are the nodes of its reading pins by pin name; ``first_memory`` is the number of its
    first memory on the board.
    """
    index = {memory.name: first_memory + k for k, memory in enumerate(part.type.memories)}
    _PartBuilder(graph, part, levels, index, built).run()


class _PartBuilder:
    def __init__(
        self,
        graph: Graph,
        part: Part,
        levels: Mapping[str, int],
        memory_index: Mapping[str, int],
        built: Built,
    ) -> None:
        self.graph = graph
        self.part = part
        self.levels = levels
        self.memory_index = memory_index
        self.built = built
        self.now = self.scope(captured=False)

    def scope(self, *, captured: bool) -> PartScope:
        scope = PartScope(self.graph, self.part, self.levels, self.memory_index, captured)
        scope.blaster = PartVectors(self.graph, scope)
        return scope

    def run(self) -> None:
        for output in self.part.type.logic:
            self.output(output)
        for number, switch in enumerate(self.part.type.switches):
            closed = self.truth(switch.when)[0]
            self.built.switches[ChipSwitch(self.part.name, number)] = closed
        for storage in self.part.type.storage:
            if isinstance(storage, c.Register):
                self.register(storage)
            else:
                self.latch(storage)
        for memory in self.part.type.memories:
            self.memory(memory)

    def truth(self, formula: c.Formula | None) -> tuple[int, tuple[str, ...]]:
        """A condition as a node, with the pins it looks at."""
        if formula is None:
            return Graph.FALSE, ()
        scope = self.scope(captured=False)
        node = scope.blaster.boolean(formula.expr)
        numbers = [
            f"{self.part.name}.{pin.number}"
            for pin in self.part.pins
            if pin.name in scope.pin_names
        ]
        return node, tuple(numbers)

    def output(self, output: c.Output) -> None:
        width = len(output.names)
        bits = self.now.blaster.exactly(output.level.expr, width)
        when = Graph.TRUE if output.when is None else self.truth(output.when)[0]
        for name, level in zip(output.names, reversed(bits), strict=True):
            pin = self.part.pin(name)
            if pin is None:
                raise AssertionError(f"{self.part.type.number}: logic for no pin {name}")
            enabled = when
            if pin.kind.sinks:
                enabled = self.graph.and_(when, self.graph.not_(level))
                level = Graph.FALSE
            self.built.drives[pin.label] = PinDrive(level=level, when=enabled)

    def strobe(
        self,
        kind: StrobeKind,
        formula: c.Formula | None,
        stores: tuple[int, ...],
        memory: int | None,
        *,
        rising: bool = True,
    ) -> int:
        """Note a condition at which storage changes; its node."""
        node, pins = self.truth(formula)
        if node > 1 and not self.part.type.analogue and not self.is_moment(formula):
            self.built.strobes.append(
                Strobe(
                    part=self.part.name,
                    kind=kind,
                    condition=node,
                    rising=rising,
                    pins=pins,
                    stores=stores,
                    memory=memory,
                )
            )
        return node

    def is_moment(self, formula: c.Formula | None) -> bool:
        """Whether a condition is just a moment, which comes from the world and is clean."""
        name = formula.expr if formula is not None else None
        return isinstance(name, s.Name) and any(
            moment.name == name.path for moment in self.part.type.moments
        )

    def places(self, storage: c.Storage) -> tuple[int, ...]:
        first = len(self.built.stores)
        return tuple(range(first, first + storage.width))

    def register(self, register: c.Register) -> None:
        graph, places = self.graph, self.places(register)
        clock = self.strobe("clock", register.clock, places, None, rising=register.rising)
        edge = Graph.FALSE
        if clock > 1:
            was = graph.was(clock)
            edge = (
                graph.and_(graph.not_(was), clock)
                if register.rising
                else graph.and_(was, graph.not_(clock))
            )
        captured = self.scope(captured=True).blaster.exactly(register.next.expr, register.width)
        clear = self.strobe("clear", register.clear, places, None)
        preset = self.strobe("preset", register.preset, places, None)
        load, sources = Graph.FALSE, (Graph.FALSE,) * register.width
        if register.load is not None:
            load = self.strobe("load", register.load.when, places, None)
            sources = self.now.blaster.exactly(register.load.source.expr, register.width)
            self._may_pass(load, sources, places)
        for bit in range(register.width):
            leaf = graph.leaf("store", f"{self.part.name}.{register.name}", bit)
            moved = graph.mux(edge, captured[bit], leaf)
            loaded = graph.mux(load, sources[bit], moved)
            following = graph.and_(graph.not_(clear), graph.or_(preset, loaded))
            self.built.stores.append(
                StoreBit(
                    part=self.part.name,
                    storage=register.name,
                    bit=bit,
                    leaf=leaf,
                    next=following,
                    clock=clock,
                    edge=edge,
                    captured=captured[bit],
                    clear=clear,
                    preset=preset,
                    load=load,
                    open=Graph.FALSE,
                    source=sources[bit],
                )
            )

    def _may_pass(self, opened: int, sources: Bits, places: tuple[int, ...]) -> None:
        """Note each bit that shows its input while it is open, with the pins it shows."""
        if self.part.type.analogue:
            return
        for source, place in zip(sources, places, strict=True):
            cone = set(self.graph.cone([source]))
            pins = [
                f"{self.part.name}.{pin.number}"
                for pin in self.part.pins
                if self.levels.get(pin.name) in cone
            ]
            self.built.through.append(
                Strobe(
                    part=self.part.name,
                    kind="through",
                    condition=self.graph.and_(opened, source),
                    rising=True,
                    pins=tuple(pins),
                    stores=(place,),
                    memory=None,
                )
            )

    def latch(self, latch: c.Latch) -> None:
        graph, places = self.graph, self.places(latch)
        opened = self.strobe("latch", latch.open, places, None)
        clear = self.strobe("clear", latch.clear, places, None)
        preset = self.strobe("preset", latch.preset, places, None)
        sources = self.now.blaster.exactly(latch.source.expr, latch.width)
        self._may_pass(opened, sources, places)
        for bit in range(latch.width):
            leaf = graph.leaf("store", f"{self.part.name}.{latch.name}", bit)
            copied = graph.mux(opened, sources[bit], leaf)
            self.built.stores.append(
                StoreBit(
                    part=self.part.name,
                    storage=latch.name,
                    bit=bit,
                    leaf=leaf,
                    next=graph.and_(graph.not_(clear), graph.or_(preset, copied)),
                    clock=Graph.FALSE,
                    edge=Graph.FALSE,
                    captured=leaf,
                    clear=clear,
                    preset=preset,
                    load=Graph.FALSE,
                    open=opened,
                    source=sources[bit],
                )
            )

    def memory(self, memory: c.Memory) -> None:
        place = self.memory_index[memory.name]
        width = max(1, (memory.words - 1).bit_length())
        address = self.now.blaster.exactly(memory.address.expr, width)
        write, data = Graph.FALSE, (Graph.FALSE,) * memory.bits
        if memory.write is not None and memory.source is not None:
            write = self.strobe("write", memory.write, (), place)
            data = self.now.blaster.exactly(memory.source.expr, memory.bits)
        self.strobe("program", memory.program, (), place)
        self.built.memories.append(
            MemoryUnit(
                part=self.part.name,
                storage=memory.name,
                words=memory.words,
                bits=memory.bits,
                address=tuple(reversed(address)),
                write=write,
                data=data,
                contents=None if memory.write is not None else self.part.contents,
            )
        )
