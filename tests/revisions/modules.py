"""Verilog that is written by hand, for boards of the corpus: right, and wrong on purpose.

What each must come to is written from what the boards are (`pairs.yaml`), and from the Verilog.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A module for a board of ``specs/boards/revisions``; ``differs``: the outputs that do."""

    board: str
    verilog: str
    ports: str
    reset: bool = False
    differs: tuple[str, ...] = ()
    steps: int | None = None
    words: tuple[str, ...] = field(default=())


_BEAT = "clock: {port: clk, net: beat}\n"
_QUARTER = f"{_BEAT}inputs: {{rst_n: clear_n}}\noutputs: {{slow: slow}}\n"
_SCENE = f'{_BEAT}inputs: {{rst_n: clear_n}}\noutputs: {{scene: "scene[1:0]"}}\n'
_SUM = 'inputs: {a: "a[1:0]", b: b}\noutputs: {s: "s[2:0]"}\n'
_STORE = f"""{_BEAT}inputs: {{rst_n: clear_n, write: write, d: "d[3:0]"}}
outputs: {{lamp_n: "lamp_n[3:0]"}}
storage: {{mem: U3.M}}
"""
_TEN = f"{_BEAT}outputs: {{step: step}}\nstorage: {{step: U1.R}}\n"
_MODE = "inputs: {mode: mode}\noutputs: {odd: odd, most: most}\n"


def _counter(body: str, shown: str) -> str:
    return f"""
module counter(input clk, input rst_n, output {shown});
  reg [1:0] count;
  always @(posedge clk or negedge rst_n)
    if (!rst_n) count <= 0; else {body}
endmodule
"""


def _store(write: str, shown: str = "~mem[addr]") -> str:
    return f"""
module store(input clk, rst_n, input write, input [3:0] d, output [3:0] lamp_n);
  reg [3:0] mem [0:15];
  reg [3:0] addr, word;
  reg wish;
  always @(posedge clk, negedge rst_n)
    if (!rst_n) begin addr <= 0; word <= 0; wish <= 0; end
    else begin addr <= addr + 1; word <= d; wish <= write; end
  always @(negedge clk) {write}
  assign lamp_n = wish & ~clk ? 4'hF : {shown};
endmodule
"""


