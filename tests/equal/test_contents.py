"""Contents of large memories in Verilog: read strictly, or refused; and compared with the board.

What a block means is IEEE 1364's: the loop fills all words, later assignments replace some.
"""

from pathlib import Path

import pytest

from breadproof.export.verilog import verilog
from breadproof.verify.equal.contents import UnreadableContent, taken_out
from breadproof.verify.equal.text import equal_text
from tests.equal.boards import MINDER
from tests.export import boards

BLOCK = """\
module m;
  reg [7:0] M [3:0];
  initial begin : \\M$contents@
    reg [2:0] place;
    for (place = 0; place < 4; place = place + 1)
      M [place[1:0]] = 8'hff;
    M [0] = 8'h40;
    M [2] = 8'h0a;
  end
endmodule""".replace("@", " ")


def test_the_words_and_the_rest_of_the_text() -> None:
    found = taken_out(BLOCK)
    assert found.contents == ((0x40, 0xFF, 0x0A, 0xFF),)
    assert found.text.split("\n") == [
        "module m;",
        "  (* content_taken_out = 32'd0 *)",
        "  reg [7:0] M [3:0];",
        "endmodule",
    ]


@pytest.mark.parametrize(
    ("old", "new", "because"),
    [
        ("place < 4", "place < 3", "does not reach all of its words"),
        ("[2:0] place", "[1:0] place", "does not reach all of its words"),
        ("place[1:0]", "place[0:0]", "does not reach all of its words"),
        ("M [place", "N [place", "does not reach all of its words"),
        ("place = place + 1", "place = place + 2", "does not begin with its loop"),
        ("M [2] =", "M [4] =", "in the block that fills M"),
        ("M [2] =", "N [2] =", "in the block that fills M"),
        ("M [2] =", "M [2] <=", "in the block that fills M"),
        ("M [2] = 8'h0a;", "M [2] = 8'h1ff;", "is not 8 bits wide"),
        ("M [2] = 8'h0a;", "M [2] = 9'h0a;", "is not 8 bits wide"),
        ("  end\n", "", "in the block that fills M"),
        ("  reg [7:0] M [3:0];\n", "", "not declared above it"),
    ],
)
def test_a_block_of_another_form_is_refused(old: str, new: str, because: str) -> None:
    assert BLOCK.count(old) == 1
    with pytest.raises(UnreadableContent, match=because.replace("[", r"\[")):
        taken_out(BLOCK.replace(old, new))


ROM = """
board: table
title: A table and its address lines
parts:
  U1: {part: "27C64", contents: table.bin}
nets:
  GND: [U1.14, U1.CE_n, U1.OE_n]
  VCC: [U1.28, U1.VPP, U1.PGM_n]
  a[12:0]:
    - [U1.A12, U1.A11, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U1.A3, U1.A2, U1.A1,
       U1.A0]
  d[7:0]: [[U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2, U1.IO1, U1.IO0]]
ports:
  a[12:0]: in
  d[7:0]: out
"""


def test_a_wrong_word_is_told(tmp_path: Path) -> None:
    """8192 words, which stand in a block of the text: one of them is changed there."""
    (tmp_path / "table.bin").write_bytes(bytes([7] * 8000 + [1, 2, 3] + [7] * 189))
    machine = boards.machine_of(tmp_path, ROM)
    text = verilog(machine.netlist)
    assert text.count("M [8001] = 8'h02;") == 1
    assert equal_text(machine, text, 60).verdict == "equal"
    found = equal_text(machine, text.replace("M [8001] = 8'h02;", "M [8001] = 8'h03;"), 60)
    assert found.verdict == "differs"
    assert found.because == "U1.M[8001] is 2 on the board, 3 in the hardware"
    lost = equal_text(machine, text.replace("    M [8001] = 8'h02;\n", ""), 60)
    assert lost.because == "U1.M[8001] is 2 on the board, 7 in the hardware"


def test_a_text_with_a_strange_block_is_undecided(tmp_path: Path) -> None:
    machine = boards.machine_of(tmp_path, MINDER)
    text = verilog(machine.netlist) + "  initial begin : \\M$contents \n"
    found = equal_text(machine, text, 60)
    assert found.verdict == "undecided"
    assert "not declared above it" in found.because
