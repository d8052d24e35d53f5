"""A script as a test in Python for the Amaranth module that is exported; it needs Amaranth alone.

It runs the same rounds as `bench_player`, and is run by ``python FILE`` or by a test runner.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.export.stimulus.circuit import Circuit, circuit_of, plain_nodes
from breadproof.export.stimulus.controls import resting
from breadproof.export.stimulus.player import MAX_ROUNDS
from breadproof.export.stimulus.program import Instruction, Op
from breadproof.export.stimulus.setting import Setting
from breadproof.export.verilog import module_name
from breadproof.specs.machine.graph import Kind

_BIT = re.compile(r"(.+)\[(\d+)\]")
WIDTH = 96
"""Longer lines of the script's own texts are cut in comments."""

_BOARD = '''\
class NotQuiet(AssertionError):
    """The board does not get quiet."""


class Board:
    """The board on a bench: `act` runs rounds until one changes nothing."""

    def __init__(self):
        self.top = {top}()
        self.domain = ClockDomain("sync", reset_less=True)
        module = Module()
        module.domains += self.domain
        module.submodules.top = self.top
        self.simulator = Simulator(module)
        self.step, self.round = -1, 0
        self.moved = self.finished = False
        self.kept = {kept}
        top = self.top
        self.stores = Cat({stores})
        self.nets = Cat({nets})
        self.writers = [{writers}]

    def set(self, signal, level):
        """Set a bit of a control."""
        if self.ctx.get(signal) != level:
            self.ctx.set(signal, level)
            self.moved = True

    def tick(self):
        """One edge of the clock."""
        self.ctx.set(self.domain.clk, 1)
        self.ctx.set(self.domain.clk, 0)

    def writes(self):
        """Whether a memory takes another word at the next edge."""
        get = self.ctx.get
        for port, memory in self.writers:
            if get(port.en) and get(port.addr) < memory.depth:
                if get(memory.data[get(port.addr)]) != get(port.data):
                    return True
        return False

    def act(self):
        """A step, if a control was moved."""
        if self.moved or self.step < 0:
            self.run()

    def run(self):
        """One step."""
        top, get = self.top, self.ctx.get
        self.step += 1
        self.moved = False
        self.remember()
        for number in range({rounds}):
            for _ in range({ticks} - 1):
                self.tick()
            self.gather()
            more = self.writes(){unsettled}
            before = get(self.stores)
            self.tick()
            self.round += 1
            if not more and get(self.stores) == before:
                self.look()
                return
        raise NotQuiet(f"step {{self.step}}: something still changes")
'''


def amaranth_bench(setting: Setting, script: str) -> str:
    """The test; ``script`` is the name of the script's file."""
    return _Writer(
        setting=setting, script=script, circuit=circuit_of(setting.sights, setting.program)
    ).text()


def _literal(text: str) -> str:
    """A text as it stands in a comment or a string of one line."""
    return "".join(c if c.isprintable() else "?" for c in text)