MODULES = {
    "quarter": Written(
        board="quarter-74", reset=True, ports=_QUARTER,
        verilog=_counter("count <= count + 1;", "slow").replace(
            "endmodule", "assign slow = count[1];\nendmodule"
        ),
    ),
    "quarter-backwards": Written(  # 0, 3, 2, 1: the upper bit comes a beat sooner
        board="quarter-175", reset=True, ports=_QUARTER, differs=("slow",),
        verilog=_counter("count <= count - 1;", "slow").replace(
            "endmodule", "assign slow = count[1];\nendmodule"
        ),
    ),
    "quarter-in-flip-flops": Written(  # structural, and in a module below
        board="quarter-175", reset=True, ports=_QUARTER, verilog="""
module half(input clk, input rst_n, input d, output reg q, output q_n);
  assign q_n = ~q;
  always @(posedge clk, negedge rst_n) if (~rst_n) q <= 1'b0; else q <= d;
endmodule
module top(input clk, input rst_n, output slow);
  wire a, a_n, b_n, next;
  half one(.clk(clk), .rst_n(rst_n), .d(a_n), .q(a), .q_n(a_n));
  half two(.clk(clk), .rst_n(rst_n), .d(next), .q(slow), .q_n(b_n));
  xor(next, a, slow);
endmodule
""",
    ),
    "quarter-cleared-at-the-clock": Written(
        # cleared at the beat alone: shows the old content until then; a beat, then the clear
        board="quarter-74", reset=True, ports=_QUARTER, differs=("slow",), verilog="""
module counter(input clk, input rst_n, output slow);
  reg [1:0] count;
  assign slow = count[1];
  always @(posedge clk) if (!rst_n) count <= 0; else count <= count + 1;
endmodule
""",
    ),
    "scene": Written(
        board="scene-counter", reset=True, ports=_SCENE, verilog=_counter(
            "count <= count + 1;", "[1:0] scene"
        ).replace("endmodule", "assign scene = count;\nendmodule"),
    ),
    "scene-in-gray": Written(  # F. Gray 1953: the low bit of the binary is the parity
        board="scene-binary", reset=True, ports=_SCENE, verilog=_counter(
            "count <= {count[0], ~count[1]};", "[1:0] scene"
        ).replace("endmodule", "assign scene = {count[1], count[1] ^ count[0]};\nendmodule"),
    ),
    "scene-in-gray-unread": Written(  # 0, 1, 3, 2
        board="scene-gray", reset=True, ports=_SCENE, differs=("scene",), verilog=_counter(
            "count <= {count[0], ~count[1]};", "[1:0] scene"
        ).replace("endmodule", "assign scene = count;\nendmodule"),
    ),
    "scene-at-the-fall": Written(
        board="scene-counter", reset=True, ports=_SCENE, differs=("scene",), verilog=_counter(
            "count <= count + 1;", "[1:0] scene"
        ).replace("endmodule", "assign scene = count;\nendmodule").replace("posedge", "negedge"),
    ),
    "ten-steps": Written(
        board="ten-steps-163", ports=_TEN, verilog="""
module ten(input clk, output reg [3:0] step);
  always @(posedge clk) if (step[3] & step[0]) step <= 0; else step <= step + 4'd1;
endmodule
""",
    ),
    "ten-steps-of-nine-alone": Written(  # from 11 on it goes to 12, the board to 0
        board="ten-steps-163", ports=_TEN, differs=("step",), steps=1, verilog="""
module ten(input clk, output reg [3:0] step);
  always @(posedge clk) step <= step == 9 ? 0 : step + 4'd1;
endmodule
""",
    ),
    "sum": Written(
        board="sum-283", ports=_SUM,
        verilog="module sum(input [1:0] a, b, output [2:0] s); assign s = a + b; endmodule",
    ),
    "sum-in-full-adders": Written(
        board="sum-181", ports=_SUM, verilog="""
module full(input a, b, c, output s, k);
  assign s = a ^ b ^ c, k = a & b | c & (a ^ b);
endmodule
module sum(input [1:0] a, input [1:0] b, output [2:0] s);
  wire k;
  full one(.a(a[0]), .b(b[0]), .c(1'b0), .s(s[0]), .k(k));
  full two(.a(a[1]), .b(b[1]), .c(k), .s(s[1]), .k(s[2]));
endmodule
""",
    ),
    "sum-without-carry": Written(  # IEEE 1364, 5.4: an operand of a concatenation has its own width
        board="sum-gates", ports=_SUM, differs=("s",), steps=0, verilog="""
module sum(input [1:0] a, b, output [2:0] s);
  wire [1:0] low = a + b;
  assign s = {1'b0, low};
endmodule
""",
    ),
    "mode": Written(
        board="mode-rom", ports=_MODE, verilog="""
module mode(input [2:0] mode, output odd, output reg most);
  assign odd = ^mode;
  always @* case (mode) 3, 5, 6, 7: most = 1; default: most = 0; endcase
endmodule
""",
    ),
    "mode-of-two-alone": Written(
        board="mode-gates", ports=_MODE, differs=("most",), steps=0, verilog="""
module mode(input [2:0] mode, output odd, output reg most);
  assign odd = ^mode;
  always @* case (mode) 3, 5, 6: most = 1; default: most = 0; endcase
endmodule
""",
    ),
    "mode-left-open": Written(  # x is any level
        board="mode-gates", ports=_MODE, differs=("most",), steps=0, verilog="""
module mode(input [2:0] mode, output odd, output reg most);
  assign odd = ^mode;
  always @* case (mode) 3, 5, 6, 7: most = 1; 0, 1, 2: most = 0; default: most = 1'bx; endcase
endmodule
""",
    ),
    "ring": Written(  # the last input is turned over where the ring closes (R. Johnson's counter)
        board="chase", ports=f'{_BEAT}inputs: {{clear_n: clear_n, run: run}}\n'
        "outputs: {q: q, idle: '!first_n'}\nstorage: {q: U1.R}\n",
        verilog="""
module ring(input clk, clear_n, run, output reg [3:0] q, output idle);
  wire held = ~(q[0] & run);
  assign idle = ~held;
  always @(posedge clk or negedge clear_n)
    if (!clear_n) q <= 0; else q <= {q[2:0], ~(run & q[3])};
endmodule
""",
    ),
    "ring-unturned": Written(  # two inputs follow the beat, and move in one step
        board="chase", ports=f"{_BEAT}inputs: {{clear_n: clear_n, run: run, off: '!beat'}}\n"
        "outputs: {q: q}\nstorage: {q: U1.R}\n", differs=("q",), steps=1,
        verilog="""
module ring(input clk, clear_n, run, off, output reg [3:0] q);
  always @(posedge clk or negedge clear_n)
    if (!clear_n) q <= 0; else q <= {q[2:0], run & q[3]};
endmodule
""",
    ),
    "crossfade": Written(
        board="crossfade-piped", reset=True,
        ports=f"{_BEAT}inputs: {{clear_n: clear_n, a: a, b: b}}\noutputs: {{s: s}}\n",
        verilog="""
module fade(input clk, clear_n, input [1:0] a, b, output reg [2:0] s);
  reg [2:0] x, y;
  always @(posedge clk or negedge clear_n) if (!clear_n) {x, y} <= 0; else begin x <= a; y <= b; end
  always @(posedge clk) s <= x + y;
endmodule
""",
    ),
    "crossfade-too-soon": Written(
        board="crossfade-piped", reset=True, differs=("s",),
        ports=f"{_BEAT}inputs: {{clear_n: clear_n, a: a, b: b}}\noutputs: {{s: s}}\n",
        verilog="""
module fade(input clk, clear_n, input [1:0] a, b, output reg [2:0] s);
  always @(posedge clk) s <= clear_n ? a + b : 3'd0;
endmodule
""",
    ),
    "store": Written(
        board="step-store", reset=True, ports=_STORE,
        verilog=_store("if (wish) mem[addr] <= word;"),
    ),
    "store-turned-over": Written(  # the memory shows the complement of what it was given
        board="step-store", reset=True, ports=_STORE, differs=("lamp_n",), steps=0,
        verilog=_store("if (wish) mem[addr] <= word;", "mem[addr]"),
    ),
    "store-next-to-it": Written(  # wished for at a rise, written at the fall, seen at the next rise
        board="step-store", reset=True, ports=_STORE, differs=("lamp_n",), steps=3,
        verilog=_store("if (wish) mem[addr + 4'd1] <= word;"),
    ),
    "store-always": Written(  # the beats of the reset write
        board="step-store", reset=True, ports=_STORE, differs=("lamp_n",), steps=0,
        verilog=_store("mem[addr] <= word;"),
    ),
    "store-bits-changed-over": Written(
        board="step-store", reset=True, ports=_STORE, differs=("lamp_n",),
        verilog=_store("if (wish) mem[addr] <= {word[2:0], word[3]};"),
    ),
}  # fmt: skip
