"""A script as a test bench in Verilog (IEEE 1364-2005) for the Verilog that is exported.

It runs the same rounds as `bench_player`: it looks into the chips to see whether storage still
changes. Own names begin with ``t_``, and with more lines where a control begins so.
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
from breadproof.export.stimulus.verilog_names import VerilogNames
from breadproof.export.verilog import CLOCK, module_name
from breadproof.specs.machine.graph import Kind

_SIMPLE = re.compile(r"(?=.*[^a-z])[A-Za-z_][A-Za-z0-9_$]*")
"""A name that needs no backslash. One of small letters alone gets it: it may be a keyword."""
_AT = "\0"
"""Stands for an @ that is meant: the others stand for what own names begin with."""
_BIT = re.compile(r"(.+)\[(\d+)\]")


def verilog_bench(setting: Setting, script: str) -> str:
    """The test bench; ``script`` is the name of the script's file."""
    return _Writer.of(setting, script).text()


def identifier(path: str) -> str:
    r"""``U1.Q[3]`` as Verilog: every name of it that needs a backslash has one (``\do ``)."""
    found = _BIT.fullmatch(path)
    if found is not None:
        return f"{identifier(found[1])}[{found[2]}]"
    return ".".join(name if _SIMPLE.fullmatch(name) else f"\\{name} " for name in path.split("."))


def _in_design(path: tuple[str, ...]) -> str:
    """A signal below the exported module."""
    return ".".join(["dut", *map(identifier, path)])


def text_in_quotes(text: str) -> str:
    """A text as it stands in a format string of $display."""
    plain = "".join(c if " " <= c <= "~" else "?" for c in text)
    return plain.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("@", _AT)


