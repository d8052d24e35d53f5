"""A drawing of 127 chips from four families: converted, checked, exported.

What is joined is known from the generator, which wrote it down pin by pin beside the file.
"""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from tests.edif.workshop import MAPPING, Sketch, rack
from tests.support.netlists import plain


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drawing, its mapping file, and the board file that the command makes of them."""
    made = tmp_path_factory.mktemp("rack")
    (made / "rack.edf").write_text(rack()[0], "utf-8")
    (made / "map.yaml").write_text(MAPPING, "utf-8")
    words = ["convert", str(made / "rack.edf"), "--mapping", str(made / "map.yaml"),
             "--to", "board", "-o", str(made / "rack.yaml")]  # fmt: skip
    assert cli.main(words) == 0
    return made


@pytest.fixture(scope="module")
def board(folder: Path) -> Netlist:
    return load_netlist(folder / "rack.yaml")


@pytest.fixture(scope="module")
def sketch() -> Sketch:
    return rack()[1]


def test_every_package_is_there_once(board: Netlist, sketch: Sketch) -> None:
    chips = [part.name for part in board.parts if part.device == "chip"]
    assert len(chips) == len(set(chips)) == 127
    assert set(chips) == sketch.chips()
    families = {part.family.name for part in board.parts if part.family is not None}
    assert families == {"LS", "HCT", "F", "ACT"}
    others = [part.device for part in board.parts if part.device != "chip"]
    assert {one: others.count(one) for one in set(others)} == {
        "resistor-network": 48, "led-bar": 48, "capacitor": 127,
    }  # fmt: skip


def test_every_pin_is_joined_as_it_is_drawn(board: Netlist, sketch: Sketch) -> None:
    """And supply pins, which are not drawn, to the supplies; the test pin is left out."""
    drawn = {
        frozenset(pins - {"TP1.1"}) for net, pins in sketch.wired.items() if net[0] not in "+G"
    }
    drawn |= {frozenset(pins) for net, pins in sketch.wired.items() if net.startswith("GROUP#")}
    supplies = {"GND", "VCC"}
    found = {
        frozenset(pin.label for pin in net.pins) for net in board.nets if net.name not in supplies
    }
    assert found == drawn
    hidden = {"VCC": ("+5V", {"14", "16", "20"}), "GND": ("GND", {"7", "8", "10"})}
    for net in board.nets:
        if net.name in supplies:
            name, numbers = hidden[net.name]
            labels = {pin.label for pin in net.pins}
            assert sketch.wired[name] <= labels
            rest = labels - sketch.wired[name]
            assert len(rest) == 127
            assert {label.partition(".")[2] for label in rest} == numbers


def test_names(board: Netlist) -> None:
    """Written by hand from the drawing's names."""
    names = {net.name for net in board.nets}
    assert {"D[7]", "Q0[0]", "Q47[7]", "EN0_n", "WR_n", "CHAIN_1", "N_100", "VCC", "GND"} <= names
    vectors = {vector.name: (vector.left, vector.right) for vector in board.vectors}
    assert (vectors["D"], vectors["A"], vectors["SEL0_n"]) == ((7, 0), (5, 0), (7, 0))
    assert {(port.name, port.direction) for port in board.ports} == {
        ("D", "in"), ("A", "in"), ("WR_n", "in"), ("load_n", "in"), ("odd", "out"),
    }  # fmt: skip


def test_nothing_is_lost(folder: Path) -> None:
    """Original names, properties, comments and what was left out stand in comments."""
    text = (folder / "rack.yaml").read_text("utf-8")
    for told in (
        "# From the EDIF 2 0 0 file rack.edf (drawing, workshop, 2026-11-25), design lamp_rack.",
        "# Comment of the drawing: The lamp rack of the workshop",
        "# VCC is +5V of the drawing.",
        "# Pins of a led-bar that have numbers are counted as board files do: k is A of lamp k",
        "# Left out, as the mapping file says: MH1; TP1 on load_n.",
        "  U101: SN74LS377N  # instance r0; cell REG377; Part Number: SN74LS377N",
        "  # /EN0 on the drawing\n  EN0_n: [U101.1, U300.3]",
        "  # N$100 on the drawing",
    ):
        assert told in text
    assert len(re.findall(r"^  U\d+:", text, re.MULTILINE)) == 127


def test_the_board_file_that_names_it_says_the_same(folder: Path, board: Netlist) -> None:
    path = folder / "beside.yaml"
    path.write_text("board: lamp_rack\nedif: {file: rack.edf, mapping: map.yaml}\n", "utf-8")
    assert plain(load_netlist(path)) == plain(board)


def test_it_checks_and_exports(folder: Path) -> None:
    """No wiring rule fires: the drawing is meant to be right."""
    for words in (("check", "rack.yaml"), ("export", "rack.yaml", "--to", "amaranth", "-o", "r.py"),
                  ("convert", "rack.yaml", "--to", "edif", "-o", "again.edf")):  # fmt: skip
        run = [sys.executable, "-m", "breadproof", *words]
        ran = subprocess.run(run, cwd=folder, capture_output=True, text=True, check=False)
        assert (ran.returncode, ran.stderr) == (0, ""), ran.stdout
        assert words[0] != "check" or "nothing is wrong" in ran.stdout
    assert "class" in (folder / "r.py").read_text("utf-8")


def test_what_is_unknown_is_told_once(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With counts, near names and what to write."""
    short = folder / "short.yaml"
    lines = [line for line in MAPPING.splitlines() if "CAP" not in line and "LAMPS" not in line]
    short.write_text("\n".join([*lines, ""]).replace("TESTPIN*", "T?"), "utf-8")
    text = (folder / "rack.edf").read_text("utf-8").replace("SN74LS377N", "SN74LS3777N")
    (folder / "wrong.edf").write_text(text, "utf-8")
    words = ["convert", str(folder / "wrong.edf"), "--mapping", str(short), "--to", "board"]
    assert cli.main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    said = [line.partition(": error: ")[2] for line in err.splitlines() if ": error: " in line]
    assert sorted(said) == [
        "cell 'CAP100N' with '100NF' is no part that is known: 127 of them, C1, C2, C3, C4, C5, C6 "
        "and more [edif-unknown-part]",
        "cell 'LAMPS' is no part that is known: 48 of them, LB1, LB2, LB3, LB4, LB5, LB6 and more "
        "[edif-unknown-part]",
        "cell 'REG377' with 'SN74LS3777N' is no part that is known: 12 of them, U101, U109, U117, "
        "U125, U133, U141 and more [edif-unknown-part]",
        "cell 'TESTPIN' is no part that is known: TP1 [edif-unknown-part]",
    ]
    assert "  Did you mean 74LS377" in err
    assert (
        "Say in the mapping file which part it is: 'cells: {\"CAP100N\": PART}', or 'ignore'" in err
    )
