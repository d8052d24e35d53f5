"""The command `check`: what it says beside the wiring."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main

BOARD = """\
board: lamp
parts: {U1: 74HC04, C1: {part: capacitor, value: 100n}}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, U1.3, U1.5, U1.9, U1.11]
  a: [U1.1]
  y: [U1.2]
ports: {a: in, y: out}
assert: {turned: "always (y == !NAME)"}
"""
"""U1.13 was forgotten: a CMOS input that is open (common practice: an error)."""


@pytest.mark.parametrize(("name", "status"), [("a", 1), ("b", 2)])
def test_a_wrong_name_in_a_formula_hides_no_wiring(
    name: str, status: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "lamp.yaml"
    path.write_text(BOARD.replace("NAME", name), "utf-8")
    assert main(["check", str(path)]) == status
    out, err = capsys.readouterr()
    assert "input U1.13 (A6) is open" in out
    assert ("lamp.yaml:9:33: error: nothing on this board is called 'b'" in err) is (status == 2)
