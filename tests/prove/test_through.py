"""Pulses pass through open latches.

Sources: a transparent latch's output follows its input while it is enabled (function table of the
373, data book, from memory); a selector without a covering term pulses when its select changes
while both inputs are high (static-1 hazard, textbook).
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.prove.prover import prove_board

BOARD = """
board: pass-through
parts:
  U1: 74LS373
  U2: 74LS74
  U3: 74LS157
  TAKE: push-button
  OPEN: push-button
  R1: {{part: resistor, value: 1k}}
  R2: {{part: resistor, value: 1k}}
  OSC: {{part: oscillator}}
nets:
  VCC: [U1.20, U2.14, U3.16, R1.1, R2.1, OSC.14, U3.A1, U3.B1, U2.PRE1_n, U2.CLR1_n{high}]
  GND: [U1.10, U2.7, U3.8, OSC.7, TAKE.1, OPEN.1, U1.OE_n, U3.G_n{low}]
  sel: [TAKE.2, R1.2, U3.S]
  open: [OPEN.2, R2.2{open}]
  y: [U3.Y1, U1.D0]
  q: [U1.Q0{q}]
  d: [OSC.8{d}]
  out: [U2.Q1]
"""


def verdicts(tmp_path: Path, **wires: str) -> dict[str, str]:
    """Verdicts by name; the latch's output clocks the flip-flop unless told otherwise."""
    joined = {"high": "", "low": "", "open": "", "q": ", U2.CLK1", "d": ", U2.D1"} | wires
    path = tmp_path / "board.yaml"
    path.write_text(BOARD.format(**joined), encoding="utf-8")
    _, results = prove_board(load_machine(path), seconds=20)
    return {result.name: result.verdict for result in results}


@pytest.mark.parametrize("wires", [{"high": ", U1.LE"}, {"open": ", U1.LE"}])
def test_an_open_latch_before_a_clock_must_not_pulse(tmp_path: Path, wires: dict[str, str]) -> None:
    """The selector may pulse although its level stays, and the latch, if open, hands that on."""
    found = verdicts(tmp_path, **wires)
    assert found["glitch:U1.3"] == "fails"
    assert found["glitch:U2.3"] == "holds"


def test_a_closed_latch_lets_nothing_through(tmp_path: Path) -> None:
    """Enable on ground: nothing passes, and there is nothing to check."""
    assert "glitch:U1.3" not in verdicts(tmp_path, low=", U1.LE")


def test_an_open_latch_before_a_data_pin_is_nobodys_harm(tmp_path: Path) -> None:
    """A pulse at a data input away from the clock's edge is not taken in."""
    found = verdicts(tmp_path, high=", U1.LE", q=", U2.D1", d=", U2.CLK1")
    assert "glitch:U1.3" not in found
    assert found["glitch:U2.3"] == "holds"


MEMORY = """
board: address-latch
parts:
  U1: 74LS373
  U3: 74LS157
  U4: 6116
  TAKE: push-button
  OPEN: push-button
  R1: {{part: resistor, value: 1k}}
  R2: {{part: resistor, value: 1k}}
nets:
  VCC: [U1.20, U3.16, U4.24, R1.1, R2.1, U3.A1, U3.B1, U4.OE_n{high}]
  GND: [U1.10, U3.8, U4.12, TAKE.1, OPEN.1, U1.OE_n, U3.G_n, U4.CS_n, U4.WE_n,
        U4.IO0, U4.IO1, U4.IO2, U4.IO3, U4.IO4, U4.IO5, U4.IO6, U4.IO7,
        U4.A1, U4.A2, U4.A3, U4.A4, U4.A5, U4.A6, U4.A7, U4.A8, U4.A9, U4.A10{low}]
  sel: [TAKE.2, R1.2, U3.S]
  open: [OPEN.2, R2.2]
  y: [U3.Y1, U1.D0]
  a0: [U1.Q0, U4.A0]
"""


@pytest.mark.parametrize(
    ("wires", "verdict"), [({"high": ", U1.LE"}, "fails"), ({"low": ", U1.LE"}, "holds")]
)
def test_an_address_that_pulses_through_an_open_latch_while_writing(
    tmp_path: Path, wires: dict[str, str], verdict: str
) -> None:
    """The settled address never moves; the selector's pulse reaches it through the open latch."""
    path = tmp_path / "board.yaml"
    path.write_text(MEMORY.format(**({"high": "", "low": ""} | wires)), encoding="utf-8")
    _, results = prove_board(load_machine(path), seconds=20)
    assert {r.name: r.verdict for r in results}["race:U4.21"] == verdict
