"""Comparisons of machines of several boards: what is on one of them is written with a dot.

There is no outside source for our own file form; what must come out is written down by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main
from tests.stimulus.test_joined import KEY, LAMP

RIG = """
board: rig
boards: {key: key.yaml, lamp: lamp.yaml}
joins: [key.go to lamp.beat, key.VCC to lamp.VCC, key.GND to lamp.GND]
"""
MODULE = "module toggle(input go, output lit); reg t; assign lit = t;\n{}\nendmodule\n"
PORTS = """
clock: {port: go, net: key.go}
outputs: {lit: lamp.L1}
storage: {t: lamp.U1.R1}
"""


@pytest.fixture
def ports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    for name, text in (("key", KEY), ("lamp", LAMP), ("rig", RIG), ("ports", PORTS)):
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    return tmp_path / "ports.yaml"


@pytest.mark.parametrize(("body", "status"), [("t <= !t;", 0), ("t <= 1'b1;", 1)])
def test_verilog_beside_several_boards(ports: Path, body: str, status: int) -> None:
    """The function table of the 74 (data book): at each rise Q takes D, which is its complement."""
    Path("toggle.v").write_text(MODULE.format(f"always @(posedge go) {body}"), "utf-8")
    assert main(["compare", "rig.yaml", "toggle.v", "--ports", str(ports)]) == status


def test_the_way_out(ports: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("toggle.v").write_text(MODULE.format("always @(posedge go) t <= !t;"), "utf-8")
    ports.write_text(PORTS.replace("lamp.L1", "lamp.L2").replace("U1.R1", "U1.R3"), "utf-8")
    assert main(["compare", "rig.yaml", "toggle.v", "--ports", str(ports)]) == 2
    told = capsys.readouterr().err
    assert "'lamp.L2' is no net or lamp of the board" in told
    assert "Did you mean lamp.L1" in told
    assert "Did you mean lamp.U1.R2 or lamp.U1.R1?" in told


def test_nets_and_clocks_by_name(ports: Path) -> None:
    """The second rig has a gate in use that the first has not; it is no period later."""
    Path("other.yaml").write_text(RIG.replace("key.yaml", "turned.yaml"), "utf-8")
    turned = KEY.replace("[GO.1, R1.2, U1.1]", "[GO.1, R1.2, U1.1, U1.3]").replace(
        "U1.3, U1.5", "U1.5"
    )
    Path("turned.yaml").write_text(
        turned.replace("go: [U1.2]", "go: [U1.2]\n  spare: [U1.4]"), "utf-8"
    )
    call = ["compare", "rig.yaml", "other.yaml"]
    assert main([*call, "--only", "lamp.back"]) == 0
    assert main([*call, "--only", "lamp.none"]) == 2
    assert main([*call, "--latency", "1", "--clock", "key.go"]) == 1
    assert main([*call, "--latency", "1", "--clock", "key.none"]) == 2


PLUG = """
board: plug
parts: {J1: {part: connector, pins: 4}}
nets: {VCC: [J1.1], GND: [J1.2], "bus[1:0]": [J1.3, J1.4]}
ports: {"bus[1:0]": both}
"""
SOURCE = """
board: source
parts:
  U1: 74HC541
  GO: push-button
  R1: {part: resistor, value: 10k}
  J1: {part: connector, pins: 4}
nets:
  VCC: [U1.20, R1.1, J1.1]
  GND: [U1.10, GO.1, U1.G2_n, U1.A1, U1.A2, U1.A3, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8, J1.2]
  off: [GO.2, R1.2, U1.G1_n]
  bus[1:0]: [[U1.Y2, U1.Y1], [J1.3, J1.4]]
ports: {"bus[1:0]": both}
"""


def test_what_is_outside_of_a_port_is_on_another_board_now(
    ports: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The wiring is the same, and what the formulas ask is not. The 541 drives while its enables
    are low (data book)."""
    for name, text in (("plug", PLUG), ("source", SOURCE)):
        Path(f"{name}.yaml").write_text(text, "utf-8")
    for file, one, two in (("old", "plug", "source"), ("new", "source", "plug")):
        Path(f"{file}.yaml").write_text(
            f"board: bench\nboards: {{a: {one}.yaml, b: {two}.yaml}}\njoins: [a.J1 to b.J1]\n"
            'assert: {theirs: "never outside(b.bus)", ours: "never outside(a.bus)"}\n',
            "utf-8",
        )
    assert main(["compare", "old.yaml", "new.yaml"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "formula ours asks what is outside of a port, and that is another now" in told
    assert "theirs holds, now fails" in told
    assert "ours fails, now holds" in told
