"""From yosys's JSON to a circuit: gates, registers and memories between numbered bits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from breadproof.verify.equal.contents import MARK, taken_out
from breadproof.verify.equal.yosys import Language, gates

Bit = int | str
"""A bit's number in yosys's JSON, or a constant "0", "1", "x", "z"."""

GATES: Mapping[str, tuple[str, ...]] = {
    "$_BUF_": ("A",),
    "$_NOT_": ("A",),
    "$_AND_": ("A", "B"),
    "$_NAND_": ("A", "B"),
    "$_OR_": ("A", "B"),
    "$_NOR_": ("A", "B"),
    "$_XOR_": ("A", "B"),
    "$_XNOR_": ("A", "B"),
    "$_ANDNOT_": ("A", "B"),
    "$_ORNOT_": ("A", "B"),
    "$_MUX_": ("A", "B", "S"),
}
"""One-bit gates of yosys's internal cell library, and their inputs; the output is Y."""


class Unreadable(Exception):
    """The text holds what is not read back here, or what no hardware of one clock is."""


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate and the bits at its inputs, in the order of `GATES`."""

    kind: str
    inputs: tuple[Bit, ...]


@dataclass(frozen=True, slots=True)
class Register:
    """A register of one bit: what it takes at each tick, and its level at power-up (None: any)."""

    following: Bit
    initial: int | None


@dataclass(frozen=True, slots=True)
class Memory:
    """A memory that is read at once and written at the tick.

    ``reads``: (address, data), ``writes``: (enable of each bit, address, data) of each port, bits
    least significant first. ``words`` are what it holds at power-up, None if that is not said.
    """

    size: int
    width: int
    reads: tuple[tuple[tuple[Bit, ...], tuple[Bit, ...]], ...]
    writes: tuple[tuple[tuple[Bit, ...], tuple[Bit, ...], tuple[Bit, ...]], ...]
    words: tuple[int, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """Hardware with one clock.

    ``inputs`` are the bits of input ports, ``order`` all outputs of gates and of read ports
    (memory, port), each after what it is made of; ``ports`` and ``names`` map ports and all names
    to their bits, least significant first, names below the top with the path before them
    (``U1.R``).
    """

    inputs: frozenset[int]
    ports: dict[str, tuple[Bit, ...]]
    gates: dict[int, Gate]
    registers: dict[int, Register]
    memories: dict[str, Memory]
    order: tuple[int | tuple[str, int], ...]
    names: dict[str, tuple[Bit, ...]]


def read_back(
    text: str, top: str, clock: str, seconds: float, language: Language = "verilog"
) -> Circuit:
    """The circuit in a text; ``clock`` is the port at whose rising edge all registers advance.

    Raises:
        NoReader, ReadingFailed: see `yosys.gates`.
        UnreadableContent: see `contents.taken_out`.
        Unreadable: see there.
    """
    contents: tuple[tuple[int, ...], ...] = ()
    if language == "verilog":
        taken = taken_out(text)
        text, contents = taken.text, taken.contents
    return circuit_of(gates(text, top, seconds, language), clock, contents)


def circuit_of(
    module: Mapping[str, Any], clock: str, contents: Sequence[tuple[int, ...]] = ()
) -> Circuit:
    """The circuit of a module in yosys's JSON, with the contents that were taken out of it."""
    return _Reading(module, clock, contents).circuit()


def memory_of(name: str, cell: Mapping[str, Any]) -> Memory:
    """The memory that a cell of kind ``$mem_v2`` is; of its contents nothing is said.

    Raises:
        Unreadable: it is read at a clock, or written at none.
    """
    number = {
        key: int(value, 2) for key, value in cell["parameters"].items() if set(value) <= {*"01"}
    }
    at, width, lines = cell["connections"], number["WIDTH"], number["ABITS"]
    reads, writes = number["RD_PORTS"], number["WR_PORTS"]
    if number["OFFSET"] or (reads and number["RD_CLK_ENABLE"]):
        raise Unreadable(f"memory {name} is not read at once")
    if writes and number["WR_CLK_ENABLE"] != (1 << writes) - 1:
        raise Unreadable(f"memory {name} is not written at a clock")

    def part(pin: str, port: int, size: int) -> tuple[Bit, ...]:
        return tuple(at[pin][port * size : (port + 1) * size])

    return Memory(
        size=number["SIZE"],
        width=width,
        reads=tuple(
            (part("RD_ADDR", port, lines), part("RD_DATA", port, width)) for port in range(reads)
        ),
        writes=tuple(
            (part("WR_EN", port, width), part("WR_ADDR", port, lines), part("WR_DATA", port, width))
            for port in range(writes)
        ),
        words=None,
    )


