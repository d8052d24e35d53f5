"""The script played on the exported Verilog in Icarus Verilog, the cue list sent by the desk."""

from __future__ import annotations

import subprocess
from collections.abc import Iterable
from pathlib import Path

from breadproof.export.amaranth_file import generate
from breadproof.export.verilog import CLOCK, module_name, verilog
from breadproof.specs.netlist.model import Netlist
from tests.boards.fade.model import CHANNELS
from tests.boards.fade.script import ACTIONS, MOST, Line

ROUNDS = 5
"""A step of this board takes four; 'breadproof verify' proves it. One more does nothing."""

_BENCH = """
module bench;
  reg clock = 0, osc = 0, reset = 0, charged = 0, step = 0, load = 0, frame = 0, strobe = 0;
  reg [7:0] desk = 0;
  reg [7:0] action [0:{lines}], number [0:{lines}];
  integer line, count;
  {module} dut (.OSC(osc), .RESET(reset), .C63_later_in(charged), .frame_in(frame),
    .STEP_FREE(!step), .STEP_PRESSED(step), .PLAY_RUN(1'b1), .PLAY_HOLD(1'b0),
    .LIST_KEEP(!load), .LIST_LOAD(load), .desk_in(desk), .strobe_in(strobe),
    {limit}, .{clock}_clk(clock), .{clock}_rst(1'b0));
  task settle;
    begin repeat ({rounds} * {ticks}) begin #1 clock = 1; #1 clock = 0; end #1; end
  endtask
  task tick;
    begin osc = !osc; settle; end
  endtask
  initial begin
    $readmemh("action", action);
    $readmemh("number", number);
    settle;
    for (line = 0; line < {lines}; line = line + 1) begin
      case (action[line])
        0: repeat (number[line]) tick;
        1: begin
          count = 0;
          while ({address} !== number[line] && count < {most}) begin
            tick; count = count + 1;
          end
          if (count == {most}) begin $display("never"); $finish; end
        end
        2: $display("{form}", {lights});
        3: reset = number[line];
        4: charged = number[line];
        5: step = number[line];
        6: load = number[line];
        7: frame = number[line];
        8: desk = number[line];
        9: strobe = number[line];
      endcase
      settle;
    end
  end
endmodule
"""


def play(
    compiler: str, netlist: Netlist, limit: int, script: Iterable[Line], folder: Path
) -> list[list[int]]:
    """The lights, each time they are to be shown."""
    lowered = generate(netlist).lowered
    places = {
        net.name: attribute for net, attribute in zip(netlist.nets, lowered.nets, strict=True)
    }
    lines = list(script)

    def vector(name: str, width: int) -> str:
        return (
            "{" + ", ".join(f"dut.{places[f'{name}[{k}]']}" for k in reversed(range(width))) + "}"
        )

    bench = _BENCH.format(
        module=module_name(netlist),
        lines=len(lines),
        clock=CLOCK,
        limit=f".LIMIT(8'd{limit ^ 255})",
        rounds=ROUNDS,
        ticks=lowered.cuts.ticks,
        address=vector("address", 6),
        most=MOST,
        form=" ".join(["%0d"] * CHANNELS),
        lights=", ".join(vector(f"light{k}", 8) for k in range(CHANNELS)),
    )
    Path(folder, "board.v").write_text(verilog(netlist), "utf-8")
    Path(folder, "bench.v").write_text(bench, "utf-8")
    for name, column in (
        ("action", [ACTIONS.index(action) for action, _ in lines]),
        ("number", [number for _, number in lines]),
    ):
        Path(folder, name).write_text("".join(f"{one:02x}\n" for one in [*column, 0]), "ascii")
    build = [compiler, "-g2005", "-o", "bench", "bench.v", "board.v"]
    subprocess.run(build, cwd=folder, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "bench"], cwd=folder, check=True, capture_output=True, text=True
    )
    return [[int(level) for level in line.split()] for line in ran.stdout.splitlines()]
