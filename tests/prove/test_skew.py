"""Two registers in a row whose clocks come through different gates (design.md section 4).

A clock that comes later at the second register than at the first takes in what is new: Weste and
Harris, CMOS VLSI Design, clock skew. That a 74165 shifts at either of its two clock pins while the
other is low: the data book's function table and its note that they may change places. A 7474 takes
D at the rising edge: its function table.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.page import PLAIN
from breadproof.verify.report.replay import replay
from breadproof.verify.report.storytext import story_lines

SHIFTED = """\
board: shifted
parts:
  U1: 74HC165
  U2: 74HC74
  U3: 74HC04
  R1: {part: resistor, value: 10k}
nets:
  VCC: [U1.16, "U2.[14, 1, 4, 10, 13]", U3.14]
  GND: [U1.8, U1.10, "U2.[7, 11, 12]", "U3.[7, 5, 9, 11, 13]", "U1.D[7:0]", R1.1]
  load_n: [U1.1]
  beat: [U3.1, U3.3]
  clk: [U3.2, U2.3]
  twin: [U3.4]
  low: [R1.2]
  bit: [U1.9, U2.2]
  q: [U2.5]
ports: {load_n: in, beat: in, q: out}
"""
"""A shift register, and the flip-flop that its bits go into; two inverters of one beat."""


def looked_at(folder: Path, wires: dict[str, str]) -> tuple[Machine, Result]:
    """The race at the flip-flop's clock, with more pins on some nets."""
    text = SHIFTED
    for net, pins in wires.items():
        text = text.replace(f"  {net}: [", f"  {net}: [{pins}, ")
    path = folder / "shifted.yaml"
    path.write_text(text, "utf-8")
    machine = load_machine(path)
    _, results = prove_board(machine, only=("race:U2.3",), seconds=20)
    return machine, results[0]


@pytest.mark.parametrize(
    "wires",
    [
        {"clk": "U1.CLK", "GND": "U1.CLK_INH"},
        {"clk": "U1.CLK_INH", "GND": "U1.CLK"},
        {"clk": "U1.CLK", "low": "U1.CLK_INH"},
    ],
)
def test_a_clock_pin_that_is_tied_off_is_no_clock(tmp_path: Path, wires: dict[str, str]) -> None:
    """Both are clocked by one net."""
    assert looked_at(tmp_path, wires)[1].verdict == "holds"


@pytest.mark.parametrize(
    "wires",
    [{"twin": "U1.CLK", "GND": "U1.CLK_INH"}, {"twin": "U1.CLK_INH", "clk": "U1.CLK"}],
)
def test_two_inverters_of_one_beat_are_two_clocks(tmp_path: Path, wires: dict[str, str]) -> None:
    assert looked_at(tmp_path, wires)[1].verdict == "fails"


def test_what_races_is_named(tmp_path: Path) -> None:
    machine, result = looked_at(tmp_path, {"twin": "U1.CLK", "GND": "U1.CLK_INH"})
    assert result.trace is not None
    told = tell(result, replay(machine, result.trace))
    lines = story_lines(told, result.trace, PLAIN)
    chains = [
        line.rpartition("  -> ")[0].split("  ")[-1].strip() for line in lines if " -> " in line
    ]
    assert "U3.1 (A1) -> U3.2 (Y1)" in chains
    assert chains[-2:] == ["U3.3 (A2) -> U3.4 (Y2)", "U1.2 (CLK) -> U1.9 (Q7)"]
    assert lines[-2:] == [
        "  cause   U2.2 (D1) changes right behind this edge, by way of another net: which of the "
        "two nets is",
        "          sooner decides whether the old level or the new one is taken in",
    ]
