"""What is read back of Verilog: circuits of one clock, and nothing else.

Expected values are those of IEEE 1364 for these few lines.
"""

import pytest

from breadproof.verify.equal.readback import Circuit, Unreadable, read_back
from breadproof.verify.equal.tick import evaluated
from breadproof.verify.prove.aig import Aig

ADDER = """
module m(input tick_clk, input [3:0] a, b, input s, output [3:0] y, output z);
  assign y = s ? a + b : a - b;
  assign z = a < b;
endmodule
"""


def circuit(text: str) -> Circuit:
    return read_back(text, "m", "tick_clk", 60)


def test_words_as_numbers() -> None:
    """All 512 sums, differences and comparisons."""
    found, aig = circuit(ADDER), Aig()
    for value in range(512):
        a, b, s = value & 15, (value >> 4) & 15, value >> 8
        known = {}
        for name, number in (("a", a), ("b", b), ("s", s)):
            for place, bit in enumerate(found.ports[name]):
                assert isinstance(bit, int)
                known[bit] = (number >> place) & 1
        levels = evaluated(aig, found, known, lambda memory, address: ())
        y = sum(levels.at(bit) << place for place, bit in enumerate(found.ports["y"]))
        assert y == ((a + b) if s else (a - b)) % 16
        assert levels.at(found.ports["z"][0]) == int(a < b)


def test_registers_and_how_they_come_up() -> None:
    text = """
    module part(input tick_clk, input d, output reg q = 1);
      always @(posedge tick_clk) q <= d;
    endmodule
    module m(input tick_clk, input d, output q, output r);
      part U1(.tick_clk(tick_clk), .d(d), .q(q));
      reg any; assign r = any;
      always @(posedge tick_clk) any <= q;
    endmodule
    """
    found = circuit(text)
    (one,), (other,) = found.names["U1.q"], found.names["any"]
    assert isinstance(one, int)
    assert isinstance(other, int)
    assert found.registers[one].initial == 1
    assert found.registers[one].following == found.ports["d"][0]
    assert found.registers[other].initial is None
    assert found.registers[other].following == one


def test_a_wire_that_nobody_drives_may_have_any_level() -> None:
    found, aig = (
        circuit("module m(input tick_clk, output y, z); wire w; assign y = w; endmodule"),
        Aig(),
    )
    levels = evaluated(aig, found, {}, lambda memory, address: ())
    assert {levels.at(found.ports["y"][0]), levels.at(found.ports["z"][0])}.isdisjoint({0, 1})


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("input tick_clk, c, d, output reg q); always @(posedge c) q <= d;", "q has another clock"),
        ("input tick_clk, d, output reg q); always @(negedge tick_clk) q <= d;", "a cell of kind"),
        (
            "input tick_clk, r, d, output reg q); always @(posedge tick_clk, posedge r) "
            "if (r) q <= 0; else q <= d;",
            "a cell of kind",
        ),
        ("input tick_clk, d, output reg q); always @* if (tick_clk) q = d;", "a cell of kind"),
        ("input tick_clk, a, output y); assign y = ~(y & a);", "a loop without a register"),
        ("input tick_clk, a, b, output y); assign y = ~a; assign y = ~b;", "drive one wire"),
        ("inout tick_clk);", "goes both ways"),
        (
            "input tick_clk, c, w, input [1:0] a, output y); reg m [3:0]; assign y = m[a]; "
            "always @(posedge c) if (w) m[a] <= w;",
            "has another clock",
        ),
    ],
)
def test_what_is_no_circuit_of_one_clock_is_refused(text: str, because: str) -> None:
    with pytest.raises(Unreadable, match=because):
        circuit(f"module m({text} endmodule")
