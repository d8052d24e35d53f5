"""A Verilog module as gates and flip-flops of one clock, as yosys reads it.

What somebody writes by hand is read as synthesis reads it: sensitivity lists and delays do not
count. All flip-flops must hang on one clock port, on either edge, and may be set or cleared by an
input port alone. What else there is - other clocks, latches, clocks and clears that are made by
logic, ports that go both ways, three-state wires, loops of gates - is refused, since a board's
steps say nothing of how such things race in a simulator.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import networkx as nx

from breadproof.verify.equal.readback import GATES, Bit, Gate, Memory, Unreadable, memory_of
from breadproof.verify.equal.yosys import GATES as PASSES
from breadproof.verify.equal.yosys import ReadingFailed, modules
from breadproof.verify.prove.solver import Deadline

MOST_BITS = 1 << 14
"""A memory of more bits is not taken apart into flip-flops."""
_PLAIN = re.compile(r"\$_DFF_([NP])_\Z")
_LINE = re.compile(r"board:[0-9]+")
"""Where yosys says that a cell comes from."""
_CLEARED = re.compile(r"\$_DFF_([NP])([NP])([01])_\Z")
_SET = re.compile(r"\$_DFFSR_([NP])([NP])([NP])_\Z")
MOST_INPUTS, MOST_GATES = 4, 64
"""A set or clear that is made of more is not looked into."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flop:
    """A flip-flop: ``data`` is taken in where the clock port rises (or falls); while the bit
    ``low`` has its level it is 0, else while ``high`` has its level it is 1 (None: never)."""

    data: Bit
    rising: bool
    low: tuple[Bit, bool] | None = None
    high: tuple[Bit, bool] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ram:
    """A memory that is read at once, and written whole words at a time by one port, where the clock
    port rises (or falls)."""

    memory: Memory
    rising: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """``inputs`` and ``outputs`` have bits by port, least significant first; ``names`` all named
    bits. ``clock`` is the bit of the clock port; None without flip-flops. ``shown`` are the bits
    that memories show: memory, port, bit. ``order`` are the gates' outputs and these, each after
    what it is made of."""

    name: str
    inputs: Mapping[str, tuple[Bit, ...]]
    outputs: Mapping[str, tuple[Bit, ...]]
    gates: Mapping[int, Gate]
    flops: Mapping[int, Flop]
    clock: int | None
    names: Mapping[str, tuple[Bit, ...]]
    order: tuple[int, ...]
    rams: Mapping[str, Ram]
    shown: Mapping[int, tuple[str, int, int]]


def read_module(
    text: str,
    module: str,
    clock: str,
    seconds: float,
    *,
    system: bool,
    rams: Collection[str] = (),
) -> Module:
    """The module of that name, or the only one that no other contains, of a Verilog text.

    ``clock`` is the name of its clock port; "" if it has none. ``system``: the text is
    SystemVerilog. Memories called so in ``rams`` stay memories, the others become flip-flops.

    Raises:
        NoReader: no yosys is installed.
        ReadingFailed: yosys does not read it.
        Unreadable: it is nothing that can be compared with a board, with the reason, behind
            ``board:LINE: `` if that is known.
    """
    deadline = Deadline(seconds)
    read = f"read_verilog -nomem2reg {'-sv ' if system else ''}board"
    begin = [read, f"hierarchy -check {f'-top {module}' if module else '-auto-top'}"]
    found = modules(text, [*begin, *PASSES], deadline.left)
    tops = [n for n, one in found.items() if "top" in one["attributes"] or len(found) == 1]
    name = module or next(iter(tops), "")
    if name not in found:
        raise ReadingFailed(f"the text has no module '{module}'" if module else "it has no module")
    if _memory_bits(found[name], rams):
        place = PASSES.index("memory_collect") + 1
        spared = " ".join(f"c:{one} %d" for one in rams)
        steps = [f"select -set loose t:$mem_v2 {spared}", "memory_map @loose"]
        found = modules(text, [*begin, *PASSES[:place], *steps, *PASSES[place:]], deadline.left)
    return _Reading(name, found[name], clock).module()


