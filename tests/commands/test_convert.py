"""The command `breadproof convert`: what it writes, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.load import load_netlist
from tests.edif.support import cell, wrapped

EDIF = wrapped(
    """(interface (port (rename clk "CLK") (direction INPUT)) (port (array (rename q "Q<3:0>") 4)))
(contents
 (instance (rename i1 "IC$1") (viewRef v (cellRef X (libraryRef parts)))
   (property PART (string "74LS163")))
 (instance R1 (viewRef v (cellRef RES (libraryRef parts))) (property VALUE (string "4K7")))
 (net clk (joined (portRef clk) (portRef &2 (instanceRef i1))))
 (net (rename q0 "Q<0>") (joined (portRef (member q 3)) (portRef &14 (instanceRef i1))))
 (net (rename q1 "Q<1>") (joined (portRef (member q 2)) (portRef &13 (instanceRef i1))))
 (net (rename q2 "Q<2>") (joined (portRef (member q 1)) (portRef &12 (instanceRef i1))))
 (net (rename q3 "Q<3>") (joined (portRef (member q 0)) (portRef &11 (instanceRef i1))))
 (net (rename n1 "/RESET") (joined (portRef &1 (instanceRef i1)) (portRef &1 (instanceRef R1)))
   (property layer (integer 2)))
 (net (rename n2 "+5V") (joined (portRef &16 (instanceRef i1)) (portRef &2 (instanceRef R1))
   (portRef &9 (instanceRef i1)) (portRef &7 (instanceRef i1)) (portRef &10 (instanceRef i1))))
 (net (rename n3 "next") (joined (portRef &15 (instanceRef i1))))
 (net &0V (joined (portRef &8 (instanceRef i1)))))""",
    cell("X", *(f"&{n}" for n in range(1, 17))) + cell("RES", "&1", "&2"),
)
BOARD = """\
# From the EDIF 2 0 0 file s.edf, design store.
# VCC is +5V of the drawing.
# GND is 0V of the drawing.
# Written by 'breadproof convert'; go on from here with 'breadproof verify'.
board: store

parts:
  IC_1: 74LS163  # IC$1 on the drawing; cell X; PART: 74LS163
  R1: {part: resistor, value: 4K7}  # cell RES; VALUE: 4K7

nets:
  # clk on the drawing
  CLK: [IC_1.2]
  # [3]: Q<3> on the drawing
  # [2]: Q<2> on the drawing
  # [1]: Q<1> on the drawing
  # [0]: Q<0> on the drawing
  Q[3:0]:
    - IC_1.[11, 12, 13, 14]
  # /RESET on the drawing; layer: 2
  RESET_n: [IC_1.1, R1.1]
  # +5V on the drawing
  VCC: [IC_1.7, IC_1.9, IC_1.10, IC_1.16, R1.2]
  # next on the drawing
  next_: [IC_1.15]
  # 0V on the drawing
  GND: [IC_1.8]

ports:
  CLK: in
  Q: both
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("s.edf").write_text(EDIF, "utf-8")
    Path("map.yaml").write_text("cells: {RES: resistor}\n", "utf-8")
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = cli.main(["convert", *words])
    return (status, *capsys.readouterr())


def test_the_whole_text(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "s.edf", "--mapping", "map.yaml", "--to", "board") == (0, BOARD, "")
    (folder / "s.yaml").write_text(BOARD, "utf-8")
    assert len(load_netlist(folder / "s.yaml").nets) == 9


