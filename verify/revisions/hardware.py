"""A Verilog module as a machine, so that it can be walked and compared beside a board.

A flip-flop is what it is on a board (design.md, section 4): it takes in, in the round in which its
clock has another level than in the round before, what its data was then, and holds to a set or
clear in every round in which that is active. What nobody drives, and what is ``x``, has any level,
chosen once a step. All flip-flops power up holding anything: initial values are left aside.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine, MemoryUnit, NetLevel, StoreBit
from breadproof.specs.machine.order import evaluation_order
from breadproof.specs.machine.steplogic import StepLogic
from breadproof.specs.netlist.model import Control, Net, Netlist, Port, Vector
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.equal.readback import Bit, Gate, Unreadable
from breadproof.verify.revisions.flops import Flop, Module, bits_of

PART = "module"
"""The one part that all flip-flops are said to be in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardware:
    """``machine`` has a control for each input and a net for each named bit. ``ports`` are the net
    numbers of outputs, ``stores`` the leaves of registers by name, most significant first."""

    module: Module
    machine: Machine
    ports: dict[str, tuple[int, ...]]
    stores: dict[str, tuple[int, ...]]


def hardware(module: Module, file: str) -> Hardware:
    """The machine of a module; ``file`` is where it was read from.

    Raises:
        Unreadable: a memory is written otherwise than one on a board can be.
    """
    return _Builder(module, Span(file=file, line=1, column=1)).done()


