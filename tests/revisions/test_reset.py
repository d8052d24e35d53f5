"""Comparing after the reset that the board file declares, with all that it says of it.

Expected values follow from the function tables of the data books: a 163 is cleared at the rising
edge of its clock, a 161 and a 175 as soon as CLR_n is low, a 574 has no clear.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main
from breadproof.verify.report.page import PLAIN
from breadproof.verify.revisions.compare import Compared, Unknown, Wanted
from breadproof.verify.revisions.text import text
from tests.revisions.agreement import compared

STEPS = """
board: step-clear
title: A counter of lights that is cleared at the clock's edge
family: HC
parts:
  U1: 74HC163
  CLK: {part: oscillator, frequency: 1 kHz}
  CLEAR: {part: push-button}
  R1: {part: resistor, value: 10k}
nets:
  VCC: [U1.16, U1.9, U1.7, U1.10, CLK.14, R1.1]
  GND: [U1.8, CLK.7, CLEAR.2, U1.3, U1.4, U1.5, U1.6]
  clk: [CLK.8, U1.2]
  clear_n: [CLEAR.1, R1.2, U1.1]
  q[3:0]: [[U1.11, U1.12, U1.13, U1.14]]
ports: {"q[3:0]": out}
reset: {press: CLEAR, clocks: 2}
"""
# counting waits while CLEAR is pressed, which nobody sees: cleared is cleared
WAITS = STEPS.replace("U1.7, U1.10, CLK.14", "U1.7, CLK.14").replace(
    "clear_n: [CLEAR.1, R1.2, U1.1]", "clear_n: [CLEAR.1, R1.2, U1.1, U1.10]"
)
KEPT = """
board: kept-scene
title: A scene that a clear leaves alone, and its number
family: HC
parts:
  U1: 74HC161
  U2: 74HC574
  U3: 74HC04
  CLK: {part: oscillator, frequency: 1 kHz}
  TAKE: {part: push-button}
  CLEAR: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
nets:
  VCC: [U1.16, U1.9, U1.7, U1.10, U2.20, U3.14, CLK.14, R1.1, R2.1]
  GND: [U1.8, U2.10, U2.1, U3.7, CLK.7, CLEAR.2, TAKE.2, U1.3, U1.4, U1.5, U1.6, U2.6, U2.7, U2.8,
        U2.9, U3.3, U3.5, U3.9, U3.11, U3.13]
  clk: [CLK.8, U1.2]
  clear_n: [CLEAR.1, R1.2, U1.1]
  take_n: [TAKE.1, R2.2, U3.1]
  take: [U3.2, U2.11]
  q[3:0]: [[U1.11, U1.12, U1.13, U1.14], [U2.5, U2.4, U2.3, U2.2]]
  scene[3:0]: [[U2.16, U2.17, U2.18, U2.19]]
ports: {"q[3:0]": out, "scene[3:0]": out}
reset: {press: CLEAR, keeps: [U2]}
"""
ANOTHER_GATE = KEPT.replace("take_n: [TAKE.1, R2.2, U3.1]", "take_n: [TAKE.1, R2.2, U3.3]").replace(
    "take: [U3.2, ", "take: [U3.4, "
).replace("U3.3, U3.5", "U3.1, U3.5").replace("U2: 74HC574", "U2: 74HCT574")  # fmt: skip
SLOW = """
board: slow-clear
title: A register whose clear has a capacitor, and a lamp by its first bit
family: HC
parts:
  U1: 74HC175
  U2: 74HC14
  CLK: {part: oscillator, frequency: 1 kHz}
  CLEAR: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 1k}
  C1: {part: capacitor, value: 10u}
nets:
  VCC: [U1.16, U2.14, CLK.14, R1.1]
  GND: [U1.8, U2.7, CLK.7, CLEAR.2, C1.2, U2.5, U2.9, U2.11, U2.13]
  clk: [CLK.8, U1.9]
  pad: [CLEAR.1, R1.2, R2.1]
  slow_n: [R2.2, C1.1, U2.1]
  clear: [U2.2, U2.3]
  clear_n: [U2.4, U1.1]
  a: [U1.2, U1.5]
  b: [U1.7, U1.12]
  c: [U1.10, U1.13]
  d: [U1.15, U1.4]