@dataclass(slots=True)
class _Writer:
    setting: Setting
    script: str
    own: str
    names: VerilogNames
    places: dict[int, str]
    widths: dict[str, int]
    circuit: Circuit

    @classmethod
    def of(cls, setting: Setting, script: str) -> _Writer:
        lowered, row = setting.generated.lowered, setting.sights.row
        widths: dict[str, int] = {}
        places: dict[int, str] = {}
        for bits in lowered.controls.values():
            for attribute, bit in bits:
                widths[attribute] = max(widths.get(attribute, 0), bit + 1)
        for control, bits in lowered.controls.items():
            for number, (attribute, bit) in enumerate(bits):
                chosen = "" if widths[attribute] == 1 else f"[{bit}]"
                places[row.control(control, number)] = identifier(attribute) + chosen
        own = "t_"
        while any(name.startswith(own) for name in widths):
            own += "_"
        names = VerilogNames(setting.machine.netlist, setting.generated)
        for number, place in enumerate(row.nets.values()):
            places[place] = _in_design(names.of(lowered.nets[number]))
        for name, place in row.lamps.items():
            places[place] = _in_design(names.of(lowered.lamps[name]))
        for label, place in row.stores.items():
            storage, _, number_text = label.removesuffix("]").rpartition("[")
            attribute, width = lowered.storage[storage]
            chosen = "" if width == 1 else f"[{number_text}]"
            places[place] = _in_design(names.of(attribute)) + chosen
        for label, place in row.writes.items():
            places[place] = _in_design(names.port(lowered.writes[label], "en"))
        return cls(
            setting=setting,
            script=script,
            own=own,
            names=names,
            places=places,
            widths=widths,
            circuit=circuit_of(setting.sights, setting.program),
        )

    # pieces -----------------------------------------------------------------------------------

    def node(self, node: int) -> str:
        """A node where it is used."""
        if node <= 1:
            return f"1'b{node}"
        place = self.setting.sights.places.get(node)
        return f"{self.own}n{node}" if place is None else self.places[place]

    def memory(self, number: int) -> tuple[str, int]:
        unit = self.setting.machine.memories[number]
        attribute = self.setting.generated.lowered.memories[unit.label]
        return f"dut.{identifier(attribute)}", unit.words

    def value(self, kind: Kind, args: tuple[int, ...]) -> str:
        match kind:
            case Kind.NOT:
                return f"!{self.node(args[0])}"
            case Kind.AND | Kind.OR | Kind.XOR:
                sign = {Kind.AND: " & ", Kind.OR: " | ", Kind.XOR: " ^ "}[kind]
                return sign.join(map(self.node, args))
            case Kind.READ:
                name, words = self.memory(args[0])
                address = "{" + ", ".join(map(self.node, args[2:])) + "}"
                return f"({address} < {words}) ? {name}[{address}][{args[1]}] : 1'b0"
            case Kind.CONST | Kind.LEAF | Kind.WAS:
                raise AssertionError("no such node stands for itself")

    # the text ---------------------------------------------------------------------------------

    def text(self) -> str:
        lines = [
            *self.head(),
            *self.signals(),
            *self.conditions(),
            *self.tasks(),
            *self.script_lines(),
        ]
        text = "\n".join(lines)
        return text.replace("@", self.own).replace(_AT, "@") + "\n"

    def head(self) -> list[str]:
        name = module_name(self.setting.machine.netlist)
        return [
            f"// Test bench of {name}, from the script {text_in_quotes(self.script)}.",
            "//",
            f"// In Icarus:    iverilog -g2005 -o bench bench.v {name}.v && vvp -n bench",
            f"// In Verilator: verilator --binary --timing -Wno-fatal --top-module {self.own}bench "
            f"bench.v {name}.v",
            "// Arguments:    +levels prints all nets after each step, +dump writes dump.vcd.",
            "",
            "// verilator lint_off PINMISSING",
            "`timescale 1ns / 1ns",
            "",
            "module @bench;",
        ]

    def signals(self) -> Iterator[str]:
        setting = self.setting
        resting_bits = resting(setting.machine.netlist)
        rest: dict[str, int] = dict.fromkeys(self.widths, 0)
        for control, bits in setting.generated.lowered.controls.items():
            for (attribute, bit), level in zip(bits, resting_bits[control], strict=True):
                rest[attribute] |= level << bit
        yield "  reg @clk = 0;"
        for attribute, width in self.widths.items():
            size = "" if width == 1 else f"[{width - 1}:0] "
            yield f"  reg {size}{identifier(attribute)} = {width}'h{rest[attribute]:x};"
        ports = [f".{identifier(name)}({identifier(name)})" for name in self.widths]
        ports += [f".{CLOCK}_clk(@clk)", f".{CLOCK}_rst(1'b0)"]
        yield f"  {module_name(setting.machine.netlist)} dut ("
        yield ",\n".join(f"    {port}" for port in ports) + ");"
        rows = {
            "stores": [self.places[place] for place in setting.sights.row.stores.values()],
            "nets": [
                self.places[place] for place in reversed(list(setting.sights.row.nets.values()))
            ],
        }
        for name, parts in rows.items():
            row = ",\n    ".join(parts or ["1'b0"])
            yield f"  wire [{max(len(parts), 1) - 1}:0] @{name} = {{\n    {row}}};"
        yield f"  reg [{max(len(rows['stores']), 1) - 1}:0] @stores_before;"
        yield f"  reg [{max(sum(self.widths.values()), 1) - 1}:0] @controls_before;"
        yield "  integer @step = -1, @round = 0, @rounds = 0;"
        yield "  reg @more = 0;"

    def conditions(self) -> Iterator[str]:
        kept = {leaf for leaf, _ in (*self.circuit.remembered, *self.circuit.gathered)}
        first = self.setting.sights.first
        for leaf in sorted(kept):
            yield f"  reg @n{leaf} = {int(leaf == first)};"
        for leaf, _ in self.circuit.remembered:
            yield f"  reg @next{leaf};"
        nodes = plain_nodes(self.setting.sights, self.circuit)
        for node, (kind, args) in nodes:
            yield f"  wire @n{node} = {self.value(kind, args)};"
        for number, one in enumerate(self.setting.program.conditions):
            yield f"  wire @c{number} = {self.node(one.node)};  // {text_in_quotes(one.text)}"

    def writing(self) -> list[str]:
        """Whether each memory that is written takes another word."""
        found = []
        labels = [unit.label for unit in self.setting.machine.memories]
        for label, port in self.setting.generated.lowered.writes.items():
            name, words = self.memory(labels.index(label))
            enable, address, data = (
                _in_design(self.names.port(port, what)) for what in ("en", "addr", "data")
            )
            found.append(f"({enable} && {address} < {words} && {name}[{address}] !== {data})")
        return found

    def tasks(self) -> Iterator[str]:
        ticks = self.setting.generated.lowered.cuts.ticks
        more = [*self.writing(), *(["dut.unsettled"] if ticks > 1 else [])] or ["1'b0"]
        # not as a wire: that would follow only when time goes on
        controls = "{" + ", ".join(map(identifier, self.widths)) + "}" if self.widths else "1'b0"
        yield "  task @tick;"
        yield "    begin #1 @clk = 1; #1 @clk = 0; end"
        yield "  endtask"
        yield "  task @fail;  // the message was printed"
        yield "    begin"
        yield '      $display("FAILED at step %0d, after round %0d", @step, @rounds); $finish;'
        yield "      forever #1;  // nothing more is done"
        yield "    end"
        yield "  endtask"
        yield "  task @run;  // one step: rounds until one changes nothing"
        yield "    begin"
        remembered = self.circuit.remembered
        if remembered:
            yield "      if (@step >= 0) begin"
            yield from (f"        @n{leaf} = @next{leaf};" for leaf, _ in remembered)
            yield "      end"
        yield from (f"      @n{leaf} = 0;" for leaf, _ in self.circuit.gathered)
        yield "      @step = @step + 1; @round = 0; @more = 1;"
        yield f"      @controls_before = {controls};"
        yield f"      while (@more && @round < {MAX_ROUNDS}) begin"
        yield f"        repeat ({ticks - 1}) @tick;"
        yield "        #1;"
        yield from (
            f"        @n{leaf} = {self.node(node)} | (@n{leaf} & (@step != 0));"
            for leaf, node in self.circuit.gathered
        )
        yield "        @stores_before = @stores;"
        yield f"        @more = {' || '.join(more)};"
        yield "        @tick; #1;"
        yield "        if (@stores !== @stores_before) @more = 1;"
        yield "        @round = @round + 1; @rounds = @rounds + 1;"
        yield "      end"
        yield from (f"      @next{leaf} = {self.node(node)};" for leaf, node in remembered)
        yield '      if (@more) begin $display("the board does not get quiet"); @fail; end'
        yield '      if ($test$plusargs("levels")) $display("%0d %0d %b", @step, @rounds, @nets);'
        yield "    end"
        yield "  endtask"
        yield "  task @act;  // a step, if a control was moved"
        yield f"    begin if ({controls} !== @controls_before) @run; end"
        yield "  endtask"

    def script_lines(self) -> Iterator[str]:
        yield "  initial begin"
        yield '    if ($test$plusargs("dump")) begin $dumpfile("dump.vcd"); $dumpvars; end'
        entry, indent = -1, "    "
        for number, one in enumerate(self.setting.program.code):
            if one.entry != entry:
                entry = one.entry
                yield f"{indent}// {text_in_quotes(self.setting.program.entries[entry].text)}"
            if one.op is Op.NEXT:
                indent = indent[2:]
            for line in self.instruction(number, one):
                yield indent + line
            if one.op is Op.REPEAT:
                indent += "  "
        yield "  end"
        yield "endmodule"

    def instruction(self, number: int, one: Instruction) -> list[str]:
        """The lines of an instruction; a loop that is left is in a block with the loop's number."""
        code = self.setting.program.code
        match one.op:
            case Op.END:
                told = '"PASSED: %0d steps, %0d rounds", @step + 1, @rounds'
                return [f"$display({told});", "$finish;"]
            case Op.SET | Op.TOGGLE:
                return [self.moved(one)]
            case Op.STEP:
                return ["@run;" if one.a else "@act;"]
            case Op.CHECK:
                return [f"if (!@c{one.a}) begin {self.says(one)} @fail; end"]
            case Op.REPEAT:
                leaves = code[number + 1].op is Op.LEAVE
                block = [f"begin : @wait{code[number + 1].b}"] if leaves else []
                return [*block, f"repeat ({one.a}) begin"]
            case Op.NEXT:
                return ["end"]
            case Op.LEAVE | Op.WHEN:
                return [f"if (@c{one.a}) disable @wait{one.b};"]
            case Op.OVERRUN:
                return [f"{self.says(one)} @fail;", "end"]
            case Op.RECORD:
                return []

    def moved(self, one: Instruction) -> str:
        """A bit of a control set, in an assignment to all of it: Verilator 5.006 overlooks that one
        bit of a vector was changed."""
        found = _BIT.fullmatch(self.places[one.a])
        name = self.places[one.a] if found is None else found[1]
        if found is None:
            return f"{name} = {one.b};" if one.op is Op.SET else f"{name} = !{name};"
        width = next(w for whole, w in self.widths.items() if identifier(whole) == name)
        bit = 1 << int(found[2])
        if one.op is Op.TOGGLE:
            return f"{name} = {name} ^ {width}'h{bit:x};"
        if one.b:
            return f"{name} = {name} | {width}'h{bit:x};"
        return f"{name} = {name} & {width}'h{(1 << width) - 1 - bit:x};"

    def says(self, one: Instruction) -> str:
        entry = self.setting.program.entries[one.entry]
        says = f" ({entry.says})" if entry.says else ""
        where = f"{self.script}:{entry.span.line}"
        return f'$display("{text_in_quotes(f"{where}: {entry.text}{says}")}");'
