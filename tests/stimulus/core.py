"""A board's core, without pads and inputs, through synthesis for iCE40, and played in Icarus.

The core is what the FPGA's wrapper has inside: memories are read by a clock, and storage moves in
the last clock of a tick. It is given the controls of a run that another engine has played, round by
round, and shows all nets at each quiet moment. The cells are yosys's own models.
"""

import re
import subprocess
from functools import reduce
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from amaranth.back import rtlil
from amaranth.hdl import ClockDomain, DomainRenamer, Elaboratable, EnableInserter, Module, Signal

from breadproof.export.fpga.memory import READS, ClockedMemory
from breadproof.export.fpga.tools import run
from breadproof.export.fpga.wrapper import tick_clocks
from breadproof.export.lowering.attributes import place_of
from breadproof.export.simulate import built
from breadproof.export.stimulus.player import Record
from tests.stimulus.agreement import Rows
from tests.stimulus.boards import Loaded

_BENCH = """
`timescale 1ns/1ns
module bench;
  reg clock = 0, go = 0;
  reg [CONTROLS-1:0] controls;
  wire [NETS-1:0] nets;
  integer file, found, rounds, total = 0;
  core dut (.clk(clock), .go(go), .controls(controls), .nets(nets));
  task rise; begin #1 clock = 1; #1 clock = 0; end endtask
  initial begin
    file = $fopen("steps.txt", "r");
    found = $fscanf(file, "%d %b", rounds, controls);
    while (found == 2) begin
      repeat (rounds * TICKS) begin
        go = 0;
        repeat (CLOCKS - 1) rise;
        go = 1;
        rise;
      end
      total = total + rounds;
      #1 $display("%0d %b", total, nets);
      found = $fscanf(file, "%d %b", rounds, controls);
    end
    $finish;
  end
endmodule
"""


class Core(Elaboratable):  # type: ignore[misc]  # Amaranth has no types
    """All controls in, in the order of ``places``, and all nets out."""

    def __init__(self, one: Loaded) -> None:
        self.lowered = one.setting.generated.lowered
        self.board = built(one.setting.generated, ClockedMemory)
        self.places = [place for bits in self.lowered.controls.values() for place in bits]
        self.go = Signal()
        self.clk = Signal()
        self.controls = Signal(max(1, len(self.places)))
        self.nets = Signal(len(self.lowered.nets))

    def elaborate(self, platform: Any) -> Module:
        m = Module()
        sync = ClockDomain("sync", reset_less=True)
        m.domains += sync
        m.d.comb += sync.clk.eq(self.clk)
        board = EnableInserter({"sync": self.go})(self.board)
        m.submodules.board = DomainRenamer({READS: "sync"})(board)
        for bit, (attribute, place) in enumerate(self.places):
            m.d.comb += getattr(self.board, attribute)[place].eq(self.controls[bit])
        for bit, name in enumerate(self.lowered.nets):
            path, at = place_of(name)
            signal = reduce(getattr, path.split("."), self.board)
            m.d.comb += self.nets[bit].eq(signal if at is None else signal[at])
        return m


def mapped(one: Loaded, folder: Path) -> str:
    """The core's mapped netlist, in Verilog."""
    core = Core(one)
    text = rtlil.convert(core, name="core", ports=[core.clk, core.go, core.controls, core.nets])
    (folder / "core.il").write_text(text, encoding="utf-8")
    lines = ["read_rtlil core.il", "synth_ice40 -top core", "write_verilog -noattr mapped.v"]
    (folder / "core.ys").write_text("\n".join([*lines, ""]), encoding="utf-8")
    ran = run(["yosys", "-q", "core.ys"], folder)
    assert ran.good, ran.said
    return (folder / "mapped.v").read_text(encoding="utf-8")


def after_synthesis(one: Loaded, records: tuple[Record, ...], iverilog: str, folder: Path) -> Rows:
    """What the mapped netlist shows where the run that was recorded came to rest."""
    text = mapped(one, folder)
    assert re.search(r"^  SB_LUT4 ", text, re.MULTILINE)
    row, lowered = one.setting.sights.row, one.setting.generated.lowered
    places = [
        row.control(name, number)
        for name, bits in lowered.controls.items()
        for number in range(len(bits))
    ]
    lines, before = [], 0
    for record in records:
        if record.whole:
            levels = "".join(str(record.row >> place & 1) for place in reversed(places))
            lines.append(f"{record.rounds - before} {levels}")
            before = record.rounds
    (folder / "steps.txt").write_text("\n".join([*lines, ""]), encoding="utf-8")
    numbers = {
        "CONTROLS": max(1, len(places)),
        "NETS": len(lowered.nets),
        "TICKS": lowered.cuts.ticks,
        "CLOCKS": tick_clocks(one.machine.netlist, lowered),
    }
    bench = _BENCH
    for name, value in numbers.items():
        bench = re.sub(rf"\b{name}\b", str(value), bench)
    (folder / "mapped_bench.v").write_text(bench, encoding="utf-8")
    spec = find_spec("pyosys")
    assert spec is not None
    assert spec.origin is not None
    cells = Path(spec.origin).parent / "share" / "ice40" / "cells_sim.v"
    flags = ["-g2012", "-DNO_ICE40_DEFAULT_ASSIGNMENTS", "-s", "bench", "-o", "mapped.vvp"]
    command = [iverilog, *flags, "mapped_bench.v", "mapped.v", str(cells)]
    subprocess.run(command, cwd=folder, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "mapped.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    found = [line.split() for line in ran.stdout.splitlines()]
    return [(int(rounds), tuple(map(int, reversed(nets)))) for rounds, nets in found]
