"""Random constant expressions: what a formula says is what Icarus Verilog says (IEEE 1364)."""

import subprocess
from pathlib import Path
from random import Random

import pytest

from tests.formulas.constants import bits
from tests.formulas.expressions import BINARY, MAX_WIDTH, UNARY, Writer, vectors

EXPRESSIONS = 600


def icarus(compiler: str, folder: Path, source: str) -> list[str]:
    """What a program prints, line by line."""
    text, code = folder / "t.v", folder / "t.vvp"
    text.write_text(source, "utf-8")
    subprocess.run([compiler, "-g2005", "-o", code, text], check=True, capture_output=True)
    run = subprocess.run(["vvp", "-n", code], check=True, capture_output=True, text=True)
    return run.stdout.split()


def test_random_expressions_mean_what_ieee_1364_says(iverilog: str, tmp_path: Path) -> None:
    random = Random(1364)
    names = vectors(random)
    writer = Writer(random, names)
    drawn = [
        (writer.expr(random.randint(1, 4)), random.choice((1, 4, 8, 32, 33, 64, MAX_WIDTH, 80)))
        for _ in range(EXPRESSIONS)
    ]
    assert set(writer.used) >= {*BINARY, *(f"unary {op}" for op in UNARY), "/", "%", "**", "?:"}
    lines = ["module t;"]
    for name, vector in names.items():
        lines.append(
            f"  wire [{vector.left}:{vector.right}] {name} = {vector.width}'h{vector.value:x};"
        )
    for number, (text, width) in enumerate(drawn):
        lines.append(f"  wire [{width - 1}:0] r{number} = {text};")
    lines.append("  initial begin #1;")
    lines += [f'    $display("%b", r{number});' for number in range(len(drawn))]
    lines += ["  end", "endmodule", ""]
    told = icarus(iverilog, tmp_path, "\n".join(lines))
    assert len(told) == len(drawn)
    wrong = [
        (text, width, ours, theirs)
        for (text, width), theirs in zip(drawn, told, strict=True)
        if (ours := bits(text, width, names)) != theirs
    ]
    assert not wrong, "\n".join(map(str, wrong[:10]))


@pytest.mark.parametrize("op", ["<<", ">>", "<<<", ">>>"])
def test_every_shift_of_a_signed_and_an_unsigned_byte(
    iverilog: str, tmp_path: Path, op: str
) -> None:
    """By 0 to 9 bits, in a context of 8 and of 12 bits."""
    drawn = [
        (f"8'{sign}h{value:x} {op} {amount}", width)
        for sign in ("", "s")
        for value in (0x00, 0x01, 0x5A, 0x80, 0xFF)
        for amount in range(10)
        for width in (8, 12)
    ]
    lines = ["module t;"]
    lines += [f"  wire [{w - 1}:0] r{n} = {text};" for n, (text, w) in enumerate(drawn)]
    lines.append("  initial begin #1;")
    lines += [f'    $display("%b", r{n});' for n in range(len(drawn))]
    lines += ["  end", "endmodule", ""]
    told = icarus(iverilog, tmp_path, "\n".join(lines))
    assert told == [bits(text, width) for text, width in drawn]
