"""The exported Verilog of arithmetic chips against Verilog's own operators, in Icarus Verilog.

Source: IEEE 1364-2005, section 5 (`+`, `<`, `==`, reduction `^`), and the function tables of the
data books, from memory, written with these operators.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

from breadproof.export.verilog import verilog
from tests.against.chips import machine, part_of

CHIPS = {"U1": "283", "U2": "85", "U3": "181", "U4": "280", "U5": "382", "U6": "684", "U7": "688"}
LOGIC = (
    "~a", "~(a | b)", "~a & b", "4'd0", "~(a & b)", "~b", "a ^ b", "a & ~b",
    "~a | b", "~(a ^ b)", "b", "a & b", "4'd15", "a | ~b", "a | b", "a",
)  # fmt: skip
"""The 181 with active-high words, by S: the logic functions."""
SUMS = (
    "a", "a | b", "a | ~b", "-5'd1", "a + (a & ~b)", "(a | b) + (a & ~b)", "a - b - 5'd1",
    "(a & ~b) - 5'd1", "a + (a & b)", "a + b", "(a | ~b) + (a & b)", "(a & b) - 5'd1", "a + a",
    "(a | b) + a", "(a | ~b) + a", "a - 5'd1",
)  # fmt: skip
"""And the arithmetic ones, to which the carry is added."""
BENCH = """
module bench;
  reg [13:0] i;
  integer j;
  reg [3:0] a, b, logical, sum;
  reg [7:0] p, q;
  integer count, wrong;
  wire {wires};
  against dut ({connections});
  task check(input good, input [8 * 12 - 1:0] what);
    if (good !== 1'b1) begin
      wrong = wrong + 1;
      if (wrong < 5) $display("wrong: %0s at %b", what, i);
    end
  endtask
  initial begin
    wrong = 0;
    j = 7400;
    for (count = 0; count < 16384; count = count + 1) begin
      i = count;
      a = i[3:0];
      b = i[7:4];
      p = $random(j);
      q = count % 3 ? p ^ (count % 3 == 1 ? 8'd1 << count[4:2] : 8'd0) : $random(j);
      case (i[11:8])
{cases}
      endcase
      #1;
      check({{U1_C4, U1_S4, U1_S3, U1_S2, U1_S1}} === a + b + i[8], "283");
      check(U2_AGTB_OUT === (a > b) || a == b, "85 >");
      check(U2_ALTB_OUT === (a < b) || a == b, "85 <");
      check(U2_AEQB_OUT === (a == b) || a == b && i[10:8] != 3'd1, "85 =");
      check({{U3_F3, U3_F2, U3_F1, U3_F0}} === (i[12] ? logical : sum), "181");
      check(U4_ODD === ^i[8:0] && U4_EVEN === ~^i[8:0], "280");
      case (i[11:9])
        1: check({{U5_CN4, U5_F3, U5_F2, U5_F1, U5_F0}} === b + {{1'b0, ~a}} + i[8], "382 b-a");
        2: check({{U5_CN4, U5_F3, U5_F2, U5_F1, U5_F0}} === a + {{1'b0, ~b}} + i[8], "382 a-b");
        3: check({{U5_CN4, U5_F3, U5_F2, U5_F1, U5_F0}} === a + b + i[8], "382 a+b");
        4: check({{U5_F3, U5_F2, U5_F1, U5_F0}} === (a ^ b), "382 ^");
        5: check({{U5_F3, U5_F2, U5_F1, U5_F0}} === (a | b), "382 |");
        6: check({{U5_F3, U5_F2, U5_F1, U5_F0}} === (a & b), "382 &");
        default: check({{U5_F3, U5_F2, U5_F1, U5_F0}} === {{4{{i[9]}}}}, "382 0 1");
      endcase
      check(U6_PEQQ_n === !(p == q) && U6_PGTQ_n === !(p > q), "684");
      check(U7_PEQQ_n === !(p == q && !i[8]), "688");
    end
    $display("%0d wrong of %0d", wrong, count);
  end
endmodule
"""


def levels() -> dict[str, str]:
    """What the bench puts on each input."""
    found: dict[str, str] = {"U1_C0": "i[8]", "U3_CN": "i[13]", "U3_M": "i[12]", "U5_CN": "i[8]"}
    for k in range(4):
        found |= {f"U1_A{k + 1}": f"a[{k}]", f"U1_B{k + 1}": f"b[{k}]"}
        for chip in ("U2", "U3", "U5"):
            found |= {f"{chip}_A{k}": f"a[{k}]", f"{chip}_B{k}": f"b[{k}]"}
        found[f"U3_S{k}"] = f"i[{8 + k}]"
    found |= {f"U5_S{k}": f"i[{9 + k}]" for k in range(3)}
    found |= {"U2_AEQB_IN": "i[8]", "U2_AGTB_IN": "i[9]", "U2_ALTB_IN": "i[10]"}
    found |= {f"U4_{c}": f"i[{k}]" for k, c in enumerate("ABCDEFGHI")}
    for k in range(8):
        for chip in ("U6", "U7"):
            found |= {f"{chip}_P{k}": f"p[{k}]", f"{chip}_Q{k}": f"q[{k}]"}
    return found | {"U7_G_n": "i[8]"}


def verdict(iverilog: str, tmp_path: Path, sums: Sequence[str]) -> str:
    """What the bench says, given the sums of the 181."""
    source = verilog(machine(CHIPS).netlist)
    (tmp_path / "against.v").write_text(source, "utf-8")
    header = re.search(r"module against\((.*?)\);", source, re.DOTALL)
    assert header is not None
    ports = set(re.findall(r"\w+", header[1]))
    puts = levels()
    inputs = {
        f"{chip}_{pin.name}"
        for chip, number in CHIPS.items()
        for pin in part_of(number).pins
        if pin.kind.reads
    }
    assert inputs == set(puts)
    outputs = sorted(port.removesuffix("_out") for port in ports if port.endswith("_out"))
    connections = [f".{name}_in({level})" for name, level in puts.items()]
    connections += [f".{name}_out({name})" for name in outputs]
    cases = [
        f"        {s}: begin logical = {LOGIC[s]}; sum = ({sums[s]}) + !i[13]; end"
        for s in range(16)
    ]
    bench = BENCH.format(
        wires=", ".join(outputs), connections=", ".join(connections), cases="\n".join(cases)
    )
    (tmp_path / "bench.v").write_text(bench, "utf-8")
    build = [iverilog, "-g2005", "-o", "bench", "bench.v", "against.v"]
    subprocess.run(build, cwd=tmp_path, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "bench"], cwd=tmp_path, check=True, capture_output=True, text=True
    )
    return ran.stdout


def test_all_that_they_compute(iverilog: str, tmp_path: Path) -> None:
    assert verdict(iverilog, tmp_path, SUMS) == "0 wrong of 16384\n"


def test_a_wrong_sum_is_seen(iverilog: str, tmp_path: Path) -> None:
    """A minus B where the book has A plus B: half of the inputs but those with B zero or eight."""
    sums = [*SUMS[:9], "a - b", *SUMS[10:]]
    said = verdict(iverilog, tmp_path, sums)
    assert said.startswith("wrong: 181 at ")
    assert said.endswith(f"\n{16 * 14 * 2} wrong of 16384\n")
