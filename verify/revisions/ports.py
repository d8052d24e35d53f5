"""What a ports file means on a board and a module: who follows whom, and what is compared."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.order import evaluation_order
from breadproof.specs.netlist.model import NetlistNames, written
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.portmap import Port, PortMap
from breadproof.specs.reading.yamltree import Text, near
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.revisions.hardware import Hardware
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links

FLOAT_SECONDS = 20.0
"""Longer it is not asked whether a net that an input follows may float."""
_RANGE = re.compile(r"(.+)\[(\d+)(?::(\d+))?\]\Z")

Bit = tuple[int | str, bool]
"""A net's number, or a lamp's name; whether it is turned over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """``module`` is the module's machine, with a lamp for each bit that a lamp of the board shows.

    ``clock`` is the control that alone moves the clock, if it has one bit; ``clock_net`` the net.
    Either is empty if there is none.
    """

    links: Links
    items: tuple[Item, ...]
    module: Machine
    clock: str
    clock_net: str


def mapped(portmap: PortMap, board: Machine, hardware: Hardware, problems: Problems) -> Mapped:
    """The meaning of a ports file; what is wrong with it is noted."""
    return _Mapping(portmap, board, hardware, problems).done()


@dataclass(slots=True)
class _Mapping:
    portmap: PortMap
    board: Machine
    hardware: Hardware
    problems: Problems
    names: NetlistNames = field(init=False)
    lamps: dict[str, int] = field(default_factory=dict)
    clock_nets: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.names = NetlistNames(self.board.netlist)

    def done(self) -> Mapped:
        reads = dict(self.reads())
        items = tuple(self.items())
        store = dict(self.stores())
        machine = self.hardware.machine
        if self.lamps:
            machine = replace(machine, lamps=self.lamps)
            machine = replace(machine, order=evaluation_order(machine))
        clock = next(iter(self.clock_nets), None)
        return Mapped(
            links=Links(leaves={"store": store}, memories=tuple(self.memories()), reads=reads),
            items=items,
            module=machine,
            clock="" if clock is None else self.mover(clock),
            clock_net="" if clock is None else self.board.netlist.nets[clock].name,
        )

    def bad(self, text: Text, message: str, hint: str = "") -> None:
        self.problems.error("ports-unknown", message, text.span, hint=hint)

    # inputs -----------------------------------------------------------------------------------

    def reads(self) -> Iterator[tuple[int, tuple[int, bool]]]:
        """What each bit of each input follows."""
        inputs = self.hardware.machine.controls
        clock = self.portmap.clock
        given = [*self.portmap.inputs, *([clock] if clock is not None else [])]
        for name in inputs:
            ports = [port for port in given if port.name.value == name]
            if not ports:
                self.problems.error(
                    "ports-incomplete",
                    f"the ports file does not say what the input '{name}' follows",
                    self.portmap.span,
                    hint=f"Write '{name}: NET' under 'inputs:'.",
                )
            for again in ports[1:]:
                self.bad(again.name, f"'{name}' is given twice", "Leave out one of the two.")
        for port in given:
            leaves = inputs.get(port.name.value)
            if leaves is None:
                hint = near(port.name.value, [*inputs]) or f"It has {', '.join(inputs) or 'none'}."
                self.bad(port.name, f"the module has no input '{port.name.value}'", hint)
                continue
            bits = self.bits(port, len(leaves), lamps=False)
            if port is clock:
                self.clock_nets = [int(net) for net, _ in bits]
            for leaf, (net, turned) in zip(leaves, bits, strict=False):
                if self.decided(port, int(net)):
                    yield leaf, (self.board.nets[int(net)].level, turned)

    def decided(self, port: Port, net: int) -> bool:
        """Whether controls alone decide a net, so that it is settled as soon as they are."""
        graph, level = self.board.graph, self.board.nets[net]
        name = self.board.netlist.nets[net].name
        for node in graph.cone([level.level, level.known]):
            leaf = graph.leaf_of(node)
            if leaf is None or leaf.kind in ("control", "open") or (leaf.kind, leaf.name) == (
                "free", name,
            ):  # fmt: skip
                continue
            self.bad(
                port.places[0],
                f"{written(name)} follows from more than switches, buttons, oscillators and input "
                f"ports ({written(leaf.name)})",
                "An input of the module follows a net that these alone decide.",
            )
            return False
        if level.known != Graph.TRUE and not self.never_floats(level.known):
            self.bad(
                port.places[0],
                f"{written(name)} may float, and then says nothing to an input",
                "Give it a resistor to the supply or to ground, or let a control drive it.",
            )
            return False
        return True

    def never_floats(self, known: int) -> bool:
        frames = Frames(self.board, checks=False)
        moment = frames.first()
        solver = Solver(frames.aig)
        for literal in frames.take_constraints():
            solver.require(literal)
        floats = moment.rounds[-1].levels[known] ^ 1
        return refuted(solver, [floats], Deadline(FLOAT_SECONDS).left) == "unsat"

    def mover(self, net: int) -> str:
        """The control that alone decides a net, if it has one bit."""
        seen = closure(self.board, [self.board.nets[net].level])[0]
        found = [n for n, leaves in self.board.controls.items() if seen.intersection(leaves)]
        return found[0] if len(found) == 1 and len(self.board.controls[found[0]]) == 1 else ""

    # outputs ----------------------------------------------------------------------------------

    def items(self) -> Iterator[Item]:
        """What is compared."""
        ports = self.hardware.ports
        for port in self.portmap.outputs:
            name = port.name.value
            nets = ports.get(name)
            if nets is None:
                hint = near(name, [*ports]) or f"It has {', '.join(ports) or 'none'}."
                self.bad(port.name, f"the module has no output '{name}'", hint)
                continue
            bits = self.bits(port, len(nets), lamps=True)
            if len(bits) == len(nets):
                yield from self.output(name, bits, nets)

    def output(self, name: str, bits: Sequence[Bit], nets: Sequence[int]) -> Iterator[Item]:
        """One item, or one a bit where lamps show it or not all bits are turned over alike."""
        turned = {turn for _, turn in bits}
        if len(turned) == 1 and all(isinstance(what, int) for what, _ in bits):
            yield Item(
                name=name, kind="port", old=tuple(what for what, _ in bits), new=tuple(nets),
                inverted=turned == {True},
            )  # fmt: skip
            return
        for place, ((what, turn), net) in enumerate(zip(bits, nets, strict=True)):
            called = f"{name}[{len(bits) - 1 - place}]" if len(bits) > 1 else name
            if isinstance(what, int):
                yield Item(name=called, kind="port", old=(what,), new=(net,), inverted=turn)
                continue
            machine = self.hardware.machine
            level = machine.nets[net].level
            self.lamps[called] = machine.graph.not_(level) if turn else level
            yield Item(name=called, kind="lamp", old=(what,), new=(called,))

    # names ------------------------------------------------------------------------------------

    def bits(self, port: Port, width: int, *, lamps: bool) -> list[Bit]:
        """What a port is, bit by bit, most significant first; no bits if something is wrong."""
        found: list[Bit] = []
        for text in port.places:
            turned = text.value.startswith("!")
            name = self.names.called(text.value.removeprefix("!"))
            if lamps and name in self.board.lamps:
                found.append((name, turned))
                continue
            nets = self.nets(name)
            if nets is None:
                known = [*self.names.singles, *self.names.vectors]
                known += [*self.board.lamps] if lamps else []
                what, said = "net or lamp" if lamps else "net", written(name)
                hint = near(said, [written(one) for one in known])
                self.bad(text, f"'{said}' is no {what} of the board", hint)
                return []
            found += [(net, turned) for net in nets]
        if len(found) != width:
            self.bad(
                port.name,
                f"'{port.name.value}' has {width} bits in the module, {len(found)} here",
                "Name as many nets, most significant first.",
            )
            return []
        return found

    def nets(self, name: str) -> tuple[int, ...] | None:
        """The nets of a net, a vector or a part of one, most significant first."""
        whole = self.names.nets_of(name)
        if whole is not None:
            return whole
        part = _RANGE.match(name)
        vector = self.names.vectors.get(part[1]) if part else None
        if part is None or vector is None:
            return None
        left, right = int(part[2]), int(part[3] or part[2])
        step = 1 if vector.left <= vector.right else -1
        numbers = list(range(vector.left, vector.right + step, step))
        if left not in numbers or right not in numbers:
            return None
        first, last = numbers.index(left), numbers.index(right)
        return vector.nets[first : last + 1] or None

    # storage ----------------------------------------------------------------------------------

    def stores(self) -> Iterator[tuple[int, int]]:
        """Leaves of the module with those of the board whose content they begin with."""
        by_label = {store.label: store.leaf for store in self.board.stores}
        registers = self.hardware.stores
        for port in self.portmap.storage:
            if port.name.value in self.hardware.module.rams:
                continue
            leaves = registers.get(port.name.value)
            if leaves is None:
                hint = near(port.name.value, [*registers])
                hint = hint or f"It has {', '.join(registers) or 'none'}."
                self.bad(port.name, f"the module has no register '{port.name.value}'", hint)
                continue
            labels = [label for text in port.places for label in self.labels(text, by_label)]
            if len(labels) != len(leaves):
                self.bad(
                    port.name,
                    f"'{port.name.value}' has {len(leaves)} bits in the module, {len(labels)} here",
                    "Name as many bits of storage, most significant first.",
                )
                continue
            yield from zip(leaves, (by_label[label] for label in labels), strict=True)

    def memories(self) -> Iterator[tuple[int, int]]:
        """Memories of the board with those of the module that hold the same words."""
        known = {unit.label: number for number, unit in enumerate(self.board.memories)}
        for number, unit in enumerate(self.hardware.machine.memories):
            for port in self.portmap.storage:
                if port.name.value != unit.storage:
                    continue
                (text,) = port.places
                mine = known[self.names.called(text.value)]
                board = self.board.memories[mine]
                if board.contents is not None:
                    self.bad(text, f"what {text.value} holds is given, and it is never written")
                elif (board.words, board.bits) != (unit.words, unit.bits):
                    self.bad(
                        port.name,
                        f"'{unit.storage}' has {unit.words:,} words of {unit.bits} bits in the "
                        f"module, {text.value} has {board.words:,} of {board.bits}",
                        "Memories are compared whole.",
                    )
                else:
                    yield mine, number

    def labels(self, text: Text, by_label: dict[str, int]) -> Iterator[str]:
        """``U3.R[3]``, ``U3.R[2]`` … of a storage or a part of it."""
        part = _RANGE.match(text.value)
        base = self.names.called(part[1] if part else text.value)
        own = [label for label in by_label if label.rpartition("[")[0] == base]
        if not own:
            known = list(dict.fromkeys(label.rpartition("[")[0] for label in by_label))
            known, said = [written(label) for label in known], written(base)
            hint = near(said, known) or f"It has {', '.join(known) or 'none'}."
            self.bad(text, f"'{said}' is no storage of the board", hint)
            return
        left, right = (int(part[2]), int(part[3] or part[2])) if part else (len(own) - 1, 0)
        step = 1 if left <= right else -1
        for bit in range(left, right + step, step):
            if f"{base}[{bit}]" not in by_label:
                self.bad(text, f"'{written(base)}' has no bit {bit}", f"It has {len(own)}.")
                return
            yield f"{base}[{bit}]"
