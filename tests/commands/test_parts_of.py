"""`breadproof parts --of BOARD`: the light-store's list by counts made by hand from its file."""

import csv
import io
import json
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.load import load_netlist

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
STORE = str(BOARDS / "light-store.yaml")
CHIPS = {
    "74LS00": "U16 U17", "74LS02": "U19", "74LS10": "U18", "74LS14": "U20", "74LS74": "U14 U15",
    "74LS139": "U21", "74LS163": "U11", "74LS173": "U7 U8 U9 U10", "74LS374": "U12 U13",
    "74LS541": "U3 U4 U5 U6", "6116": "U1 U2",
}  # fmt: skip
PASSIVES = {
    ("capacitor", "100 nF"): 21, ("capacitor", "10 uF"): 1,
    ("resistor-network", "330 ohm, 8 isolated"): 2,
    ("resistor-network", "10k, 4 with a common pin"): 1,
    ("resistor-network", "10k, 6 with a common pin"): 1,
    ("resistor-network", "10k, 8 with a common pin"): 4,
}  # fmt: skip
DEVICES = {
    ("dip-switch", "2 ways"): 1, ("dip-switch", "6 ways"): 1, ("dip-switch", "12 ways"): 1,
    ("led", ""): 16, ("push-button", ""): 12, ("spdt", ""): 3,
}  # fmt: skip
SHORT = """\
board: stage
supply: {voltage: 5 V, current: 30 mA}
parts:
  U1: "7400"
  U2: 74LS00
  L1: {part: led}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 4k7}
  X1: {part: connector, pins: 2}
nets:
  VCC: [U1.14, U2.14, L1.A, R2.1]
  GND: [U1.7, U2.7]
  a: [U1.1, U1.2, R2.2, X1.1]
  y: [U1.3, U2.1, U2.2]
  z: [U2.3, R1.1]
  k: [R1.2, L1.K]
"""
# 22 mA (7400) and 4.4 mA (LS00): I_CCL of the data books, from memory. (5.25 V - 2 V) / 1k;
# 5.25 V / 4.7k, which whoever is at the connector may pull low.
TEXT = """\
stage: parts list

chips
   1  74LS00     DIP-14  U2
   1  7400       DIP-14  U1

passives
   1  resistor   1k      R1
   1  resistor   4.7k    R2

devices
   1  connector  2 pins  X1
   1  led                L1

2 packages: 2 x DIP-14

6 spare gates (inputs to outputs)
  U1 7400    3 of 4    4, 5 to 6; 9, 10 to 8; 12, 13 to 11
  U2 74LS00  3 of 4    4, 5 to 6; 9, 10 to 8; 12, 13 to 11

current from the supply of 5 V, at most
        22 mA  1 x 7400, 22 mA each (from memory of the data book)
       4.4 mA  1 x 74LS00, 4.4 mA each (from memory of the data book)
      3.25 mA  1 x LED at 1k, 3.25 mA each ((5.25 V - 2 V) / 1k)
      1.12 mA  1 x pull of 4.7k, 1.12 mA each (5.25 V / 4.7k)
  30.77 mA
  the supply gives 30 mA: too little
  Guaranteed maxima at a supply 5 % high, all LEDs lit and all pulls pulled. Not counted: what CMOS
  takes for switching and for inputs between the rails (HCT driven by LS), input currents, and what
  is fed through ports and connectors.
"""


def parts(*words: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert cli.main(["parts", *words]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_the_list_of_the_light_store(capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads(parts("--of", STORE, "--json", capsys=capsys))
    lines = told["parts"]
    chips = {line["part"]: " ".join(line["names"]) for line in lines if line["kind"] == "chip"}
    assert chips == CHIPS
    for kind, wanted in (("passive", PASSIVES), ("device", DEVICES)):
        found = {(x["part"], x["value"]): x["count"] for x in lines if x["kind"] == kind}
        assert found == wanted
    assert all(line["count"] == len(line["names"]) for line in lines)
    assert told["packages"] == 21
    assert told["sockets"] == {"DIP-14": 7, "DIP-16": 6, "DIP-20": 6, "DIP-24": 2}
    assert sum(len(one["units"]) for one in told["spare"]) == 23
    assert told["current"]["known"] == pytest.approx(0.707126, rel=1e-5)
    assert (told["current"]["stated"], told["current"]["unknown"]) == (None, ["U1", "U2"])


def test_boards_of_a_machine_are_counted_together(capsys: pytest.CaptureFixture[str]) -> None:
    """The sequencer is the light-store and the tempo board: one 555 more."""
    told = json.loads(parts("--of", str(BOARDS / "sequencer.yaml"), "--json", capsys=capsys))
    assert told["packages"] == 22
    names = {name for line in told["parts"] for name in line["names"]}
    assert {"store/U21", "beat/U1"} <= names


def test_a_stated_current_outlives_conversion(tmp_path: Path) -> None:
    """Board to EDIF to board to board."""
    first, drawn, second, third = (
        tmp_path / name for name in ("board.yaml", "board.edf", "second.yaml", "third.yaml")
    )
    first.write_text(SHORT, "utf-8")
    for source, to, target in ((first, "edif", drawn), (drawn, "board", second)):
        assert cli.main(["convert", str(source), "--to", to, "-o", str(target)]) == 0
    assert cli.main(["convert", str(second), "--to", "board", "-o", str(third)]) == 0
    for board in (second, third):
        netlist = load_netlist(board)
        assert netlist.supply == 5.0
        assert netlist.supply_current == pytest.approx(0.03)


def test_the_csv_is_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    rows = list(csv.DictReader(io.StringIO(parts("--of", STORE, "--csv", capsys=capsys))))
    assert {row["part"]: row["names"] for row in rows if row["kind"] == "chip"} == CHIPS
    assert sum(int(row["count"]) for row in rows) == 21 + 30 + 34
    assert rows[0] == {
        "count": "2", "kind": "chip", "part": "74LS00", "value": "", "package": "DIP-14",
        "names": "U16 U17", "title": "Quad 2-input NAND gate",
    }  # fmt: skip


def test_the_text(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    board = tmp_path / "board.yaml"
    board.write_text(SHORT, "utf-8")
    assert parts("--of", str(board), capsys=capsys) == TEXT


@pytest.mark.parametrize(
    ("gives", "memory", "line"),
    [
        ("1 A", "", "  the supply gives 1000 mA: enough\n"),
        ("1 A", '\n  U3: "6116"', "1000 mA: whether that is enough depends on U3\n"),
        ("20 mA", '\n  U3: "6116"', "  the supply gives 20 mA: too little\n"),
    ],
)
def test_whether_it_is_enough(
    gives: str, memory: str, line: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    board = tmp_path / "board.yaml"
    text = SHORT.replace("30 mA", gives).replace("\n  U2:", f"{memory}\n  U2:")
    board.write_text(text, "utf-8")
    assert line in parts("--of", str(board), capsys=capsys)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--csv"], "--csv goes with --of"),
        (["--of", STORE, "--csv", "--json"], "instead of --json"),
        (["--of", STORE, "74LS00"], "--of is of one board"),
        (["--of", STORE, "--table"], "four jobs: give one"),
        (["--of", "nowhere.yaml"], "nowhere.yaml"),
    ],
)
def test_wrong_calls(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["parts", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