def _memory_bits(found: Mapping[str, Any], rams: Collection[str]) -> int:
    """How many bits memories have that do not stay memories.

    Raises:
        Unreadable: too many to be compared.
    """
    bits = 0
    for name, cell in found["cells"].items():
        if cell["type"] == "$mem_v2" and name not in rams:
            number = cell["parameters"]
            bits += int(number["SIZE"], 2) * int(number["WIDTH"], 2)
            if bits > MOST_BITS:
                raise Unreadable(
                    f"memory {name} is too large to be taken for flip-flops ({MOST_BITS} bits in "
                    f"all). Is it a memory of the board? Write '{name}: U7.M' under 'storage:'"
                )
    return bits


class _Reading:
    def __init__(self, name: str, found: Mapping[str, Any], clock: str) -> None:
        self.name = name
        self.found = found
        self.gates: dict[int, Gate] = {}
        self.flops: dict[int, Flop] = {}
        self.rams: dict[str, Ram] = {}
        self.shown: dict[int, tuple[str, int, int]] = {}
        self.driven: dict[Bit, str] = {}
        self.names = {n: tuple(net["bits"]) for n, net in found["netnames"].items() if "$" not in n}
        self.inputs = self.ports("input")
        self.outputs = self.ports("output")
        self.bits = {bit for bits in self.inputs.values() for bit in bits}
        if clock and len(self.inputs.get(clock, ())) != 1:
            raise Unreadable(f"it has no input of one bit that is called '{clock}', its clock")
        self.clock = self.inputs[clock][0] if clock else None

    def ports(self, direction: str) -> dict[str, tuple[Bit, ...]]:
        found: dict[str, tuple[Bit, ...]] = {}
        for name, port in self.found["ports"].items():
            if port["direction"] == "inout":
                raise Unreadable(f"port {name} goes both ways")
            if port["direction"] == direction:
                found[name] = tuple(port["bits"])
                if direction == "input":
                    for bit in port["bits"]:
                        self.drive(bit, f"input {name}")
        return found

    def drive(self, bit: Bit, who: str) -> None:
        """Note who drives a bit: one at most."""
        if isinstance(bit, str):
            raise Unreadable(f"{who} drives a constant")
        if bit in self.driven:
            raise Unreadable(f"{who} and {self.driven[bit]} drive one wire")
        self.driven[bit] = who

    def module(self) -> Module:
        later: list[tuple[str, Mapping[str, Any]]] = []
        used = self.used()
        for name, cell in self.found["cells"].items():
            kind, at = cell["type"], cell["connections"]
            if kind in GATES:
                self.drive(at["Y"][0], name)
                self.gates[at["Y"][0]] = Gate(kind, tuple(at[pin][0] for pin in GATES[kind]))
            elif kind == "$mem_v2":
                self.ram(name, cell)
                later.append((name, cell))
            elif kind != "$scopeinfo" and not used.isdisjoint(at.get("Q", ("0",))):
                later.append((name, cell))
        order = self.ordered()
        for name, cell in later:  # what is made by gates is known now, and goes in no circle
            try:
                if name in self.rams:
                    self.write(name, cell)
                    continue
                self.flop(name, cell["type"], {k: v[0] for k, v in cell["connections"].items()})
            except Unreadable as error:
                line = _LINE.match(cell["attributes"].get("src", ""))
                raise Unreadable(f"{line[0]}: {error}" if line else str(error)) from None
        return Module(
            name=self.name,
            inputs=self.inputs,
            outputs=self.outputs,
            gates=self.gates,
            flops=self.flops,
            clock=self.clock if isinstance(self.clock, int) else None,
            names=self.names,
            order=order,
            rams=self.rams,
            shown=self.shown,
        )

    def used(self) -> set[Bit]:
        """Bits that have a name or go somewhere, and constants: a flip-flop of another bit is left
        over from a memory's write."""
        found: set[Bit] = {"0", *(bit for bits in self.names.values() for bit in bits)}
        for cell in self.found["cells"].values():
            ways = cell["port_directions"]
            found.update(
                b for pin, bits in cell["connections"].items() if ways[pin] == "input" for b in bits
            )
        return found

    def ram(self, name: str, cell: Mapping[str, Any]) -> None:
        """What a memory shows."""
        memory = memory_of(name, cell)
        self.rams[name] = Ram(memory=memory, rising=True)
        for port, (_, data) in enumerate(memory.reads):
            for place, bit in enumerate(data):
                self.drive(bit, name)
                if isinstance(bit, int):
                    self.shown[bit] = (name, port, place)

    def write(self, name: str, cell: Mapping[str, Any]) -> None:
        """How it is written.

        Raises:
            Unreadable: otherwise than a memory on a board can be.
        """
        memory = self.rams[name].memory
        if len(memory.writes) != 1:
            how = f"written at {len(memory.writes)} places" if memory.writes else "never written"
            raise Unreadable(f"memory {name} is {how}: memories are compared that one place writes")
        clock, turned = self.source(cell["connections"]["WR_CLK"][0])
        if self.clock is None or clock != self.clock:
            raise Unreadable(f"memory {name} is written by {self.called(clock, 'logic')}, no clock")
        if any(self.follows_clock(bit) for row in memory.writes[0] for bit in row):
            raise Unreadable(f"memory {name} takes in what follows from its own clock")
        rising = (int(cell["parameters"]["WR_CLK_POLARITY"], 2) == 1) is not turned
        self.rams[name] = Ram(memory=memory, rising=rising)

    def flop(self, name: str, kind: str, at: Mapping[str, Bit]) -> None:
        low: tuple[Bit, bool] | None = None
        high: tuple[Bit, bool] | None = None
        called = self.called(at.get("Q", "x"), name)
        if found := _CLEARED.match(kind):
            end = (at["R"], found[2] == "P")
            self.control(*end, called)
            low, high = (None, end) if found[3] == "1" else (end, None)
        elif found := _SET.match(kind):
            high, low = (at["S"], found[2] == "P"), (at["R"], found[3] == "P")
            self.set_and_clear(high, low, called)
        elif found := _PLAIN.match(kind):
            pass
        else:
            raise Unreadable(self.refused(kind, called))
        bit, turned = self.source(at["C"])
        if self.clock is None or bit != self.clock:
            hint = "the ports file names no clock" if self.clock is None else "it is not the clock"
            raise Unreadable(f"{called} is clocked by {self.called(bit, 'logic')}: {hint}")
        if self.follows_clock(at["D"]):
            raise Unreadable(
                f"{called} takes in what follows from its own clock, which is low before the edge "
                "and high behind it"
            )
        self.drive(at["Q"], name)
        assert isinstance(at["Q"], int), "a constant is not driven"
        rising = (found[1] == "P") is not turned
        self.flops[at["Q"]] = Flop(data=at["D"], rising=rising, low=low, high=high)

    def behind(self, bit: Bit) -> tuple[Bit, ...]:
        """What a bit is made of in one moment."""
        if isinstance(bit, int) and bit in self.gates:
            return self.gates[bit].inputs
        if isinstance(bit, int) and bit in self.shown:
            name, port, _ = self.shown[bit]
            return self.rams[name].memory.reads[port][0]
        return ()

    def follows_clock(self, bit: Bit) -> bool:
        """Whether the clock is among what a bit is made of."""
        stack, seen = [bit], {bit}
        while stack:
            one = stack.pop()
            if one == self.clock:
                return True
            ends = self.behind(one)
            new = [end for end in ends if end not in seen]
            seen.update(new)
            stack += new
        return False

    def refused(self, kind: str, called: str) -> str:
        """Why a cell is not taken."""
        if kind.startswith(("$_DLATCH", "$_SR_")):
            return f"{called} is a latch: only flip-flops are compared"
        if kind.startswith("$_ALDFF"):
            return f"{called} is loaded without the clock: only sets and clears may be so"
        if kind in ("$_TBUF_", "$tribuf"):
            return f"{called} is three-state: only levels that are always driven are compared"
        return f"{called} is a cell of kind {kind}, which is not compared"

    def control(self, bit: Bit, level: bool, called: str) -> None:
        """See that one input alone sets or clears."""
        if len(self.inputs_all(bit, level)) != 1:
            raise Unreadable(
                f"{called} is set or cleared by {self.called(bit, 'logic')} without the clock: "
                "only an input port may do so, since what is made by logic may pulse"
            )

    def set_and_clear(self, high: tuple[Bit, bool], low: tuple[Bit, bool], called: str) -> None:
        """See that an input each sets and clears; one of them may leave the other without effect,
        which is how yosys writes down which of the two wins."""
        one, two = self.inputs_all(*high), self.inputs_all(*low)
        for mine, other in ((one, two), (two, one)):
            without = frozenset((bit, not level) for bit, level in other)
            if len(other) == 1 and len(mine - without) == 1 and not mine & other:
                return
        for bit, level in (high, low):
            self.control(bit, level, called)

    def inputs_all(self, bit: Bit, level: bool) -> frozenset[tuple[int, bool]]:
        """The inputs, each with a level, which all together are what gives a bit its level; none
        if it is nothing as plain."""
        cone, inputs = self.cone(bit)
        if not inputs or len(inputs) > MOST_INPUTS:
            return frozenset()
        fitting: list[tuple[int, ...]] = []
        for row in itertools.product((0, 1), repeat=len(inputs)):
            levels: dict[Bit, int] = {"0": 0, "1": 1, **dict(zip(inputs, row, strict=True))}
            for one in cone:
                levels[one] = _level(self.gates[one], levels)
            if levels[bit] == level:
                fitting.append(row)
        fixed = [
            (one, bool(column[0]))
            for one, column in zip(inputs, zip(*fitting, strict=True), strict=False)
            if len(set(column)) == 1
        ]
        return frozenset(fixed if len(fitting) == 1 << (len(inputs) - len(fixed)) else ())

    def cone(self, bit: Bit) -> tuple[list[int], list[int]]:
        """The gates that a bit is made of, in order, and the inputs; neither if there is more."""
        order: list[int] = []
        inputs: list[int] = []
        stack, seen = [bit], set[Bit]()
        while stack:
            one = stack[-1]
            if one in seen or one in ("0", "1"):
                stack.pop()
            elif isinstance(one, int) and one in self.bits:
                inputs.append(one)
                seen.add(one)
            elif isinstance(one, int) and one in self.gates and len(seen) < MOST_GATES:
                before = [end for end in self.gates[one].inputs if end not in (*seen, "0", "1")]
                if not before:
                    order.append(one)
                    seen.add(one)
                stack += before
            else:
                return [], []
        return order, inputs

    def source(self, bit: Bit) -> tuple[Bit, bool]:
        """What a bit is behind buffers and inverters, and whether it is turned over."""
        turned = False
        while isinstance(bit, int) and bit in self.gates:
            gate = self.gates[bit]
            if gate.kind not in ("$_BUF_", "$_NOT_"):
                break
            turned ^= gate.kind == "$_NOT_"
            bit = gate.inputs[0]
        return bit, turned

    def called(self, bit: Bit, otherwise: str) -> str:
        """A bit's shortest name."""
        names = [name for name, bits in self.names.items() if bit in bits]
        return min(names, key=lambda name: (len(name), name), default=otherwise)

    def ordered(self) -> tuple[int, ...]:
        graph: nx.DiGraph[int] = nx.DiGraph()
        made = (*self.gates, *self.shown)
        graph.add_nodes_from(made)
        for bit in made:
            ends = [one for one in self.behind(bit) if isinstance(one, int) and one in graph]
            graph.add_edges_from((one, bit) for one in ends)
        try:
            return tuple(nx.topological_sort(graph))
        except nx.NetworkXUnfeasible:
            raise Unreadable("there is a loop without a flip-flop in it") from None


def _level(gate: Gate, at: Mapping[Bit, int]) -> int:
    """What a gate shows, in numbers."""
    a, *others = (at[end] for end in gate.inputs)
    b = others[0] if others else a
    match gate.kind:
        case "$_BUF_":
            return a
        case "$_NOT_":
            return 1 - a
        case "$_AND_":
            return a & b
        case "$_NAND_":
            return 1 - (a & b)
        case "$_OR_":
            return a | b
        case "$_NOR_":
            return 1 - (a | b)
        case "$_XOR_":
            return a ^ b
        case "$_XNOR_":
            return 1 - (a ^ b)
        case "$_ANDNOT_":
            return a & (1 - b)
        case "$_ORNOT_":
            return a | (1 - b)
        case "$_MUX_":
            return b if others[1] else a
        case kind:
            raise AssertionError(f"no gate: {kind}")


def bits_of(module: Module) -> Iterator[tuple[str, int, Bit]]:
    """All named bits: name, place, bit."""
    for name, bits in module.names.items():
        for place, bit in enumerate(bits):
            yield name, place, bit
