"""Part-file expressions in Amaranth mean what IEEE 1364 says: held against Icarus Verilog."""

import random
import subprocess
from pathlib import Path
from typing import Any

import pytest
from amaranth.hdl import Cat, Const, Module, Mux, Signal
from amaranth.sim import Simulator

from breadproof.export.lowering import values as v
from breadproof.export.lowering.expressions import Translator
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue.part import Formula
from breadproof.specs.formula.parse import parse, plain
from breadproof.specs.reading.diagnostics import BadInput

WIDTHS = {"P": 4, "Q": 3, "R": 1}


class Scope:
    """Storage P, Q, R, and the pins A3 to A0."""

    def bit(self, name: str) -> Value | None:
        return v.name(name) if name in ("A0", "A1", "A2", "A3") else None

    def storage(self, name: str) -> Value | None:
        return v.name(name, WIDTHS[name]) if name in WIDTHS else None

    def word(self, memory: str, address: Value) -> Value | None:
        return None

    def word_bits(self, memory: str) -> int | None:
        return None


def formula(text: str) -> Formula:
    place = plain(text)
    return Formula(expr=parse(place), text=place)


def translated(text: str, width: int) -> Value:
    return Translator(Scope()).exactly(formula(text), width)


def expression(dice: random.Random, depth: int) -> str:
    """A random expression of the operators that part files use."""
    if depth == 0 or dice.random() < 0.15:
        return dice.choice(
            ["P", "Q", "R", "A0", "A[3:0]", "A[2:1]", "P[2]", "P[3:1]", "P[Q]", "Q[1:0]",
             "4'd3", "1'b1", "2'b10", "5", "0", "8'hF1", "P[1 +: 2]"]
        )  # fmt: skip
    inner = [expression(dice, depth - 1) for _ in range(3)]
    match dice.randrange(6):
        case 0:
            op = dice.choice(["!", "~", "-", "&", "|", "^", "~&", "~|", "~^"])
            return f"({op}({inner[0]}))"
        case 1:
            return f"(({inner[0]}) ? {inner[1]} : {inner[2]})"
        case 2:
            sized = [part for part in inner if "'" in part or not any(c.isdigit() for c in part)]
            return f"{{{sized[0]}, P}}" if sized else "{P, Q}"
        case 3:
            op = dice.choice(["<<", ">>"])
            return f"({inner[0]} {op} {dice.choice(['Q', '1', '2', 'R'])})"
        case _:
            op = dice.choice(
                ["&", "|", "^", "~^", "&&", "||", "==", "!=", "<", "<=", ">", ">=", "+", "-", "*"]
            )
            return f"({inner[0]} {op} {inner[1]})"


def sized_concats(text: str) -> bool:
    """Whether IEEE 1364 allows it: a number without a width cannot stand in a concatenation."""
    return "{" not in text or not any(
        f"{before}{number}{after}" in text.replace(" ", "")
        for number in ("5", "0")
        for before in "({?:+-*&|^"
        for after in "),}?:+-*&|^"
    )


def amaranth_results(texts: list[tuple[str, int]], inputs: list[int]) -> list[list[int]]:
    signals: dict[str, Any] = {name: Signal(width, name=name) for name, width in WIDTHS.items()}
    signals |= {f"A{bit}": Signal(name=f"A{bit}") for bit in range(4)}
    names = {"Cat": Cat, "Const": Const, "Mux": Mux, **signals}
    m = Module()
    outputs = []
    for text, width in texts:
        out = Signal(width)
        m.d.comb += out.eq(eval(translated(text, width).sized, dict(names)))
        outputs.append(out)
    row = Cat(*(signals[name] for name in ("P", "Q", "R", "A0", "A1", "A2", "A3")))
    found: list[list[int]] = []

    async def bench(context: Any) -> None:
        for number in inputs:
            context.set(row, number)
            found.append([context.get(out) for out in outputs])

    simulator = Simulator(m)
    simulator.add_testbench(bench)
    simulator.run()
    return found


