"""The generated Amaranth file as a file: the same each time, readable, harmless to run."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof.export.amaranth_file import generate
from breadproof.export.header import Proofs
from tests.export import boards

ODD_NAMES = """
board: 9-lives
title: "Names that mean something in Python \\"or\\" Verilog"
parts:
  U1: 74HC04
  clk: {part: oscillator, frequency: 1 Hz}
  self: {part: push-button}
nets:
  GND: [U1.7, clk.7, self.1]
  VCC: [U1.14, clk.14]
  lambda: [clk.8, U1.1]
  bus[1:0]: [[U1.2, U1.4]]
  bus_0: [U1.6, self.2]
  elaborate: [U1.3]
  signature: [U1.5]
ports:
  bus[1:0]: out
  elaborate: in
"""


@pytest.mark.parametrize("text", [*boards.ALL, ODD_NAMES], ids=lambda text: text.split()[1])
def test_file_is_plain_python_with_short_lines(tmp_path: Path, text: str) -> None:
    netlist = boards.netlist_of(tmp_path, text)
    source = generate(netlist).source
    assert source == generate(boards.netlist_of(tmp_path, text)).source
    tree = ast.parse(source)
    lines = source.splitlines()
    assert max(map(len, lines)) <= 100
    assert [line for line in lines if line != line.rstrip()] == []
    assert source.endswith("\n")
    assert not source.endswith("\n\n")
    imported = {
        node.module if isinstance(node, ast.ImportFrom) else ""
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
    }
    assert imported <= {
        "amaranth.hdl",
        "amaranth.lib",
        "amaranth.lib.memory",
        "amaranth.lib.wiring",
    }
    used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    names = [
        alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names
    ]
    assert sorted(set(names) - used) == []


def test_file_runs_harmlessly(tmp_path: Path) -> None:
    path = tmp_path / "board.py"
    path.write_text(generate(boards.netlist_of(tmp_path, ODD_NAMES)).source, encoding="utf-8")
    ran = subprocess.run([sys.executable, path], capture_output=True, text=True, check=True)
    assert (ran.stdout, ran.stderr) == ("", "")


def test_one_class_a_chip_type_and_one_instance_a_chip(tmp_path: Path) -> None:
    netlist = boards.netlist_of(tmp_path, boards.TRANSCEIVERS)
    source = generate(netlist).source
    assert source.count("class Chip245(wiring.Component):") == 1
    assert "self.U1 = Chip245()  # 74HC245" in source
    assert "self.U2 = Chip245()  # 74HC245" in source
    assert "    A1: In(1)  # pin 2\n    A1_out: Out(1)  # pin 2, bidirectional" in source
    assert "self.b = Signal()  # U1.18 U2.18" in source
    assert "class Transceivers(wiring.Component):" in source


def test_header_says_what_the_file_rests_on(tmp_path: Path) -> None:
    netlist = boards.netlist_of(tmp_path, boards.TRANSCEIVERS)
    unproved = " ".join(generate(netlist).source.split('"""')[1].split())
    assert "NOT PROVED: two drivers may fight on a, b." in unproved
    assert "sees its own 'free' signal, which is 0 here" in unproved
    assert "U1.2" in unproved
    proved = generate(netlist, Proofs(proved=("a", "b"), unproved=())).source.split('"""')[1]
    assert "Proved: at no quiet moment do two drivers fight on a, b." in " ".join(proved.split())
    for text in (unproved, " ".join(proved.split())):
        assert "Never put 5 V on the pin of an FPGA" in text
        assert "fundamental mode, Huffman 1954" in text
    latch = generate(boards.netlist_of(tmp_path, boards.LATCH)).source.split('"""')[1]
    assert "No net has two drivers that could fight." in latch