def test_into_a_file(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("s.edf", "--mapping", "map.yaml", "--to", "board", "-o", "s.yaml")
    assert run(capsys, *words) == (0, "", "")
    assert (folder / "s.yaml").read_text("utf-8") == BOARD
    assert run(capsys, "s.yaml", "--to", "edif", "-o", "t.edf")[0] == 0
    assert (folder / "t.edf").read_text("utf-8").startswith("(edif store\n  (edifVersion 2 0 0)\n")


def test_supplies_from_the_command_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("s.edf", "--mapping", "map.yaml", "--to", "board")
    status, out, _ = run(capsys, *words, "--supply", "VCC=/RESET", "--supply", "GND=0V")
    assert status == 0
    assert "VCC: [IC_1.1, R1.1]" in out
    assert "P5V: [IC_1.7" in out
    status, out, err = run(capsys, *words, "--supply", "V12=+5V", "--supply", "GND=0")
    assert (status, out) == (2, "")
    assert "'V12' is no supply of this board [edif-supply]" in err
    assert "the drawing has no net '0' [edif-supply]" in err
    assert run(capsys, *words, "--supply", "VCC")[0] == 2


def test_unknown_parts(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = run(capsys, "s.edf", "--to", "board")
    assert (status, out) == (2, "")
    assert (
        err
        == """\
s.edf:11:12: error: cell 'RES' with '4K7' is no part that is known: R1 [edif-unknown-part]
     (instance R1 (viewRef v (cellRef RES (libraryRef parts))) (property VALUE (string "4K7")))
               ^^
  Say in the mapping file which part it is: 'cells: {"RES": PART}', or 'ignore' for what is no part.
"""
    )


def test_calls_that_make_no_sense(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "s.yaml").write_text(BOARD, "utf-8")
    status, _, err = run(capsys, "s.yaml", "--mapping", "map.yaml", "--to", "edif")
    assert status == 2
    assert "are for EDIF files" in err
    assert run(capsys, "s.edf", "--to", "board", "-o", "s.edf")[0] == 2
    assert run(capsys, "none.edf", "--to", "board")[0] == 2
    assert run(capsys, "s.edf", "--to", "drawing")[0] == 2


MAPPINGS = {
    "not a table": ("[a]", "map.yaml:1:1: error: this is no mapping file [mapping-shape]"),
    "unknown key": ("cell: {A: 74LS00}", "map.yaml:1:1: error: a mapping file has no 'cell'"),
    "no part": ("cells: {A: {pins: 4}}", "map.yaml:1:9: error: 'A' does not say which part it is"),
    "no pins": (
        "cells: {RES: {part: resistor, ports: [1]}}",
        "map.yaml:1:38: error: these are no ports with pins",
    ),
    "no such pin": (
        'cells: {RES: {part: resistor, ports: {"1": 7}}}',
        "map.yaml:1:44: error: cell 'RES' has a port '1 (pin 7)', and a resistor has no such pin",
    ),
    "no such part": (
        "cells: {RES: resister}",
        "error: cell 'RES' with 'resister' is no part that is known: R1 [edif-unknown-part]",
    ),
    "hidden what": (
        "hidden-supplies: yes\ncells: {RES: resistor}",
        "map.yaml:1:18: error: 'hidden-supplies' is true or false",
    ),
}


@pytest.mark.parametrize("case", MAPPINGS)
def test_mapping_files_that_are_wrong(
    case: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, said = MAPPINGS[case]
    (folder / "map.yaml").write_text(text, "utf-8")
    status, out, err = run(capsys, "s.edf", "--mapping", "map.yaml", "--to", "board")
    assert (status, out) == (2, "")
    assert said in err


def test_into_another_folder(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A ROM's file and a folder of part files lie beside the old board file."""
    (folder / "own").mkdir()
    (folder / "words.bin").write_bytes(bytes([0x3F, 6, 0x5B, 255, 1]))
    (folder / "out").mkdir()
    (folder / "rom.yaml").write_text(
        "board: rom\ncatalogue: own\nparts: {U1: {part: 28C16, contents: words.bin}}\n"
        "nets: {VCC: [U1.24]}\n", "utf-8"
    )  # fmt: skip
    assert run(capsys, "rom.yaml", "--to", "board", "-o", "out/rom.yaml")[0] == 0
    text = (folder / "out/rom.yaml").read_text("utf-8")
    assert 'catalogue: "../own"' in text
    assert "U1: {part: 28C16, contents: [0x3F, 0x06, 0x5B, 0xFF, 0x01]}" in text
    first, second = (load_netlist(folder / name) for name in ("rom.yaml", "out/rom.yaml"))
    assert first.parts[0].contents == second.parts[0].contents