def icarus_results(
    iverilog: str, folder: Path, texts: list[tuple[str, int]], inputs: list[int]
) -> list[list[str]]:
    lines = ["module t;", "reg [11:0] all;", "wire [3:0] P = all[3:0];", "wire [2:0] Q = all[6:4];"]
    lines += ["wire R = all[7];", "wire [3:0] A = all[11:8];"]
    lines += [f"wire A{bit} = all[{8 + bit}];" for bit in range(4)]
    for number, (text, width) in enumerate(texts):
        lines.append(f"wire [{width - 1}:0] y{number} = {text};")
    shown = " ".join(["%b"] * len(texts))
    outputs = ", ".join(f"y{number}" for number in range(len(texts)))
    lines.append("initial begin")
    for number in inputs:
        lines.append(f'all = {number}; #1 $display("{shown}", {outputs});')
    lines += ["end", "endmodule"]
    source = folder / "t.v"
    source.write_text("\n".join(lines), encoding="utf-8")
    subprocess.run([iverilog, "-g2005", "-o", folder / "t", source], check=True)
    ran = subprocess.run(["vvp", "-n", folder / "t"], check=True, capture_output=True, text=True)
    return [line.split() for line in ran.stdout.splitlines()]


def test_random_expressions_agree_with_icarus(iverilog: str, tmp_path: Path) -> None:
    dice = random.Random(1364)
    texts: list[tuple[str, int]] = []
    while len(texts) < 150:
        text = expression(dice, 3)
        if sized_concats(text):
            texts.append((text, dice.choice([1, 3, 4, 6, 9])))
    inputs = [dice.getrandbits(12) for _ in range(25)]
    ours = amaranth_results(texts, inputs)
    theirs = icarus_results(iverilog, tmp_path, texts, inputs)
    known = 0
    for number, mine, other in zip(inputs, ours, theirs, strict=True):
        for (text, width), a, b in zip(texts, mine, other, strict=True):
            # A bit beyond a vector is unknown to Icarus, and so is what comes of it.
            seen = "".join(
                "x" if there == "x" else bit for bit, there in zip(f"{a:0{width}b}", b, strict=True)
            )
            assert seen == b, f"{text} to {width} bits at {number:012b}: {a:0{width}b}, Icarus {b}"
            known += b.count("0") + b.count("1")
    assert known > 10000


@pytest.mark.parametrize(
    ("text", "width", "expected"),
    [
        # P = 4'b1011, Q = 3'b010, R = 1: worked out by IEEE 1364-2005, 5.4 (widths of contexts).
        ("P + 4'd7", 4, 0b0010),
        ("P + 4'd7", 5, 0b10010),
        ("~Q", 4, 0b1101),
        ("!Q", 4, 0),
        ("{~Q, R}", 4, 0b1011),
        ("-Q", 4, 0b1110),
        ("R + R", 1, 0),
        ("(R + R) == 2", 1, 1),
        ("(R + R) == 2'd0", 1, 0),
        ("P - 4'd12", 4, 0b1111),
        ("-1", 6, 0b111111),
        ("{2{Q}}", 6, 0b010010),
        ("&P", 1, 0),
        ("^P", 1, 1),
        ("P >> 1", 4, 0b0101),
        ("P << 1", 5, 0b10110),
        ("Q ? P : 4'd0", 4, 0b1011),
    ],
)
def test_widths_are_those_of_the_standard(text: str, width: int, expected: int) -> None:
    number = 0b1011 | 0b010 << 4 | 1 << 7
    assert amaranth_results([(text, width)], [number]) == [[expected]]


@pytest.mark.parametrize("text", ["P / 2", "P % 3", "P ** 2"])
def test_operators_without_gates_are_refused(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        translated(text, 4)
    assert refused.value.diagnostics[0].code == "export-expression"
