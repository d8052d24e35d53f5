"""A bare crystal beside a gate is a clock source at the gate's input (common practice: an inverter,
1M across it, the crystal beside that, 22 pF from either side to ground)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.devices.support import level, verdicts, watcher

PIERCE = """\
parts:
  U1: 74HC04
  X1: {part: crystal, frequency: 4 MHz}
  RF: {part: resistor, value: 1M}
  RS: {part: resistor, value: 1k}
  C1: {part: capacitor, value: 22p}
  C2: {part: capacitor, value: 22p}
nets:
  VCC: [U1.14]
  GND: [U1.7, C1.2, C2.2]
  x: [X1.PIN, U1.1, C1.1, RF.1]
  y: [X1.POUT, C2.1, RS.2]
  out: [U1.2, RF.2, RS.1, U1.3]
  clk: [U1.4]
assert:
  square: {formula: "always (out == !X1 && clk == X1)"}
cover:
  high: {formula: rose(clk)}
  low: {formula: fell(clk)}
"""


@pytest.mark.parametrize(("one", "other"), [("1", "2"), ("2", "1")])
def test_the_pin_beside_the_input_is_the_source(tmp_path: Path, one: str, other: str) -> None:
    text = PIERCE.replace("X1.PIN", f"X1.{one}").replace("X1.POUT", f"X1.{other}")
    found = verdicts(tmp_path, text)
    assert {found[name] for name in ("square", "high", "low", "quiet")} == {"holds", "covered"}
    walk = watcher(tmp_path, text)
    for high in (1, 0, 1):
        walk.step({"X1": (high,)})
        assert [level(walk, net) for net in ("x", "out", "y", "clk")] == [
            high,
            1 - high,
            1 - high,
            high,
        ]


def test_a_crystal_beside_no_gate_is_nothing(tmp_path: Path) -> None:
    text = (
        PIERCE.replace("X1.PIN", "TP1.1")
        .replace("X1.POUT", "X1.1, X1.2")
        .replace("  RF: {", "  TP1: {part: test-point}\n  RF: {", 1)
    )
    walk = watcher(tmp_path, text.partition("assert:")[0])
    assert walk.machine.netlist.controls == ()
