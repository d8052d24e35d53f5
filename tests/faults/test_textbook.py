"""What textbooks know of the faults of small circuits.

A hazard-free cover has a product term that the function does not need: a b + a' c + b c, of which
b c is the consensus of the others (Quine 1955; that it keeps the output from pulsing when a
changes: Huffman 1957). A fault that takes it away is the classic redundant fault of test
generation: no test of levels finds it. That it is there for a reason shows at a clock.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.support import faults_of, group

COVER = """\
board: cover
parts:
  U1: 74LS04
  U2: 74LS00      # b c in the third gate
  U3: 74LS10
  {more}
nets:
  VCC: [U1.14, U2.14, U3.14, {supply}]
  GND: [U1.7, U2.7, U3.7, {ground}]
  a: [U1.1, U2.1]
  a_n: [U1.2, U2.4]
  b: [U2.2, U2.9]
  c: [U2.5, U2.10]
  ab_n: [U2.3, U3.1]
  ac_n: [U2.6, U3.2]
  bc_n: [U2.8, U3.13]
  y: [U3.12{loads}]
  {nets}
ports: {{a: in, b: in, c: in, {port}}}
assert:
  chosen: {{says: y is the one that a selects., formula: "always (y == (a ? b : c))"}}
"""
PLAIN = {
    "more": "",
    "supply": "U1.3",
    "ground": "U1.5",
    "loads": "",
    "nets": "",
    "port": "y: out",
}
CLOCKING = {
    "more": "U4: 74LS74",
    "supply": "U4.14, U4.1, U4.4, U4.10, U4.13",
    "ground": "U4.7, U4.11, U4.12",
    "loads": ", U4.3",
    "nets": "q_n: [U4.6, U4.2]\n  q: [U4.5]",
    "port": "y: out, q: out",
}


@pytest.fixture
def cover(tmp_path: Path) -> Path:
    path = tmp_path / "cover.yaml"
    path.write_text(COVER.format(**PLAIN), "utf-8")
    return path


def test_the_consensus_term_is_redundant(cover: Path) -> None:
    report = faults_of(cover, "open", parts=("U3",), strict=True)
    assert group(report, "open:U3.13").group == "redundant"


@pytest.mark.parametrize("pin", ["U3.1", "U3.2"])
def test_the_other_terms_are_not(cover: Path, pin: str) -> None:
    """Without its wire the input reads high, and the term is gone: y is low where it decides."""
    report = faults_of(cover, "open", parts=("U3",), strict=True)
    one = group(report, f"open:{pin}")
    assert one.detector is not None
    assert (one.group, one.detector.name) == ("detected", "chosen")


def test_where_it_clocks_the_term_is_missed(tmp_path: Path) -> None:
    path = tmp_path / "clocking.yaml"
    path.write_text(COVER.format(**CLOCKING), "utf-8")
    one = group(faults_of(path, "open", parts=("U3",), strict=True), "open:U3.13")
    assert one.detector is not None
    assert (one.group, one.detector.name) == ("detected", "glitch:U4.3")


INVERTERS = """\
board: twice
parts:
  U1: 74LS04
nets:
  VCC: [U1.14]
  GND: [U1.7, U1.5, U1.9, U1.11, U1.13]
  a: [U1.1]
  half: [U1.2, U1.3]
  y: [U1.4]
ports: {a: in, y: out}
"""


def test_stuck_inputs_of_a_chain_cut_its_control_off(tmp_path: Path) -> None:
    """A fan-out-free circuit without redundancy: each of its faults shows at its output (checkpoint
    theorem; Bossen and Hong 1971). Nothing is claimed of this board, but that a control cannot get
    anywhere is a standing check."""
    path = tmp_path / "twice.yaml"
    path.write_text(INVERTERS, "utf-8")
    report = faults_of(path, "open", parts=("U1",), strict=True)
    for pin in ("U1.1", "U1.3"):
        one = group(report, f"open:{pin}")
        assert one.detector is not None
        assert (one.group, one.detector.name) == ("detected", "dead:a")
    for spare in ("U1.5", "U1.9", "U1.11", "U1.13"):
        assert group(report, f"open:{spare}").group == "redundant"


LAMP = """\
board: glow
parts:
  U1: 74LS04
  L1: {part: led}
  R1: {part: resistor, value: 330}
nets:
  VCC: [U1.14, L1.A]
  GND: [U1.7, U1.3, U1.5, U1.9, U1.11, U1.13]
  a: [U1.1]
  y: [U1.2, R1.1]
  k: [R1.2, L1.K]
ports: {a: in}
cover:
  lights: {says: The lamp can be lit., formula: "L1"}
"""


@pytest.mark.parametrize("leg", ["L1.1", "L1.2"])
def test_a_lamp_out_of_its_circuit_is_dark(tmp_path: Path, leg: str) -> None:
    """Ohm: no circuit, no current. The cover that asks for light cannot be reached."""
    path = tmp_path / "glow.yaml"
    path.write_text(LAMP, "utf-8")
    one = group(faults_of(path, "open", parts=("L1",), strict=True), f"open:{leg}")
    assert one.detector is not None
    assert (one.group, one.detector.name) == ("detected", "lights")