class _Reading:
    def __init__(
        self, module: Mapping[str, Any], clock: str, contents: Sequence[tuple[int, ...]]
    ) -> None:
        self.module = module
        self.names = {name: tuple(net["bits"]) for name, net in module["netnames"].items()}
        port = module["ports"].get(clock)  # what has no storage has no clock
        self.clock: Bit | None = None if port is None else port["bits"][0]
        self.contents = contents
        self.driven: dict[Bit, str] = {}
        self.gates: dict[int, Gate] = {}
        self.registers: dict[int, Register] = {}
        self.memories: dict[str, Memory] = {}

    def circuit(self) -> Circuit:
        inputs: set[int] = set()
        for name, port in self.module["ports"].items():
            if port["direction"] == "inout":
                raise Unreadable(f"port {name} goes both ways")
            if port["direction"] == "input":
                for bit in port["bits"]:
                    self.drive(bit, f"port {name}")
                    inputs.add(bit)
        initial = self.initial()
        for name, cell in self.module["cells"].items():
            self.cell(name, cell, initial)
        return Circuit(
            inputs=frozenset(inputs),
            ports={name: tuple(port["bits"]) for name, port in self.module["ports"].items()},
            gates=self.gates,
            registers=self.registers,
            memories=self.memories,
            order=self.ordered(),
            names=self.names,
        )

    def drive(self, bit: Bit, who: str) -> None:
        """Note who drives a bit: one at most."""
        if isinstance(bit, str):
            raise Unreadable(f"{who} drives a constant")
        if bit in self.driven:
            raise Unreadable(f"{who} and {self.driven[bit]} drive one wire")
        self.driven[bit] = who

    def initial(self) -> dict[int, int]:
        """Levels at power-up, by bit."""
        found: dict[int, int] = {}
        for name, net in self.module["netnames"].items():
            digits = net.get("attributes", {}).get("init")
            if digits is None:
                continue
            for bit, digit in zip(net["bits"], reversed(digits), strict=False):
                if isinstance(bit, str) or digit not in "01":
                    continue
                if found.setdefault(bit, int(digit)) != int(digit):
                    raise Unreadable(f"{name} powers up in two ways")
        return found

    def cell(self, name: str, cell: Mapping[str, Any], initial: Mapping[int, int]) -> None:
        kind, at = cell["type"], cell["connections"]
        if kind in GATES:
            self.drive(at["Y"][0], name)
            self.gates[at["Y"][0]] = Gate(kind, tuple(at[pin][0] for pin in GATES[kind]))
        elif kind == "$_DFF_P_":
            if at["C"][0] != self.clock:
                raise Unreadable(f"{self.called(at['Q'][0], name)} has another clock")
            self.drive(at["Q"][0], name)
            self.registers[at["Q"][0]] = Register(at["D"][0], initial.get(at["Q"][0]))
        elif kind == "$mem_v2":
            self.memory(name, cell)
        elif kind != "$scopeinfo":
            raise Unreadable(f"a cell of kind {kind}: {name}")

    def called(self, bit: Bit, otherwise: str) -> str:
        """A bit's shortest name."""
        names = [name for name, bits in self.names.items() if bit in bits and "$" not in name]
        return min(names, key=lambda name: (len(name), name), default=otherwise)

    def memory(self, name: str, cell: Mapping[str, Any]) -> None:
        memory = memory_of(name, cell)
        rising = int(cell["parameters"]["WR_CLK_POLARITY"], 2) == (1 << len(memory.writes)) - 1
        if memory.writes and ({*cell["connections"]["WR_CLK"]} != {self.clock} or not rising):
            raise Unreadable(f"memory {name} has another clock")
        for bit in cell["connections"]["RD_DATA"]:
            self.drive(bit, name)
        self.memories[name] = replace(memory, words=self.words(cell, memory.size, memory.width))

    def words(self, cell: Mapping[str, Any], size: int, width: int) -> tuple[int, ...] | None:
        """What a memory holds at power-up, if all of it is said."""
        mark = cell["attributes"].get(MARK)
        if mark is not None:
            return self.contents[int(mark, 2)]
        digits = cell["parameters"]["INIT"]
        if len(digits) != size * width or set(digits) - {*"01"}:
            return None
        ends = range(len(digits), 0, -width)
        return tuple(int(digits[end - width : end], 2) for end in ends)

    def ordered(self) -> tuple[int | tuple[str, int], ...]:
        """All that follows from other bits at once, each after what it is made of."""
        reads: dict[int, tuple[str, int]] = {
            bit: (name, port)
            for name, memory in self.memories.items()
            for port, (_, data) in enumerate(memory.reads)
            for bit in data
            if not isinstance(bit, str)
        }
        done: set[int | tuple[str, int]] = set()
        begun: set[int | tuple[str, int]] = set()
        order: list[int | tuple[str, int]] = []
        roots: list[int | tuple[str, int]] = [*self.gates, *dict.fromkeys(reads.values())]
        for root in roots:
            stack = [root]
            while stack:
                one = stack[-1]
                if one in done:
                    stack.pop()
                    continue
                needs = [need for need in self.needs(one, reads) if need not in done]
                if not needs:
                    done.add(one)
                    order.append(one)
                    stack.pop()
                    continue
                if one in begun:
                    raise Unreadable("there is a loop without a register in it")
                begun.add(one)
                stack += needs
        return tuple(order)

    def needs(
        self, one: int | tuple[str, int], reads: Mapping[int, tuple[str, int]]
    ) -> list[int | tuple[str, int]]:
        """The gates and read ports that one needs."""
        if isinstance(one, tuple):
            bits = self.memories[one[0]].reads[one[1]][0]
        else:
            bits = self.gates[one].inputs
        found: list[int | tuple[str, int]] = []
        for bit in bits:
            if isinstance(bit, str):
                continue
            if bit in self.gates:
                found.append(bit)
            elif bit in reads:
                found.append(reads[bit])
        return found
