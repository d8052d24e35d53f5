"""The generated Amaranth file as a file: the same each time, readable, harmless to run."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof.export.amaranth_file import generate, package
from breadproof.export.header import Proofs
from breadproof.specs.load import load_netlist
from tests.export import boards

LIGHT_STORE = Path(__file__).parents[2] / "specs" / "boards" / "light-store.yaml"

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
    assert max(map(len, lines)) <= 79
    assert [line for line in lines if line != line.rstrip()] == []
    assert source.endswith("\n")
    assert not source.endswith("\n\n")
    imported = {
        node.module if isinstance(node, ast.ImportFrom) else ""
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
    }
    assert imported <= {
        "amaranth.back",
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


def test_file_is_harmless_to_import_and_writes_verilog_as_a_program(tmp_path: Path) -> None:
    path = tmp_path / "board.py"
    path.write_text(generate(boards.netlist_of(tmp_path, ODD_NAMES)).source, encoding="utf-8")
    imported = subprocess.run(
        [sys.executable, "-c", "import board"],
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert (imported.stdout, imported.stderr) == ("", "")
    ran = subprocess.run([sys.executable, path], capture_output=True, text=True, check=True)
    assert "module board_9_lives(" in ran.stdout
    assert re.search(r"output \[1:0\] bus_out;", ran.stdout)


PEP8 = "E,W,F"
"""Ruff's names of the checks of pycodestyle, by its own default 79 columns, and of pyflakes."""


def test_style_guide_is_kept(tmp_path: Path) -> None:
    """PEP 8, by a checker that is not ours."""
    for place, text in enumerate((*boards.ALL, ODD_NAMES)):
        source = generate(boards.netlist_of(tmp_path, text)).source
        (tmp_path / f"board{place}.py").write_text(source, encoding="utf-8")
    light_store = generate(load_netlist(LIGHT_STORE)).source
    (tmp_path / "light_store.py").write_text(light_store, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--isolated", "--no-cache", "--select", PEP8,
         "--line-length", "79", tmp_path],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout


def test_vectors_are_words(tmp_path: Path) -> None:
    """A bus of the shipped board is one signal with one resolver, a DIP switch one input."""
    source = generate(load_netlist(LIGHT_STORE)).source
    assert "    PATTERN: In(12)  # DIP switch, 1 while closed; bit 0 is way 1\n" in source
    assert "self.bus = Signal(12)" in source
    assert "self.bus_resolver = Resolver(3, 12)" in source
    assert "self.U5.A.eq(self.pattern[:8])" in source
    assert "self.U6.A.eq(Cat(self.pattern[8:], self.GND.replicate(4)))" in source
    assert re.findall(r"self\.bus_\d+\b", source) == []


def test_package_is_the_same_board(tmp_path: Path) -> None:
    """Each chip type in a file of its own; the Verilog is that of the single file."""
    netlist = load_netlist(LIGHT_STORE)
    folder = tmp_path / "light_store"
    folder.mkdir()
    files = package(netlist)
    assert {"__init__.py", "__main__.py", "board.py", "nets.py", "chip_541.py"} <= set(files)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    (tmp_path / "single.py").write_text(generate(netlist).source, encoding="utf-8")
    ruff = [
        sys.executable,
        "-m",
        "ruff",
        "check",
        "--isolated",
        "--no-cache",
        "--line-length",
        "79",
    ]
    style = subprocess.run(
        [*ruff, "--select", PEP8, folder], capture_output=True, text=True, check=False
    )
    assert style.returncode == 0, style.stdout
    texts = [
        subprocess.run(
            [sys.executable, *how], cwd=tmp_path, capture_output=True, text=True, check=True
        ).stdout
        for how in (("-m", "light_store"), ("single.py",))
    ]
    assert texts[0] == texts[1]
    assert "module light_store(" in texts[0]
    assert ".CLK(clk)" in texts[0]


def test_one_class_a_chip_type_and_one_instance_a_chip(tmp_path: Path) -> None:
    netlist = boards.netlist_of(tmp_path, boards.TRANSCEIVERS)
    source = generate(netlist).source
    assert source.count("class Chip245(wiring.Component):") == 1
    assert "self.U1 = Chip245()  # 74HC245" in source
    assert "self.U2 = Chip245()  # 74HC245" in source
    pins = "A1 to A8: pins 2 3 4 5 6 7 8 9"
    assert f"    A: In(8)  # {pins}\n    A_out: Out(8)  # {pins}, bidirectional" in source
    assert "self.b = Signal()  # U1.18 U2.18" in source
    assert "class Transceivers(wiring.Component):" in source


def test_header_says_what_the_file_rests_on(tmp_path: Path) -> None:
    netlist = boards.netlist_of(tmp_path, boards.TRANSCEIVERS)
    unproved = " ".join(generate(netlist).source.split('"""')[1].split())
    assert "NOT PROVED: two drivers may fight on a, b." in unproved
    assert "sees its own 'free' signal (a bit for each pin), 0 here" in unproved
    assert "free_U1_A" in unproved
    proved = generate(netlist, Proofs(proved=("a", "b"), unproved=())).source.split('"""')[1]
    assert "Proved: at no quiet moment do two drivers fight on a, b." in " ".join(proved.split())
    for text in (unproved, " ".join(proved.split())):
        assert "Never put 5 V on the pin of an FPGA" in text
        assert "fundamental mode, Huffman 1954" in text
    latch = generate(boards.netlist_of(tmp_path, boards.LATCH)).source.split('"""')[1]
    assert "No net has two drivers that could fight." in latch
