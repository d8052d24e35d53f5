"""EDIF that another program wrote: yosys (PyPI's pyosys), from structural Verilog of 74-like cells.

The cells' Verilog is written from the data book's function tables (from memory); Icarus Verilog
runs it, the Machine runs the board that was read from the EDIF file, on the same stimuli.
"""

import random
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.walk import Walker
from tests.edif.support import told

CELLS = """
module LS163(input CLR_n, CLK, D0, D1, D2, D3, ENP, LD_n, ENT, output Q0, Q1, Q2, Q3, RCO);
  reg [3:0] q = 0;
  always @(posedge CLK)
    q <= !CLR_n ? 4'd0 : !LD_n ? {D3, D2, D1, D0} : (ENP & ENT) ? q + 4'd1 : q;
  assign {Q3, Q2, Q1, Q0} = q;
  assign RCO = ENT & (&q);
endmodule
module LS283(input [4:1] A, B, input C0, output [4:1] S, output C4);
  assign {C4, S} = A + B + C0;
endmodule
module LS00(input A1, B1, A2, B2, A3, B3, A4, B4, output Y1, Y2, Y3, Y4);
  assign {Y4, Y3, Y2, Y1} = ~({A4, A3, A2, A1} & {B4, B3, B2, B1});
endmodule
module LS174(input CLR_n, CLK, input [6:1] D, output [6:1] Q);
  reg [6:1] q = 0;
  always @(posedge CLK or negedge CLR_n) if (!CLR_n) q <= 0; else q <= D;
  assign Q = q;
endmodule
"""
TOP = """
module tally(input clk, input clear_n, input [3:0] step, output [5:0] shown, output full);
  wire [3:0] q, sum;
  wire carry, ready;
  LS163 U1(.CLR_n(clear_n), .CLK(clk), .D0(1'b0), .D1(1'b0), .D2(1'b1), .D3(1'b0), .ENP(1'b1),
    .ENT(1'b1), .LD_n(ready), .Q0(q[0]), .Q1(q[1]), .Q2(q[2]), .Q3(q[3]), .RCO(full));
  LS283 U2(.A(q), .B(step), .C0(1'b0), .S(sum), .C4(carry));
  LS00 U3(.A1(carry), .B1(step[0]), .Y1(ready), .A2(full), .B2(full), .A3(1'b1), .B3(1'b1),
    .A4(1'b1), .B4(1'b1));
  LS174 U4(.CLR_n(clear_n), .CLK(clk), .D({ready, carry, sum}), .Q(shown));
endmodule
"""
BENCH = """
module bench;
  reg clk = 0, clear_n = 0; reg [3:0] step = 0;
  wire [5:0] shown; wire full;
  tally dut(clk, clear_n, step, shown, full);
  initial begin
    #1 $display("%b%b", shown, full);
{changes}
  end
endmodule
"""
WRITE = """
import sys
from pyosys import libyosys

design = libyosys.Design()
for command in ("read_verilog -lib cells.v", "read_verilog tally.v", "hierarchy -check -top tally",
                f"write_edif {sys.argv[1]} -top tally tally.edf"):
    libyosys.run_pass(command, design)
"""
# The pins of the 174 are those of the data book (from memory): it counts its bits from 1.
MAPPING = """\
hidden-supplies: true
cells:
  LS163: 74LS163
  LS283: 74LS283
  LS00: 74LS00
  LS174:
    part: 74LS174
    ports: {"D[1]": 3, "D[2]": 4, "D[3]": 6, "D[4]": 11, "D[5]": 13, "D[6]": 14,
            "Q[1]": 2, "Q[2]": 5, "Q[3]": 7, "Q[4]": 10, "Q[5]": 12, "Q[6]": 15}
"""
BOARD = "board: tally\nedif: {file: tally.edf, mapping: map.yaml}\n"


def written(folder: Path, options: str) -> str:
    """The EDIF file of the design."""
    (folder / "cells.v").write_text(CELLS, "utf-8")
    (folder / "tally.v").write_text(TOP, "utf-8")
    run = [sys.executable, "-c", WRITE, options]
    ran = subprocess.run(run, cwd=folder, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout[-1000:] + ran.stderr
    return (folder / "tally.edf").read_text("utf-8")


def stimuli(count: int) -> list[tuple[str, int]]:
    """One input changes a step: its name, and the new value."""
    dice = random.Random(7)
    now = {"clk": 0, "clear_n": 0, "step": 0}
    found = [("clear_n", 1)]
    now["clear_n"] = 1
    for _ in range(count):
        name = dice.choice(["clk"] * 12 + ["step"] * 3 + ["clear_n"])
        now[name] = dice.randrange(16) if name == "step" else 1 - now[name]
        found.append((name, now[name]))
    return found


def icarus(folder: Path, compiler: str, changes: list[tuple[str, int]]) -> list[str]:
    lines = [
        f'    #1 {name} = {value}; #1 $display("%b%b", shown, full);' for name, value in changes
    ]
    (folder / "bench.v").write_text(BENCH.replace("{changes}", "\n".join(lines)), "utf-8")
    build = [compiler, "-g2005", "-o", "bench", "bench.v", "tally.v", "cells.v"]
    subprocess.run(build, cwd=folder, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "bench"], cwd=folder, check=True, capture_output=True, text=True
    )
    return ran.stdout.split()


@pytest.mark.parametrize(
    "options", ["-pvector bra", "-gndvccy -pvector ang", "-pvector par -attrprop"]
)
def test_the_board_does_what_its_verilog_does(options: str, tmp_path: Path, iverilog: str) -> None:
    written(tmp_path, options)
    (tmp_path / "map.yaml").write_text(MAPPING, "utf-8")
    path = tmp_path / "board.yaml"
    path.write_text(BOARD, "utf-8")
    machine = load_machine(path)
    ports = {port.name: port.direction for port in machine.netlist.ports}
    assert ports == {"clk": "in", "clear_n": "in", "step": "in", "shown": "out", "full": "out"}
    changes = stimuli(300)
    walker = Walker(machine)
    rounds = [walker.power_up()]
    for name, value in changes:
        width = 4 if name == "step" else 1
        bits = tuple((value >> k) & 1 for k in reversed(range(width)))
        rounds.append(walker.step({name: bits}))
    seen = []
    for step in rounds:
        now = step.rounds[-1].nets
        shown = "".join(str(now[f"shown[{k}]"]) for k in (5, 4, 3, 2, 1, 0))
        seen.append(f"{shown}{now['full']}")
    assert seen == icarus(tmp_path, iverilog, changes)
    assert len(set(seen)) > 25


def test_arrays_that_do_not_tell_their_numbers_are_asked_about(tmp_path: Path) -> None:
    """Yosys's usual form: the first member may be the most significant bit, or the least."""
    text = written(tmp_path, "")
    said = told(tmp_path, text, MAPPING)
    assert "cell 'LS283' has a port 'A', and a 74LS283 has no such pin (U2) [edif-port]" in said
    assert "does not tell which member is which pin" in said
    assert said.count("[edif-port]") == 5  # A, B and S of the 283, D and Q of the 174
