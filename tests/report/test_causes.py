"""Which changes a pulse is blamed on: the fewest that are enough, by the gates' truth tables.

The texts were written down beside the boards' wiring: what an AND gate, a selector and a counter do
by their function tables (data book), and that of two inputs of an AND gate that change against each
other neither alone changes its output from low.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from breadproof.verify.board import BoardReport
from breadproof.verify.report.jsonout import report_object
from tests.report import boards as b
from tests.report.test_stories import text

AND = """\
board: together
parts:
  U1: 74LS08
  U2: 74LS374
  UP: {part: push-button}
  DOWN: {part: push-button}
  IDLE: {part: push-button}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
  R3: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U2.20, R1.1, R2.1, R3.1]
  GND: [U1.7, U2.10, U2.1, UP.1, DOWN.1, IDLE.1]
  up: [UP.2, R1.2, U1.1]
  down: [DOWN.2, R2.2, U1.2]
  idle: [IDLE.2, R3.2, U1.4, U1.5]
  clk: [U1.3, U2.11]
together: [[UP, DOWN, IDLE]]
"""


def cause(text: str) -> str:
    """The last paragraph, on one line."""
    return " ".join(text.rpartition("\n\n")[2].split())


def test_json_tells_it_too(tmp_path: Path) -> None:
    """The two controls of the board below; a formula has no such thing."""
    machine = b.machine_of(tmp_path, AND)
    trace = b.walked(
        machine, [{"UP": (0,), "DOWN": (1,), "IDLE": (1,)}], start={"UP": (1,)}
    )  # fmt: skip
    result = replace(b.broken("glitch:U2.11", trace), kind="standing")
    formula = b.broken("still", trace)
    told = report_object(
        BoardReport(
            machine=machine,
            wiring=(),
            results=(result, formula),
            verdict="fail",
            rounds=2,
            seconds=1.0,
        )
    )
    assert [one["started_by"] for one in told["results"]] == [
        {"controls": ["UP", "DOWN"], "storage": [], "round": 0},
        None,
    ]


def test_what_takes_two_controls_is_told_apart(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, AND)
    trace = b.walked(
        machine, [{"UP": (0,), "DOWN": (1,), "IDLE": (1,)}], start={"UP": (1,)}
    )  # fmt: skip
    told = text(machine, "glitch:U2.11", trace, "standing")
    assert cause(told) == (
        "cause it takes the changes of UP and DOWN together; one of them less, and nothing pulses"
    )


def test_a_pulse_on_the_way_is_told_as_one(tmp_path: Path) -> None:
    """A selector with both inputs high, and its select at an AND gate behind it: 0101."""
    board = """\
board: dynamic
parts:
  U1: 74LS157
  U2: 74LS08
  U3: 74LS374
  GO: {part: push-button}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.16, U2.14, U3.20, U1.2, U1.3, R1.1]
  GND: [U1.8, U2.7, U3.10, U3.1, U1.15, GO.1]
  go_n: [GO.2, R1.2, U1.1, U2.1]
  y: [U1.4, U2.2]
  clk: [U2.3, U3.11]
"""
    machine = b.machine_of(tmp_path, board)
    trace = b.walked(machine, [{"GO": (0,)}], start={"GO": (1,)})
    told = text(machine, "glitch:U3.11", trace, "standing")
    assert "net clk rises and may pulse on its way -> U3.11 (CLK)" in told
    assert "U1.1 (S) -> U1.4 (Y1)   -> net y may pulse\n" in told
    assert cause(told) == "cause the change of GO; nothing else has to change with it"


def test_storage_bits_are_named_with_the_control_that_moved_them(tmp_path: Path) -> None:
    """From 1 to 2 bit 0 of a counter falls and bit 1 rises, and an AND gate may see both."""
    board = """\
board: decoded
parts:
  U1: 74LS163
  U2: 74LS08
  U3: 74LS374
  GO: {part: push-button}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.16, U2.14, U3.20, U1.1, U1.7, U1.9, U1.10, R1.1]
  GND: [U1.8, U2.7, U3.10, U3.1, U1.3, U1.4, U1.5, U1.6, GO.1]
  go_n: [GO.2, R1.2, U1.2]
  q0: [U1.14, U2.1]
  q1: [U1.13, U2.2]
  clk: [U2.3, U3.11]
"""
    machine = b.machine_of(tmp_path, board)
    trace = b.walked(machine, [{"GO": (0,)}], start={"GO": (1,)}, storage={"U1.R[0]": 1})
    assert cause(text(machine, "glitch:U3.11", trace, "standing")) == (
        "cause it takes the changes of U1.R[0] and U1.R[1] together, after GO; one of them less, "
        "and nothing pulses"
    )
