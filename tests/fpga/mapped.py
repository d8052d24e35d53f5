"""The netlist of a bitstream in Icarus Verilog, with the cells' own models, at its pins.

What stands at the pins is to be as in the Machine, walked with numbers: synthesis, the wrapper and
the pins' polarity are all in between.
"""

import subprocess
import sys
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker

_CONVERT = """
import sys
from pyosys import libyosys
libyosys.run_pass(f"read_json {sys.argv[1]}")
libyosys.run_pass(f"write_verilog -noattr {sys.argv[2]} ")
"""
START = 1500
"""Clocks until the design runs: 100 us at 12 MHz, and some."""
STEP = 120
"""Clocks after which a change has been handed over: debouncing takes 24 of them."""


@dataclass(slots=True)
class PadPlay:
    """The board of `PAD_TARGET` played with at its pins.

    ``lines`` are of the Verilog bench; ``expected`` what it is to show after each change: the
    lamp's pin and the bus, where a line that nobody drives is pulled up.
    """

    machine: Machine
    dice: Random
    lines: list[str] = field(default_factory=list)
    expected: list[str] = field(default_factory=list)
    stored: bool = False
    high: bool = False
    oe_n: int = 1
    a0: int = 0
    outside: int = 0
    data: int = 0

    def levels(self) -> dict[str, tuple[int, ...]]:
        """The controls as the board file means them."""
        bits = [(self.data >> bit) & 1 for bit in range(7, -1, -1)] if self.outside else [0] * 8
        return {
            "STORE": (int(self.stored),),
            "MODE": (int(not self.high), int(self.high)),
            "oe_n": (self.oe_n,),
            "a0": (self.a0,),
            "d": (self.outside, *bits),
        }

    def move(self) -> str:
        """Move one thing that may be moved; which control it is."""
        found = self.dice.choice(("STORE", "STORE", "MODE", "oe_n", "a0", "d", "d"))
        match found:
            case "STORE":
                self.stored = not self.stored
                self.lines.append(f"store = {int(not self.stored)};")
            case "MODE":
                self.high = not self.high
                self.lines.append(f"mode = {int(not self.high)};")
            case "oe_n" if not self.outside:
                self.oe_n ^= 1
                self.lines.append(f"oe_n = {self.oe_n};")
            case "a0":
                self.a0 ^= 1
                self.lines.append(f"a0 = {self.a0};")
            case "d" if self.oe_n:
                self.outside ^= self.dice.random() < 0.5
                self.data = self.dice.randrange(256)
                self.lines.append(f"data = {self.data}; outside_n = {1 - self.outside};")
            case _:
                return ""
        return found

    def run(self, moves: int) -> None:
        """So many moves, and what the Machine says of each."""
        walker = Walker(self.machine, controls=self.levels())
        step = walker.power_up()
        self.look(dict(step.rounds[-1].nets))
        for _ in range(moves):
            name = self.move()
            if name:
                step = walker.step({name: self.levels()[name]})
                self.look(dict(step.rounds[-1].nets))

    def look(self, nets: dict[str, int]) -> None:
        self.lines.append("look;")
        drives = not self.outside and not self.oe_n and nets["we_n"]
        data = sum(nets[f"d[{bit}]"] << bit for bit in range(8)) if drives else 0xFF
        data = self.data if self.outside else data
        # The lamp is lit while its cathode, twice inverted from we_n, is low; its pin is then low.
        self.expected.append(f"{nets['we_n']} {data:02x}")


_BENCH = """
`timescale 1ns/1ns
module bench;
  reg clock = 0, store = 1, mode = 1, oe_n = 1, a0 = 0, outside_n = 1;
  reg [7:0] data = 0;
  wire lamp;
  wire [7:0] d = outside_n ? 8'hzz : data;
  wire p_clock = clock, p_store = store, p_mode = mode, p_oe_n = oe_n, p_a0 = a0;
  wire p_outside = outside_n;
  pullup up [7:0] (d);
  fpga dut (.clock_0__io(p_clock), .pin_1_0__io(p_store), .pin_2_0__io(p_mode),
    .pin_3_0__io(p_oe_n), .pin_4_0__io(p_a0), .pin_7_0__io(p_outside), .pin_99_0__io(lamp),
    .pin_112_0__io(d[7]), .pin_113_0__io(d[6]), .pin_114_0__io(d[5]), .pin_115_0__io(d[4]),
    .pin_116_0__io(d[3]), .pin_117_0__io(d[2]), .pin_118_0__io(d[1]), .pin_119_0__io(d[0]));
  task look;
    begin repeat (STEP) begin #1 clock = 1; #1 clock = 0; end $display("%b %h", lamp, d); end
  endtask
  initial begin
    repeat (START) begin #1 clock = 1; #1 clock = 0; end
    LINES
    $finish;
  end
endmodule
"""


def played(netlist: str, play: PadPlay, iverilog: str, folder: Path) -> list[str]:
    """What the mapped netlist (JSON of yosys) shows after each change."""
    (folder / "mapped.json").write_text(netlist, encoding="utf-8")
    subprocess.run(
        [sys.executable, "-c", _CONVERT, "mapped.json", "mapped.v"],
        cwd=folder, check=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    text = _BENCH.replace("STEP", str(STEP)).replace("START", str(START))
    bench = text.replace("LINES", "\n    ".join(play.lines))
    (folder / "bench.v").write_text(bench, encoding="utf-8")
    spec = find_spec("pyosys")
    assert spec is not None
    assert spec.origin is not None
    cells = Path(spec.origin).parent / "share" / "ice40" / "cells_sim.v"
    # Icarus knows no default levels of inputs; those that are left open are so at SB_IO alone.
    flags = ["-g2012", "-DNO_ICE40_DEFAULT_ASSIGNMENTS", "-s", "bench", "-o", "bench.vvp"]
    command = [iverilog, *flags, "bench.v", "mapped.v", str(cells)]
    subprocess.run(command, cwd=folder, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "bench.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    return ran.stdout.split("\n")[: len(play.expected)]
