"""Rules on machines of several boards: each board is looked at as it is alone.

There is no outside source for our own file form; what must come out is written down by hand.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from breadproof.cli import main
from breadproof.specs.load import load_netlist
from breadproof.verify.report.differences import finding_lines
from breadproof.verify.report.entries import Entries
from breadproof.verify.report.page import Page
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring

BOARD = """\
board: gated
parts:
  U1: 74HC32
  U2: 74HC74
  GO: push-button
  R1: {part: resistor, value: 10k}
  C1: {part: capacitor, value: 100n}
  C2: {part: capacitor, value: 100n}
nets:
  VCC: [U1.14, U2.14, R1.1, C1.1, C2.1, U2.1, U2.4, U2.10, U2.13]
  GND: [U1.7, U2.7, GO.2, C1.2, C2.2, U2.12, U2.11, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13]
  a: [U1.1]
  b: [U1.2, GO.1, R1.2]
  gate: [U1.3, U2.3]
  d: [U2.2]
  q: [U2.5]
ports: {a: in, d: in, q: out}
"""
ACCEPT = """\
accept:
  - {code: strobe-gated, net: gate, because: proved}
  - {code: switch-bounces, net: gate, because: counted once}
"""
OWN = """\
parts: {U1: 74HC04, C1: {part: capacitor, value: 100n}}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, U1.3, U1.5, U1.9, U1.11, U1.13]
  i: [U1.1]
  o: [U1.2]
"""


def wiring(tmp_path: Path, y: str, joins: str, own: str = "") -> list[Finding]:
    (tmp_path / "x.yaml").write_text(BOARD + ACCEPT, "utf-8")
    (tmp_path / "y.yaml").write_text(y, "utf-8")
    path = tmp_path / "both.yaml"
    path.write_text(
        f"board: both\n{own}boards: {{x: x.yaml, y: y.yaml}}\njoins: [x.VCC to y.VCC, {joins}]\n",
        "utf-8",
    )
    return list(check_wiring(load_netlist(path)))


@pytest.mark.parametrize("join", ["x.gate to y.d", "x.d to y.gate"])
def test_a_board_accepts_by_its_own_names(tmp_path: Path, join: str) -> None:
    """Also on a net that is called as that of another board now."""
    found = wiring(tmp_path, BOARD + ACCEPT, f"x.GND to y.GND, {join}")
    assert sorted((one.code, one.pins[0], one.accepted) for one in found) == [
        ("strobe-gated", "x/U2.3", "proved"),
        ("strobe-gated", "y/U2.3", "proved"),
        ("switch-bounces", "x/U2.3", "counted once"),
        ("switch-bounces", "y/U2.3", "counted once"),
    ]


def test_a_board_accepts_for_itself_alone(tmp_path: Path) -> None:
    found = wiring(tmp_path, BOARD, "x.GND to y.GND, x.q to y.d")
    assert sorted((one.code, one.pins[0], one.accepted) for one in found) == [
        ("strobe-gated", "x/U2.3", "proved"),
        ("strobe-gated", "y/U2.3", ""),
        ("switch-bounces", "x/U2.3", "counted once"),
        ("switch-bounces", "y/U2.3", ""),
    ]


def test_capacitors_of_one_board_are_not_beside_the_chips_of_another(tmp_path: Path) -> None:
    """One beside each chip (common practice): two are missing, however many the other has."""
    more = "  C3: {part: capacitor, value: 100n}\n  C4: {part: capacitor, value: 100n}\n"
    rich = BOARD.replace("nets:\n", f"{more}nets:\n").replace("C2.1,", "C2.1, C3.1, C4.1,")
    rich = rich.replace("C2.2,", "C2.2, C3.2, C4.2,")
    poor = BOARD.replace("C1.1, C2.1, ", "").replace("C1.2, C2.2, ", "")
    poor = "\n".join(line for line in poor.splitlines() if "capacitor" not in line) + "\n"
    found = wiring(tmp_path, poor, "x.GND to y.GND")
    (tmp_path / "x.yaml").write_text(rich, "utf-8")
    found = list(check_wiring(load_netlist(tmp_path / "both.yaml")))
    (one,) = [one for one in found if one.code == "decoupling-missing"]
    assert one.pins == ("y/U1.14", "y/U2.14")
    assert one.message.startswith("2 decoupling capacitors are missing")


def test_the_joining_files_own_parts_share_the_ground(tmp_path: Path) -> None:
    """What is told to be joined is a join, and then nothing is told."""
    joins = "x.GND to U1.7, x.VCC to U1.14, y.q to U1.1, U1.2 to x.a"
    found = wiring(tmp_path, BOARD, joins, OWN)
    (one,) = [one for one in found if one.code == "grounds-parted"]
    assert one.message.endswith("though this file's own parts and boards x and y share i")
    hint = "Join them: 'U1.3 to y.GND'."
    assert one.hint == hint
    joins += f", {hint.split(chr(39))[1]}"
    found = wiring(tmp_path, BOARD, joins, OWN)
    assert not [one for one in found if one.code == "grounds-parted"]


FED = """\
board: fed
supply: {voltage: 3.3 V, current: 5 mA}
parts: {U1: 74LVC04, C1: {part: capacitor, value: 100n}, L1: led, R1: {part: resistor, value: 470}}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, R1.2, U1.1, U1.3, U1.5, U1.9, U1.11, U1.13]
  lit: [U1.2, L1.A]
  k: [L1.K, R1.1]