@dataclass(slots=True)
class _Writer:
    setting: Setting
    script: str
    circuit: Circuit

    def place(self, place: int) -> str:
        """A bit of the row as an Amaranth value."""
        lowered, row = self.setting.generated.lowered, self.setting.sights.row
        names = [*row.nets, *row.lamps, *row.stores]
        if place < len(row.nets):
            return _at(lowered.nets[place])
        if place < len(row.nets) + len(row.lamps):
            return _at(lowered.lamps[names[place]])
        if place < len(names):
            storage, _, bit = names[place].removesuffix("]").rpartition("[")
            return f"top.{lowered.storage[storage][0]}[{bit}]"
        for label, other in row.writes.items():
            if other == place:
                return f"top.{lowered.writes[label]}.en"
        control = [name for name, first in row.controls.items() if first <= place][-1]
        attribute, number = lowered.controls[control][place - row.controls[control]]
        return f"top.{attribute}[{number}]"

    def node(self, node: int) -> str:
        if node <= 1:
            return str(node)
        place = self.setting.sights.places.get(node)
        if place is not None:
            return f"get({self.place(place)})"
        if self.setting.sights.graph.kinds[node] is Kind.LEAF:
            return f"self.kept[{node}]"
        return f"n{node}"

    def value(self, kind: Kind, args: tuple[int, ...]) -> str:
        match kind:
            case Kind.NOT:
                return f"1 - {self.node(args[0])}"
            case Kind.AND | Kind.OR | Kind.XOR:
                sign = {Kind.AND: " & ", Kind.OR: " | ", Kind.XOR: " ^ "}[kind]
                return sign.join(map(self.node, args))
            case Kind.READ:
                unit = self.setting.machine.memories[args[0]]
                memory = f"top.{self.setting.generated.lowered.memories[unit.label]}"
                address = ", ".join(map(self.node, args[2:]))
                return f"word({memory}, [{address}], {args[1]})"
            case Kind.CONST | Kind.LEAF | Kind.WAS:
                raise AssertionError("no such node stands for itself")

    # the text ---------------------------------------------------------------------------------

    def text(self) -> str:
        lowered = self.setting.generated.lowered
        module = module_name(self.setting.machine.netlist)
        lines = [
            f'"""Test of {module}, from the script {_literal(self.script)}.',
            "",
            f"Beside it stands {module}.py, which 'breadproof export --to amaranth' writes.",
            '"""',
            "",
            "import unittest",
            "",
            "from amaranth.hdl import Cat, ClockDomain, Module",
            "from amaranth.sim import Simulator",
            "",
            f"from {module} import {lowered.top}",
            "",
            "",
            self.board(),
            *(f"    {line}" if line else "" for line in self.conditions()),
            "",
            "",
            "class ScriptTest(unittest.TestCase):",
            f'    """{_literal(self.script)}"""',
            "",
            "    def test_script(self):",
            "        board = Board()",
            "",
            "        async def play(ctx):",
            "            board.ctx = ctx",
            "            top = board.top",
            *(f"            {line}" for line in self.rest()),
            *(f"            {line}" for line in self.script_lines()),
            "",
            "        board.simulator.add_testbench(play)",
            "        board.simulator.run()",
            "        self.assertTrue(board.finished)",
            "",
            "",
            'if __name__ == "__main__":',
            "    unittest.main()",
        ]
        return "\n".join(lines) + "\n"

    def board(self) -> str:
        lowered, row = self.setting.generated.lowered, self.setting.sights.row
        writers = [
            f"(top.{port}, top.{lowered.memories[label]})" for label, port in lowered.writes.items()
        ]
        first = self.setting.sights.first
        kept = {leaf: int(leaf == first) for leaf, _ in self.kept()}
        return _BOARD.format(
            top=lowered.top,
            kept=kept,
            stores=_listed([f"top.{attribute}" for attribute, _ in lowered.storage.values()]),
            nets=_listed([self.place(place) for place in row.nets.values()]),
            writers=_listed(writers),
            rounds=MAX_ROUNDS,
            ticks=lowered.cuts.ticks,
            unsettled=" or get(top.unsettled)" if lowered.cuts.ticks > 1 else "",
        )

    def kept(self) -> list[tuple[int, int]]:
        return [*self.circuit.remembered, *self.circuit.gathered]

    def conditions(self) -> Iterator[str]:
        """Methods for what formulas remember and gather, and one a condition."""
        yield ""
        yield "def remember(self):"
        yield '    """What formulas remember of the step before, and nothing gathered yet."""'
        yield "    if self.step:"
        yield "        self.kept.update(self.next)"
        gathered = ", ".join(f"{leaf}: 0" for leaf, _ in self.circuit.gathered)
        yield f"    self.kept.update({{{gathered}}})"
        yield ""
        yield "def gather(self):"
        yield '    """What held in some round of the step; at power-on the last one counts."""'
        yield from self.assigned(
            "    self.kept[{leaf}] = {node} | (self.kept[{leaf}] & (self.step > 0))",
            self.circuit.gathered,
        )
        yield ""
        yield "def look(self):"
        yield '    """What is to be remembered of this quiet moment."""'
        yield "    self.next = {}"
        yield from self.assigned("    self.next[{leaf}] = {node}", self.circuit.remembered)
        for number, one in enumerate(self.setting.program.conditions):
            yield ""
            yield f"def holds_{number}(self):"
            yield "    # " + _literal(one.text)[: WIDTH - 6]
            yield from self.assigned("    return {node}", ((0, one.node),))
        if any(kind is Kind.READ for _, (kind, _) in self.nodes([*self.circuit.nodes])):
            yield ""
            yield "def word(self, memory, address, bit):"
            yield '    """A bit of a word; address bits, the most significant first."""'
            yield '    place = int("".join(map(str, address)), 2)'
            yield "    if place >= memory.depth:"
            yield "        return 0"
            yield "    return self.ctx.get(memory.data[place]) >> bit & 1"

    def nodes(self, roots: list[int]) -> list[tuple[int, tuple[Kind, tuple[int, ...]]]]:
        cone = set(self.setting.sights.graph.cone(roots))
        return [one for one in plain_nodes(self.setting.sights, self.circuit) if one[0] in cone]

    def assigned(self, form: str, pairs: tuple[tuple[int, int], ...]) -> Iterator[str]:
        """The nodes that some need, one a line, and then a line for each pair."""
        nodes = self.nodes([node for _, node in pairs])
        if pairs:
            yield "    top, get, word = self.top, self.ctx.get, getattr(self, 'word', None)"
        for node, (kind, args) in nodes:
            yield f"    n{node} = {self.value(kind, args)}"
        for leaf, node in pairs:
            yield form.format(leaf=leaf, node=self.node(node))

    def rest(self) -> Iterator[str]:
        """The controls at power-on."""
        for control, levels in resting(self.setting.machine.netlist).items():
            for number, level in enumerate(levels):
                if level:
                    place = self.setting.sights.row.control(control, number)
                    yield f"board.set({self.place(place)}, 1)"

    def script_lines(self) -> Iterator[str]:
        entry, depth = -1, 0
        for one in self.setting.program.code:
            if one.entry != entry:
                entry = one.entry
                text = _literal(self.setting.program.entries[entry].text)
                yield "    " * depth + f"# {text}"[: WIDTH - 16]
            if one.op is Op.NEXT:
                depth -= 1
            if one.op is Op.WHEN:
                yield "    " * depth + "else:"
            for line in self.instruction(one):
                yield "    " * depth + line
            if one.op is Op.REPEAT:
                depth += 1

    def instruction(self, one: Instruction) -> list[str]:
        match one.op:
            case Op.END:
                return ["board.finished = True"]
            case Op.SET:
                return [f"board.set({self.place(one.a)}, {one.b})"]
            case Op.TOGGLE:
                place = self.place(one.a)
                return [f"board.set({place}, 1 - ctx.get({place}))"]
            case Op.STEP:
                return ["board.act()"]
            case Op.CHECK:
                return [f"self.assertTrue(board.holds_{one.a}(), {self.says(one)})"]
            case Op.REPEAT:
                return [f"for _ in range({one.a}):"]
            case Op.LEAVE:
                return [f"if board.holds_{one.a}():", "    break"]
            case Op.WHEN:
                return [f"    self.assertTrue(board.holds_{one.a}(), {self.says(one)})"]
            case Op.NEXT | Op.OVERRUN | Op.RECORD:
                return []

    def says(self, one: Instruction) -> str:
        entry = self.setting.program.entries[one.entry]
        says = f" ({entry.says})" if entry.says else ""
        return repr(f"{self.script}:{entry.span.line}: {_literal(entry.text)}{says}")


def _at(attribute: str) -> str:
    found = _BIT.fullmatch(attribute)
    return f"top.{attribute}" if found is None else f"top.{found[1]}[{found[2]}]"


def _listed(items: list[str]) -> str:
    """Items on lines of their own."""
    return "".join(f"\n            {item}," for item in items) + ("\n        " if items else "")