@dataclass(slots=True)
class _Builder:
    module: Module
    span: Span
    graph: Graph = field(default_factory=Graph)
    nodes: dict[int, int] = field(default_factory=dict)
    free: dict[str, int] = field(default_factory=dict)
    nets: list[Net] = field(default_factory=list)
    levels: list[NetLevel] = field(default_factory=list)
    net_of: dict[Bit, int] = field(default_factory=dict)
    labels: dict[int, str] = field(default_factory=dict)

    def done(self) -> Hardware:
        module, graph = self.module, self.graph
        for name, bits in module.inputs.items():
            for place, bit in enumerate(reversed(bits)):
                if isinstance(bit, int):
                    self.nodes[bit] = graph.leaf("control", name, place)
        for name, place, bit in bits_of(module):
            if bit in module.flops and isinstance(bit, int):
                self.labels.setdefault(bit, f"{name}[{place}]")
        for number, bit in enumerate(module.flops):
            label = self.labels.setdefault(bit, f"unnamed{number}[0]")
            owner, _, digits = label.removesuffix("]").rpartition("[")
            self.nodes[bit] = graph.leaf("store", f"{PART}.{owner}", int(digits))
        for bit in module.order:
            gate = module.gates.get(bit)
            self.nodes[bit] = self.word_bit(bit) if gate is None else self.gate(gate)
        for name, place, bit in bits_of(module):
            self.net(name if len(module.names[name]) == 1 else f"{name}[{place}]", bit)
        ports = {name: self.port(name, bits) for name, bits in module.outputs.items()}
        stores = tuple(self.store(bit, flop) for bit, flop in module.flops.items())
        netlist = self.netlist(ports)
        machine = Machine(
            netlist=netlist, wired=netlist, graph=graph, order=(), legal=Graph.TRUE,
            controls={
                control.name: tuple(
                    graph.leaf("control", control.name, k) for k in range(len(control.bits))
                )
                for control in netlist.controls
            },
            stores=stores, memories=tuple(map(self.memory, module.rams)), loops=(),
            nets=tuple(self.levels), pins={}, drives={}, lamps={}, strobes=(), free=self.free,
            logic=StepLogic(monitors=(), gathered=(), formulas=()),
        )  # fmt: skip
        return Hardware(
            module=module,
            machine=replace(machine, order=evaluation_order(machine)),
            ports=ports,
            stores=dict(self.registers()),
        )

    def registers(self) -> list[tuple[str, tuple[int, ...]]]:
        """Names all of whose bits are flip-flops, with the leaves."""
        found: list[tuple[str, tuple[int, ...]]] = []
        for name, bits in self.module.names.items():
            if all(bit in self.module.flops for bit in bits):
                found.append((name, tuple(self.nodes[int(bit)] for bit in reversed(bits))))
        return found

    def at(self, bit: Bit) -> int:
        """The node of a bit."""
        if bit in ("0", "1"):
            return int(bit)
        if isinstance(bit, int) and bit in self.nodes:
            return self.nodes[bit]
        name = f"x{len(self.free)}"
        node = self.free.setdefault(name, self.graph.leaf("free", name))
        if isinstance(bit, int):
            self.nodes[bit] = node
        return node

    def gate(self, gate: Gate) -> int:
        graph = self.graph
        a, *others = [self.at(bit) for bit in gate.inputs]
        b = others[0] if others else a
        match gate.kind:
            case "$_BUF_":
                return a
            case "$_NOT_":
                return graph.not_(a)
            case "$_AND_":
                return graph.and_(a, b)
            case "$_NAND_":
                return graph.not_(graph.and_(a, b))
            case "$_OR_":
                return graph.or_(a, b)
            case "$_NOR_":
                return graph.not_(graph.or_(a, b))
            case "$_XOR_":
                return graph.xor(a, b)
            case "$_XNOR_":
                return graph.not_(graph.xor(a, b))
            case "$_ANDNOT_":
                return graph.and_(a, graph.not_(b))
            case "$_ORNOT_":
                return graph.or_(a, graph.not_(b))
            case "$_MUX_":
                return graph.mux(others[1], b, a)
            case kind:
                raise AssertionError(f"no gate: {kind}")

    def store(self, bit: int, flop: Flop) -> StoreBit:
        graph, no = self.graph, Graph.FALSE
        clock = self.at(self.module.clock if self.module.clock is not None else "0")
        edge = self.edge(rising=flop.rising)
        data, leaf = self.at(flop.data), self.nodes[bit]
        clear, preset = self.active(flop.low), self.active(flop.high)
        captured = graph.was(data)
        moved = graph.mux(edge, captured, leaf)
        name, _, place = self.labels[bit].removesuffix("]").rpartition("[")
        return StoreBit(
            part=PART, storage=name, bit=int(place), leaf=leaf,
            next=graph.and_(graph.not_(clear), graph.or_(preset, moved)), clock=clock, edge=edge,
            captured=captured, clear=clear, preset=preset, load=no, open=no, source=data,
        )  # fmt: skip

    def word_bit(self, bit: int) -> int:
        """A bit that a memory shows."""
        name, port, place = self.module.shown[bit]
        address, _ = self.module.rams[name].memory.reads[port]
        return self.graph.read([*self.module.rams].index(name), place, self.address(name, address))

    def address(self, name: str, bits: tuple[Bit, ...]) -> tuple[int, ...]:
        """Nodes of a memory's address, most significant first."""
        words = self.module.rams[name].memory.size
        lines = max(1, (words - 1).bit_length())
        nodes = [self.at(bit) for bit in bits]
        nodes += [Graph.FALSE] * (lines - len(nodes))
        if any(nodes[lines:]):  # beyond its words a memory shows x, and that is no level
            raise Unreadable(
                f"memory {name} of {words:,} words has an address of {len(bits)} bits: {lines} "
                f"reach all of them (in 'a + 1' the 1 has 32 bits, in \"a + {lines}'d1\" {lines})"
            )
        return tuple(reversed(nodes[:lines]))

    def memory(self, name: str) -> MemoryUnit:
        """It takes in, in the round in which the clock moves, what stood at its write port in the
        round before."""
        graph, ram = self.graph, self.module.rams[name]
        ((enables, address, data),) = ram.memory.writes
        wanted = {self.at(bit) for bit in enables}
        if len(wanted) > 1:
            raise Unreadable(
                f"memory {name} is written in parts of a word: whole ones are compared"
            )
        return MemoryUnit(
            part=PART, storage=name, words=ram.memory.size, bits=ram.memory.width,
            address=tuple(graph.was(node) for node in self.address(name, address)),
            write=graph.and_(self.edge(rising=ram.rising), graph.was(wanted.pop())),
            data=tuple(graph.was(self.at(bit)) for bit in data),
            contents=None,
        )  # fmt: skip

    def edge(self, *, rising: bool) -> int:
        """That the clock has moved, in this round."""
        clock = self.at(self.module.clock if self.module.clock is not None else "0")
        before, now = self.graph.was(clock), clock
        if not rising:
            before, now = now, before
        return self.graph.and_(self.graph.not_(before), now)

    def active(self, control: tuple[Bit, bool] | None) -> int:
        if control is None:
            return Graph.FALSE
        node = self.at(control[0])
        return node if control[1] else self.graph.not_(node)

    def net(self, name: str, bit: Bit) -> int:
        """The net of a bit, under its first name."""
        if bit in self.net_of:
            return self.net_of[bit]
        index = len(self.nets)
        self.nets.append(Net(index=index, name=name, pins=(), span=self.span))
        self.levels.append(
            NetLevel(
                level=self.at(bit), known=Graph.TRUE, driven=Graph.TRUE, fights=Graph.FALSE,
                drivers=(), reached=Graph.TRUE,
            )
        )  # fmt: skip
        if isinstance(bit, int):
            self.net_of[bit] = index
        return index

    def port(self, name: str, bits: tuple[Bit, ...]) -> tuple[int, ...]:
        """The nets of an output, most significant first; constants have nets of their own."""
        return tuple(
            self.net(f"{name}[{place}]", bit) for place, bit in reversed(list(enumerate(bits)))
        )

    def netlist(self, ports: dict[str, tuple[int, ...]]) -> Netlist:
        module, span = self.module, self.span
        inputs = {
            name: tuple(self.net(f"{name}[{k}]", bit) for k, bit in reversed(list(enumerate(bits))))
            for name, bits in module.inputs.items()
        }
        both = [("in", inputs), ("out", ports)]
        return Netlist(
            file=span.file, board=module.name, title="", supply=5.0, parts=(), contacts=(),
            nets=tuple(self.nets),
            vectors=tuple(
                Vector(name=name, left=len(nets) - 1, right=0, nets=nets)
                for _, group in both
                for name, nets in group.items()
                if len(nets) > 1
            ),
            ports=tuple(
                Port(name=name, direction=way, nets=nets, span=span)  # type: ignore[arg-type]
                for way, group in both
                for name, nets in group.items()
            ),
            controls=tuple(
                Control(
                    name=name,
                    kind="in",
                    bits=tuple(self.nets[net].name for net in nets),
                    part=None,
                )
                for name, nets in inputs.items()
            ),
            resistors=(), lamps=(), formulas=(), together="all",
        )  # fmt: skip