ports: {a: out, b: out, c: out, d: out}
reset: {press: CLEAR}
"""
TURNED = SLOW.replace("a: [U1.2, U1.5]", "a: [U1.2, U1.12]").replace(
    "b: [U1.7, U1.12]", "b: [U1.7, U1.5]"
)
"""Two bits feed each other instead of the next: different as long as they are not cleared."""


def looked_at(folder: Path, old: str, new: str) -> Compared:
    paths = (folder / "one.yaml", folder / "two.yaml")
    for path, board in zip(paths, (old, new), strict=True):
        path.write_text(board, "utf-8")
    return compared(*paths, Wanted(start="reset", proofs=False))


def said(found: Compared) -> str:
    return " ".join(text(found, PLAIN, ("old", "new")).split())


def behaves(found: Compared) -> str:
    """What is found of the levels, whatever the checks of pins say, which are not made."""
    answered = found.answered
    assert answered is not None
    ports = {answered.fates[item.name] for item in found.items if item.kind == "port"}
    return ports.pop() if len(ports) == 1 else "some"


def test_clocks_change_as_often_as_the_file_says(tmp_path: Path) -> None:
    found = looked_at(tmp_path, STEPS, WAITS)
    assert behaves(found) == "same"


def test_without_a_clock_a_163_is_not_cleared(tmp_path: Path) -> None:
    without = ", clocks: 2"
    found = looked_at(tmp_path, STEPS.replace(without, ""), WAITS.replace(without, ""))
    assert behaves(found) == "differs"
    told = said(found)
    assert "begins after CLEAR held, and released; anything was stored before" in told
    assert "not reset U1.R: not the same right after the reset" in told


def test_clocks_that_change_otherwise_are_another_reset(tmp_path: Path) -> None:
    with pytest.raises(Unknown, match="different resets"):
        looked_at(tmp_path, STEPS, WAITS.replace("clocks: 2", "clocks: 3"))


def test_what_the_reset_leaves_alone_begins_alike(tmp_path: Path) -> None:
    assert behaves(looked_at(tmp_path, KEPT, ANOTHER_GATE)) == "same"


def test_a_register_without_a_clear_is_not_reset(tmp_path: Path) -> None:
    """The wires to the gate have nothing to do with it, and are not blamed."""
    without = ", keeps: [U2]"
    found = looked_at(tmp_path, KEPT.replace(without, ""), ANOTHER_GATE.replace(without, ""))
    assert found.behaviour == "differs"
    told = said(found)
    assert "not reset U2.R: " in told
    assert "('keeps: [U2]' under 'reset:'" in told
    assert "comes from U3" not in told


def test_a_capacitor_is_waited_for(tmp_path: Path) -> None:
    """All four bits are low once it was discharged, and stay so: each takes in another of them."""
    assert behaves(looked_at(tmp_path, SLOW, TURNED)) == "same"


def test_a_formula_while_which_is_compared_has_checks_of_its_own(tmp_path: Path) -> None:
    """A flip-flop of a gated clock, which may pulse, tells when is compared; what is compared, two
    levels of a port, has no such pin below it."""
    shared = """
board: gated
parts:
  U1: 74HC08
  U2: 74HC74
  U3: 74HC04
nets:
  VCC: [U1.14, U2.14, U3.14, U2.1, U2.4, U2.10, U2.13]
  GND: [U1.7, U2.7, U3.7, U1.9, U1.10, U1.12, U1.13, U2.11, U2.12, U3.5, U3.9, U3.11, U3.13]
  a: [U1.1, U3.1]
  b: [U1.2, U2.2]
  gated: [U1.3, U2.3]
  flag: [U2.5]
  a_n: [U3.2, U3.3]
  y: [U3.4{more}]
  z: [U1.6]
ports: {{a: in, b: in, y: out}}
"""
    old = shared.format(more="").replace("GND: [", "GND: [U1.4, U1.5, ")
    new = shared.format(more=", U1.4, U1.5").replace("y: [U3.4,", "inner: [U3.4,").replace(
        "z: [U1.6]", "y: [U1.6]"
    )  # fmt: skip
    paths = (tmp_path / "one.yaml", tmp_path / "two.yaml")
    for path, board in zip(paths, (old, new), strict=True):
        path.write_text(board, "utf-8")
    for when, pins in (("", set()), ("flag", {"glitch:U2.3", "race:U2.3", "float:U2.3"})):
        found = compared(*paths, Wanted(only=("y",), proofs=False, when=when))
        assert behaves(found) == "same"
        assert {name.split(" (")[0] for name in found.unclean} == pins
        assert (found.behaviour == "same") is (not pins)


def test_beside_verilog_clocks_change_as_the_file_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of two changes of the clock one is a rise, at which both are cleared; one may be a fall."""
    module = """
    module steps(input clk, input clear_n, output reg [3:0] q);
      always @(posedge clk) if (!clear_n) q <= 0; else q <= q + 1;
    endmodule
    """
    (tmp_path / "steps.v").write_text(module, "utf-8")
    ports = "clock: {port: clk, net: clk}\ninputs: {clear_n: clear_n}\noutputs: {q: q}\n"
    (tmp_path / "ports.yaml").write_text(ports, "utf-8")
    for changes, status in (("1", 1), ("2", 0)):
        board = tmp_path / "steps.yaml"
        board.write_text(STEPS.replace("clocks: 2", f"clocks: {changes}"), "utf-8")
        words = ["compare", str(board), str(tmp_path / "steps.v"), "--plain", "--after", "reset"]
        assert main([*words, "--jobs", "1", "--ports", str(tmp_path / "ports.yaml")]) == status
        told = " ".join(capsys.readouterr().out.split())
        times = "1 time" if changes == "1" else "2 times"
        assert f"after CLEAR held, CLK changing {times}, and released" in told
