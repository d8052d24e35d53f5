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
RIG = """
board: rig
boards: {key: key.yaml, lamp: lamp.yaml}
joins: [key.go to lamp.beat, key.VCC to lamp.VCC, key.GND to lamp.GND]
"""


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, text in (("key", KEY), ("lamp", LAMP), ("rig", RIG)):
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
        ("press: key.G", "Did you mean key/GO?"),
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
