"""Comparisons that a number without a width makes 32 bits wide (IEEE 1364-2005, 3.5.1, 5.4.1).

Which of them are worth a word is common practice: those in which a sum, a difference or an
inversion would wrap if the number had the vector's width. What they come to Icarus Verilog tells.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from breadproof.cli import main
from tests.support.levels import machine_of

BOARD = """
board: counts
parts: {{U1: 74HC163}}
nets:
  VCC: [U1.16, U1.7, U1.10, U1.9, U1.1]
  GND: [U1.8, U1.3, U1.4, U1.5, U1.6]
  beat: [U1.2]
  q[3:0]: [U1.11, U1.12, U1.13, U1.14]
ports: {{beat: in}}
assert:
  a: {{says: A., formula: "{formula}"}}
"""


@pytest.mark.parametrize(
    ("formula", "told"),
    [
        ("always (rose(beat) -> q == prev(q) + 1)", [(4, 1)]),
        ("always (rose(beat) -> q == prev(q + 1))", [(4, 1)]),
        ("always (rose(beat) -> q - 1 == prev(q))", [(4, 1)]),
        ("always (~q != 0)", [(4, 0)]),
        ("always (q == -1)", [(4, 1)]),
        ("always (q == (beat ? q << 1 : 3))", [(4, 3)]),
        ("always (rose(beat) -> q == prev(q) + 4'd1)", []),
        ("always (q[3:2] + q[1:0] != 6)", []),  # does not fit in two bits: meant as it stands
        ("always (q + 1 == 16)", []),
        ("always (q == 3)", []),  # nothing is carried
        ("always (q + 1 < 9)", []),  # how far a sum goes is asked
        ("always (q[3:2] == 1 && q + 4'd1 != 4'd0)", []),
        ("always (countones(q) + 1 == 3)", []),
    ],
)
def test_which_are_told(formula: str, told: list[tuple[int, int]]) -> None:
    (compiled,) = machine_of(BOARD.format(formula=formula)).logic.formulas
    assert [(one.width, one.number) for one in compiled.wide] == told


@pytest.mark.parametrize(
    ("with_it", "without"),
    [("4'd0 == p + 1", "4'd0 == p + 4'd1"), ("~p == 0", "~p == 4'd0"), ("p == -1", "p == -4'd1")],
)
def test_icarus_says_the_same_of_15(
    tmp_path: Path, iverilog: str, with_it: str, without: str
) -> None:
    text = f"module t; reg [3:0] p = 15; initial $display({with_it}, {without}); endmodule\n"
    (tmp_path / "t.v").write_text(text, "utf-8")
    subprocess.run([iverilog, "-o", tmp_path / "t", tmp_path / "t.v"], check=True)
    ran = subprocess.run([tmp_path / "t"], check=True, capture_output=True, text=True)
    assert ran.stdout == "01\n"


def test_the_result_says_what_to_write(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(BOARD.format(formula="always (rose(beat) -> q == prev(q) + 1)"), "utf-8")
    assert main(["verify", str(path), "--fresh", "--jobs", "1"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert (
        "'q == prev(q) + 1' is worked out in 32 bits, since 1 has no width (IEEE 1364): "
        "it does not wrap at 4 bits. Write 4'd1 if it is to."
    ) in told