"""


@pytest.mark.parametrize(
    ("own", "codes"), [("", ["current-budget"]), ("supply: {voltage: 3.3 V, current: 10 mA}\n", [])]
)
def test_what_the_supply_gives(tmp_path: Path, own: str, codes: list[str]) -> None:
    """Two LEDs at 470 ohm, 3.1 mA each from 3.465 V by Ohm's law (2 V across an LED): one board's
    5 mA are enough for one, and not for both, which share a supply."""
    for name in ("x", "y"):
        (tmp_path / f"{name}.yaml").write_text(FED, "utf-8")
    path = tmp_path / "both.yaml"
    path.write_text(
        f"board: both\n{own}boards: {{x: x.yaml, y: y.yaml}}\n"
        "joins: [x.VCC to y.VCC, x.GND to y.GND]\n",
        "utf-8",
    )
    assert not check_wiring(load_netlist(tmp_path / "x.yaml"))
    netlist = load_netlist(path)
    assert netlist.supply == 3.3
    found = check_wiring(netlist)
    assert [one.code for one in found] == codes
    assert all(one.span.file.endswith("x.yaml") for one in found)


def test_a_shorted_supply_of_one_board(tmp_path: Path) -> None:
    """A wire from VCC to GND is what it is alone."""
    shorted = BOARD + "wires: [VCC to GND]\n"
    found = wiring(tmp_path, shorted, "x.q to y.d")
    assert "supplies-joined" in {one.code for one in found}


def test_what_several_boards_take_from_elsewhere(tmp_path: Path) -> None:
    """What is told to be written is read, and then nothing is told."""
    plain = BOARD + ACCEPT
    found = wiring(tmp_path, plain, "x.GND to y.GND, x.a to y.a")
    (one,) = [one for one in found if one.code == "net-undriven"]
    parts, nets, ports, join = re.findall(r"'([^']*)'", one.hint)
    own = f"{parts}\n{nets}\n{ports}\n"
    found = wiring(tmp_path, plain, f"x.GND to y.GND, x.a to y.a, {join}", own)
    assert not [one for one in found if not one.accepted]


def test_places_are_in_the_board_s_own_file(tmp_path: Path) -> None:
    """As `breadproof watch` tells them."""
    found = wiring(tmp_path, BOARD, "x.GND to y.GND, x.q to y.d")
    told = " ".join(finding_lines(None, found, Entries(page=Page(width=400))))
    for name in "xy":
        assert re.search(rf"{re.escape(str(tmp_path))}/{name}\.yaml:14:16\s+\[strobe-gated\]", told)


def test_wires_are_those_of_each_board(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command names the files to ask for, and each of them is a board."""
    wiring(tmp_path, BOARD, "x.GND to y.GND")
    assert main(["wires", str(tmp_path / "both.yaml")]) == 2
    told = capsys.readouterr().err
    assert f"Ask for those of {tmp_path}/x.yaml or {tmp_path}/y.yaml." in told
