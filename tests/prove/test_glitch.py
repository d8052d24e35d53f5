"""What may pulse: levels that stay, levels on their way, and what must not be taken for a pulse.

Sources: the logic diagrams of the 157, 08, 04 and 74 and the 28C16's note that its outputs are not
valid until the access time is over (data books, from memory); the static and the dynamic hazard of
the textbooks (S. H. Unger, Asynchronous Sequential Switching Circuits, 1969, from memory).
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.prove.prover import prove_board

HEAD = """
board: strobes
parts:
  U1: 74LS157
  U2: 74LS08
  U3: 74LS74
  U4: 74LS04
  U5: 74LS00
  GO: push-button
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  GND: [U1.8, U2.7, U3.7, U4.7, U5.7, GO.1, U1.G_n, U3.D1]
  VCC: [U1.16, U2.14, U3.14, U4.14, U5.14, U3.PRE1_n, R1.1, R2.1]
  sure: [R2.2, U1.A1, U1.B1, U3.CLR1_n]
"""
WAYS = {
    "button": "  go: [GO.2, R1.2, U3.CLK1]",
    "inverter": "  go: [GO.2, R1.2, U4.A1]\n  clk: [U4.Y1, U3.CLK1]",
    "both inputs of a gate": "  go: [GO.2, R1.2, U5.A1, U5.B1]\n  clk: [U5.Y1, U3.CLK1]",
    "selector": "  go: [GO.2, R1.2, U1.S]\n  clk: [U1.Y1, U3.CLK1]",
    "selector and its select": (
        "  go: [GO.2, R1.2, U1.S, U2.A1]\n  y: [U1.Y1, U2.B1]\n  clk: [U2.Y1, U3.CLK1]"
    ),
    "two ways of one direction": (
        "  go: [GO.2, R1.2, U2.A1, U4.A1]\n  n: [U4.Y1, U4.A2]\n  same: [U4.Y2, U2.B1]\n"
        "  clk: [U2.Y1, U3.CLK1]"
    ),
}


def results(tmp_path: Path, text: str) -> dict[str, tuple[str, int | None]]:
    path = tmp_path / "board.yaml"
    path.write_text(text, encoding="utf-8")
    _, found = prove_board(load_machine(path), seconds=20)
    return {one.name: (one.verdict, one.steps) for one in found}


@pytest.mark.parametrize(
    ("way", "verdict"),
    [
        ("button", "holds"),  # a contact and a pull-up: one change
        ("inverter", "holds"),
        ("both inputs of a gate", "holds"),
        ("two ways of one direction", "holds"),  # the gate waits for the later one
        ("selector", "fails"),  # static hazard: 101
        ("selector and its select", "fails"),  # dynamic hazard: the level changes, as 0101
    ],
)
def test_a_clock_pin(tmp_path: Path, way: str, verdict: str) -> None:
    text = HEAD + WAYS[way] + "\nassert:\n"
    net = "go" if way == "button" else "clk"
    text += f'  clean: {{says: "", formula: "never glitches({net})"}}\n'
    found = results(tmp_path, text)
    assert found["glitch:U3.3"][0] == verdict
    assert found["clean"][0] == verdict


ROM = """
board: rom-strobe
parts:
  U1: {{part: 28C16, contents: ["0x01", "0x01", "0x00", "0x03"]}}
  U2: 74LS74
  U3: "6116"
  STEP: push-button
  R1: {{part: resistor, value: 1k}}
  R2: {{part: resistor, value: 1k}}
nets:
  VCC: [U1.24, U2.14, U3.24, U1.WE_n, U2.PRE1_n, U2.CLR1_n, U3.OE_n, R1.1, R2.1]
  GND: [U1.12, U2.7, U3.12, STEP.1, U1.CE_n, U1.OE_n, U3.CS_n, U3.A0, U3.A1, U3.A2, U3.A3,
    U3.A4, U3.A5, U3.A6, U3.A7, U3.A8, U3.A9, U3.A10, U3.IO0, U3.IO1, U3.IO2, U3.IO3, U3.IO4,
    U3.IO5, U3.IO6, U3.IO7, U1.A1, U1.A2, U1.A3, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8, U1.A9,
    U1.A10]
  step: [STEP.2, R1.2, U1.A0]
  clk: [U2.CLK1]
{wires}
ports: {{clk: in}}
"""


def test_a_rom_s_output_may_write_while_its_address_moves(tmp_path: Path) -> None:
    """Words 0 and 1 both have a 1 at the write pin, and yet it may write."""
    found = results(tmp_path, ROM.format(wires="  we_n: [U1.IO0, U3.WE_n]\n  d: [U2.D1, R2.2]"))
    assert found["glitch:U3.21"][0] == "fails"


def test_a_rom_s_output_behind_a_flip_flop_writes_at_the_clock_alone(tmp_path: Path) -> None:
    found = results(tmp_path, ROM.format(wires="  d: [U1.IO0, U2.D1]\n  we_n: [U2.Q1, U3.WE_n]"))
    assert found["glitch:U3.21"][0] == "holds"
    assert found["glitch:U2.3"][0] == "holds"


def test_what_is_said_of_writes_rests_on_the_write_pin(tmp_path: Path) -> None:
    """Over levels nothing is ever written; but the pin may pulse, so nothing is said."""
    wires = "  we_n: [U1.IO0, U3.WE_n]\n  d: [U2.D1, R2.2]"
    text = ROM.format(wires=wires) + 'assert:\n  no: {says: "", formula: "never writes(U3)"}\n'
    assert results(tmp_path, text)["no"][0] == "undecided"
