"""The initial content of large memories, which is written past Amaranth and yosys.

Held against what Amaranth itself writes, against Icarus and Verilator, and against yosys's own
Verilog reader (PyPI's pyosys).
"""

import random
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from breadproof.export import contents
from breadproof.export.lowering.wordlist import lay_out_made
from breadproof.export.verilog import rtlil, verilog
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.ways import machine_of
from tests.rows.judging import CATALOGUE

READ = """
import sys
from pyosys import libyosys

design = libyosys.Design()
for command in (f"read_verilog {sys.argv[1]}", "hierarchy -check -auto-top", "proc",
                "memory_collect",
                f"write_rtlil {sys.argv[2]}"):
    libyosys.run_pass(command, design)
"""


def chip(name: str, number: str, words: dict[int, int]) -> Placed:
    return Placed(name=name, part=CATALOGUE.part(number), contents=words)


def any_words(count: int, seed: int) -> dict[int, int]:
    """Half of them erased, the others anything."""
    dice = random.Random(seed)
    return {at: dice.choice((0xFF, dice.getrandbits(8))) for at in range(count)}


FIRST, SECOND, SMALL = any_words(8192, 1), any_words(8192, 2), any_words(2048, 3)


@pytest.fixture(scope="module")
def netlist() -> Netlist:
    """Two large ROMs of one kind, a large RAM, and a small ROM and RAM."""
    chips = [
        chip("A", "27C64", FIRST),
        chip("B", "27C64", SECOND),
        chip("C", "6264", {}),
        chip("D", "27C16", SMALL),
        chip("E", "6116", {}),
    ]
    return machine_of(chips).netlist


@pytest.fixture(scope="module")
def source(netlist: Netlist, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("contents") / "rows.v"
    path.write_text(verilog(netlist), encoding="utf-8")
    return path


def test_the_rtlil_is_what_amaranth_writes(
    netlist: Netlist, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours = rtlil(netlist)
    monkeypatch.setattr(contents, "LARGE_WORDS", 1 << 20)
    assert ours == rtlil(netlist)
    assert contents.MARK not in ours


BENCH = """
module t;
  integer at;
  reg [12:0] a;
  wire [7:0] first, second;
  rows dut ({connections});
  initial begin
    for (at = 0; at < 8192; at = at + 1) begin
      a = at;
      #1 $display("%h %h %h %h", first, second, dut.C.M[at], dut.D.M[at[10:0]]);
    end
  end
endmodule
"""


def test_icarus_reads_every_word(source: Path, iverilog: str, tmp_path: Path) -> None:
    """The large ROMs through their pins, the others where they stand."""
    ports = [f".{part}_A{bit}_in(a[{bit}])" for part in "AB" for bit in range(13)]
    ports += [f".{part}_{pin}_in(1'b0)" for part in "AB" for pin in ("CE_n", "OE_n")]
    ports += [f".{part}_IO{bit}_outside(1'b0)" for part in "AB" for bit in range(8)]
    ports += [
        f".{part}_IO{bit}_out({name}[{bit}])"
        for part, name in (("A", "first"), ("B", "second"))
        for bit in range(8)
    ]
    bench = tmp_path / "t.v"
    bench.write_text(BENCH.format(connections=", ".join(ports)), encoding="utf-8")
    built = tmp_path / "t"
    compiled = subprocess.run(
        [iverilog, "-g2005", "-Wall", "-Wno-timescale", "-s", "t", "-o", built, bench, source],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert "rows.v" not in compiled.stderr
    ran = subprocess.run(["vvp", "-n", built], check=True, capture_output=True, text=True)
    wanted = [f"{FIRST[at]:02x} {SECOND[at]:02x} 00 {SMALL[at % 2048]:02x}" for at in range(8192)]
    assert ran.stdout.splitlines() == wanted


def test_verilator_finds_nothing(source: Path, verilator: str) -> None:
    ran = subprocess.run(
        [verilator, "--lint-only", "-Wall", source], capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, "")


def test_yosys_makes_the_same_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The words as a loop with exceptions and the words one by one are one memory to yosys."""
    small = machine_of([chip("D", "27C16", SMALL), chip("E", "2114", {})]).netlist
    seen = []
    for large in (512, 1 << 20):
        withheld = partial(contents.Withheld, least=large)
        monkeypatch.setattr("breadproof.export.verilog.Withheld", withheld)
        text = verilog(small)
        assert ("$contents" in text) == (large == 512)
        given, got = tmp_path / f"{large}.v", tmp_path / f"{large}.il"
        given.write_text(text, encoding="utf-8")
        command = [sys.executable, "-c", READ, str(given), str(got)]
        subprocess.run(command, check=True, capture_output=True)
        lines = got.read_text("utf-8").splitlines()
        seen.append([line.strip() for line in lines if r"parameter \INIT" in line])
    assert seen[0] == seen[1]
    words = "".join(f"{SMALL[at]:08b}" for at in reversed(range(2048)))
    assert rf"parameter \INIT 16384'{words}" in seen[0]


def test_runs_of_words_are_counted() -> None:
    words = [1, 2, *[255] * 100, 3, *[0] * 50, 4, 0, 0]
    assert lay_out_made("self.U1 = Rom", words, 1, "a ROM") == [
        "    # a ROM",
        "    self.U1 = Rom(",
        "        [",
        "            0x01, 0x02,",
        "            *[0xFF] * 100,",
        "            0x03, " + ", ".join(["0x00"] * 7) + ",",
        "            " + ", ".join(["0x00"] * 8) + ",",
        "            " + ", ".join(["0x00"] * 8) + ",",
        "            " + ", ".join(["0x00"] * 8) + ",",
        "            " + ", ".join(["0x00"] * 8) + ",",
        "            " + ", ".join(["0x00"] * 8) + ",",
        "            0x00, 0x00, 0x00, 0x04,",
        "        ]",
        "    )",
    ]
    assert lay_out_made("self.U1 = Rom", [7, 0], 1, "") == ["    self.U1 = Rom([0x07])"]
    assert lay_out_made("self.U1 = Rom", None, 1, "") == ["    self.U1 = Rom()"]
