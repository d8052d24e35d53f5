"""Scripts on a machine of several boards: what is on one of them is written with a dot, as in the
formulas of the file that joins them, or as reports name it."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main

KEY = """
board: key
parts: {GO: push-button, R1: {part: resistor, value: 10k}, U1: 74HC14}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, GO.2, U1.3, U1.5, U1.9, U1.11, U1.13]
  go_n: [GO.1, R1.2, U1.1]
  go: [U1.2]
ports: {go: out}
"""
LAMP = """
board: lamp
parts: {U1: 74HC74, L1: led, R1: {part: resistor, value: 330}}
nets:
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13]
  GND: [U1.7, R1.2, U1.11, U1.12]
  beat: [U1.3]
  q: [U1.5, L1.1]
  back: [U1.6, U1.2]
  k: [L1.2, R1.1]
ports: {beat: in}
"""
DESK = """
board: desk
parts:
  U1: "6116"
  MODE: {part: spdt, positions: [SET, SHOW]}
  WAY: {part: dip-switch, ways: 2}
  RN1: {part: resistor-network, ways: 3, value: 10k}
nets:
  VCC: [U1.24, RN1.1, U1.OE_n]
  GND:
    - [U1.12, MODE.1, WAY.3, WAY.4, U1.CS_n, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5]
    - [U1.A4, U1.A3, U1.A2, U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2]
  we_n: [MODE.2, RN1.2, U1.WE_n]
  way[2:1]: [[WAY.2, WAY.1], [RN1.3, RN1.4], [U1.A1, U1.A0]]
  bus[1:0]: [U1.IO1, U1.IO0]
ports: {"bus[1:0]": both, "way[2:1]": out}
"""
RIG = """
board: rig
boards: {key: key.yaml, lamp: lamp.yaml, desk: desk.yaml}
joins:
  - key.go to lamp.beat
  - key.VCC to lamp.VCC
  - key.GND to lamp.GND
  - key.VCC to desk.VCC
  - key.GND to desk.GND
  - desk.bus[1] to lamp.q
  - desk.bus[0] to lamp.back
"""


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, text in (("key", KEY), ("lamp", LAMP), ("desk", DESK), ("rig", RIG)):
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    return tmp_path / "script.yaml"


@pytest.mark.parametrize("control", ["key.GO", "key/GO"])
def test_dots_name_what_is_on_a_board(rig: Path, control: str) -> None:
    """The function table of the 74 (data book): at each rise Q takes D, which is its complement."""
    rig.write_text(
        f"stimulus:\n- press: {control}\n- check: {{lamp.q: 1, lamp.L1: 1, key.go: 0}}\n"
        f"- press: {control}\n- check: {{lamp.U1.5: 0}}\n",
        "utf-8",
    )
    assert main(["simulate", "rig.yaml", "--script", str(rig)]) == 0
    rig.write_text(f"stimulus:\n- press: {control}\n- check: {{lamp.q: 0}}\n", "utf-8")
    assert main(["simulate", "rig.yaml", "--script", str(rig)]) == 1


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("check: {lamp: 1}", "What is on it is written with a dot: lamp.NAME."),
        ("check: {lamp.qq: 1}", "{lamp.qq: 1} ^^^^^^^ Did you mean lamp.q or"),
        ("press: key.G", "Did you mean key.GO?"),
        ("check: {says: x, formula: desk.MODE}", "Write desk.MODE == SET."),
        ("drive: {desk.MODE: SHO}", "desk.MODE has no position 'SHO'"),
        ("press: desk.WAY", "Name one, such as desk.WAY[1]; 'drive: {desk.WAY: 2'h1}' sets all."),
        ("press: lamp.L1", "Its controls are key.GO, desk.MODE, desk.WAY."),
        ("check: {says: x, formula: outside(desk.bus)}", "a simulation does not see outside()"),
    ],
)
def test_the_way_out(rig: Path, entry: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    rig.write_text(f"stimulus:\n- {entry}\n", "utf-8")
    assert main(["simulate", "rig.yaml", "--script", str(rig)]) == 2
    assert told in " ".join(capsys.readouterr().err.split())


def test_what_goes_out_of_a_board_is_shown(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing else is there to see: the port of the one board, which no other takes in."""
    Path("alone.yaml").write_text("board: alone\nboards: {key: key.yaml}\n", "utf-8")
    rig.write_text("stimulus:\n- drive: {key.GO: 1}\n", "utf-8")
    assert main(["simulate", "alone.yaml", "--script", str(rig)]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    place = lines.index(["step", "rounds", "done", "key/go"])
    assert [line[-1] for line in lines[place + 1 : place + 3]] == ["1'b0", "1'b1"]


def test_switches_and_memories(rig: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The 6116 writes while CS_n and WE_n are low (data book); a closed way is 0 here."""
    rig.write_text(
        "stimulus:\n- drive: {desk.WAY: 2'b01}\n- check: {desk.way: 2'b10, desk.MODE: SET}\n"
        '- press: key.GO\n- check: {"desk.U1.M[2][1:0]": 2\'b10}\n'
        "- press: desk.MODE\n- drive: {desk.MODE: SHOW}\n- press: key.GO\n"
        '- check: {desk.MODE: SHOW, "desk.U1.M[2][1:0]": 2\'b10}\n'
        "- check: desk.MODE == SHOW\n",
        "utf-8",
    )
    call = ["simulate", "rig.yaml", "--script", str(rig), "--watch", "desk.MODE,desk.WAY"]
    assert main([*call, "--dump", "desk.U1=desk.bin"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["step", "rounds", "done", "desk.MODE", "desk.WAY"] in lines
    assert ["SHOW", "2'h1"] in [line[-2:] for line in lines]
    assert Path("desk.bin").read_bytes()[2] == 2
    assert main([*call, "--dump", "desk.U2=desk.bin"]) == 2
    assert "Did you mean desk.U1.M?" in capsys.readouterr().err
