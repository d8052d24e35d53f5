"""The board inside a design for an FPGA: whether it does there what the Machine does.

Outside the board are its inputs and the counting of clocks. So what stands for a control may be
anything from tick to tick, and a tick takes one clock: ``go`` is high in it, and a memory shows at
once what the design has it show a clock later. The design does the same in so many clocks if

- it leaves a tick enough of them: one for each memory that is read after another, and the tick's;
- nothing of the board moves while ``go`` is low, and no control does, once ticks are counted.

All three are asked here. That ``go`` comes in the last clock of a tick, and controls are handed
over as they should, is for the tests of `export.fpga` to say.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from breadproof.export.fpga.design import Design
from breadproof.export.lowering.board import Lowered
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.mapped import read_design
from breadproof.verify.equal.matching import Unmatched, matched
from breadproof.verify.equal.proof import Equality, Tell, equal_circuit
from breadproof.verify.equal.readback import Bit, Circuit, Unreadable, circuit_of
from breadproof.verify.equal.tick import evaluated
from breadproof.verify.equal.yosys import NoReader, ReadingFailed
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Deadline, Solver


def equal_inside(
    machine: Machine,
    lowered: Lowered,
    design: Design,
    seconds: float,
    tell: Tell = lambda text: None,
) -> Equality:
    """Whether the board in a design does what the Machine does (see above, and `miter`).

    Raises:
        SolversDisagree: two solvers disagree; no verdict is given.
    """
    deadline = Deadline(seconds)
    tell("reading the design")
    try:
        inside = _Inside(lowered, design, deadline.left)
        moving, fixed = inside.circuit("1"), inside.fixed(machine)
        why = inside.late(moving) or inside.moves(machine, deadline)
    except (NoReader, ReadingFailed, Unreadable, Unmatched) as error:
        return Equality(verdict="undecided", because=str(error))
    if why:
        return Equality(verdict="undecided", because=why)
    return equal_circuit(machine, lowered, moving, {}, deadline.left, tell, fixed)


@dataclass(slots=True)
class _Inside:
    lowered: Lowered
    design: Design
    module: dict[str, Any]
    clock: str

    def __init__(self, lowered: Lowered, design: Design, seconds: float) -> None:
        self.lowered, self.design = lowered, design
        plain = read_design(design.text, seconds)
        self.clock = plain.clock()
        self.module = plain.plain()

    def bits(self, path: str) -> list[Bit]:
        """The bits of a name of the design."""
        if path not in self.module["netnames"]:
            raise Unreadable(f"the design has no '{path}'")
        found: list[Bit] = self.module["netnames"][path]["bits"]
        return found

    def controls(self) -> dict[str, list[Bit]]:
        """The bits of what stands for controls, by attribute."""
        attributes = {name for bits in self.lowered.controls.values() for name, _ in bits}
        return {name: self.bits(self.design.names.get(name, name)) for name in attributes}

    def fixed(self, machine: Machine) -> dict[int, int]:
        """The levels of controls that never move, by leaf.

        Raises:
            Unreadable: one of them has another level in the design, or moves there.
        """
        bits, found = self.controls(), dict[int, int]()
        for name, leaves in machine.controls.items():
            for leaf, (attribute, place) in zip(leaves, self.lowered.controls[name], strict=True):
                level = self.design.fixed.get((attribute, place))
                if level is None:
                    continue
                if bits[attribute][place] != str(level):
                    raise Unreadable(f"{name} is not fixed so in the design")
                found[leaf] = level
        return found

    def circuit(self, go: Bit) -> Circuit:
        """The board with ``go`` held at a level, its controls as inputs, read at once."""
        controls = self.controls()
        free = {
            bit
            for name, bits in controls.items()
            for place, bit in enumerate(bits)
            if (name, place) not in self.design.fixed
        }
        (moves,) = self.bits(self.design.go)
        cells = self.module["cells"]
        shown = {
            bit
            for cell in cells.values()
            if cell["type"] == "$mem_v2"
            for bit in cell["connections"]["RD_DATA"]
        }
        names = {f"{self.design.board}.{one}": one for one in self.lowered.memories.values()}
        kept: dict[str, Any] = {}
        for name, cell in cells.items():
            at = cell["connections"]
            out = (at.get("Q") or at.get("Y") or [None])[0]
            if out == moves:
                continue
            if cell["type"] == "$_DFF_P_" and out in free:
                free.discard(out)
                continue
            if cell["type"] == "$_DFF_P_" and at["D"][0] in shown:
                cell = _follows(out, at["D"][0])
            kept[names.get(name, name)] = cell
        if free:
            raise Unreadable("a control is no register in the design")
        kept["$go"] = _follows(moves, go)
        return circuit_of(self.with_ports(kept, controls), self.clock)

    def with_ports(
        self, cells: Mapping[str, Any], controls: Mapping[str, list[Bit]]
    ) -> dict[str, Any]:
        """The module with the board's own ports and names."""
        # What is fixed is a constant; at its place in the port is a bit that nobody reads.
        spare = itertools.count(1 + max(_numbers(cells)))
        places = {name: {"bits": self.bits(path)} for name, path in self.design.names.items()}
        ports = self.module["ports"] | {
            name: {
                "direction": "input",
                "bits": [next(spare) if isinstance(bit, str) else bit for bit in bits],
            }
            for name, bits in controls.items()
        }
        for name, place in places.items():
            if name not in controls:
                ports = {**ports, name: {"direction": "output", **place}}
        return {"cells": cells, "ports": ports, "netnames": self.module["netnames"] | places}

    def late(self, circuit: Circuit) -> str:
        """Why the clocks of a tick do not do for its reads, in words."""
        depth: dict[Bit, int] = {}

        def deepest(bits: Iterable[Bit]) -> int:
            return max((depth.get(bit, 0) for bit in bits), default=0)

        most = 0
        for one in circuit.order:
            if isinstance(one, int):
                depth[one] = deepest(circuit.gates[one].inputs)
                continue
            address, data = circuit.memories[one[0]].reads[one[1]]
            most = max(most, deepest(address) + 1)
            depth |= dict.fromkeys(data, deepest(address) + 1)
        if most < self.design.clocks:
            return ""
        return f"{most} memories are read one after the other in {self.design.clocks} clocks"

    def moves(self, machine: Machine, deadline: Deadline) -> str:
        """What may move although ``go`` is low, in words."""
        still = self.circuit("0")
        match = matched(machine, self.lowered, still, {}, fixed=self.fixed(machine))
        held = [bit for one in match.held for bit in (one.level, one.known) if bit is not None]
        own = [*match.stores.values(), *match.tick, *held]
        whole = circuit_of(self.module, self.clock)
        (go,), (running,) = self.bits(self.design.go), self.bits(self.design.running)
        levels = [bit for bits in self.controls().values() for bit in bits]

        def writes(at: Callable[[Bit], int]) -> list[int]:
            ports = [port for name in match.memories for port in still.memories[name].writes]
            return [at(bit) for enables, _, _ in ports for bit in enables]

        board = _moving(still, own, writes, lambda at: [])
        controls = _moving(whole, levels, lambda at: [], lambda at: [at(running), at(go) ^ 1])
        for what, (solver, question) in (("the board", board), ("a control", controls)):
            answer = refuted(solver, [question], deadline.left)
            if answer != "unsat":
                return f"{what} may move in clocks that are not the last of a tick" + (
                    "" if answer == "sat" else f": {solver.reason}"
                )
        return ""


def _numbers(cells: Mapping[str, Any]) -> Iterator[int]:
    """All bits that cells are at."""
    for cell in cells.values():
        for bits in cell["connections"].values():
            yield from (bit for bit in bits if isinstance(bit, int))


def _follows(out: Bit, level: Bit) -> dict[str, Any]:
    return {"type": "$_BUF_", "connections": {"A": [level], "Y": [out]}}


def _moving(
    circuit: Circuit,
    registers: Iterable[Bit],
    others: Callable[[Callable[[Bit], int]], list[int]],
    when: Callable[[Callable[[Bit], int]], list[int]],
) -> tuple[Solver, int]:
    """A solver, and what is high in it if one of the registers moves, or one of others is high."""
    aig = Aig()
    known = {bit: aig.input() for bit in (*circuit.registers, *circuit.inputs)}
    levels = evaluated(
        aig, circuit, known, lambda name, _: [aig.input()] * circuit.memories[name].width
    )
    solver = Solver(aig)
    for literal in when(levels.at):
        solver.require(literal)
    changes = [
        aig.xor(levels.at(bit), levels.at(circuit.registers[bit].following))
        for bit in registers
        if isinstance(bit, int)
    ]
    return solver, aig.or_([*changes, *others(levels.at)])
