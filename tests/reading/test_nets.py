"""Nets of a board file: the same pins, written in one row or in several (specs/manual/board.md)."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.specs.reading.diagnostics import BadInput

BOARD = """\
board: rows
parts: {{U1: 74LS04, C1: {{part: capacitor, value: 100n}}, C2: {{part: capacitor, value: 100n}}}}
nets:
  VCC: {vcc}
  GND: [U1.7, C1.2, C2.2]
"""


def pins(folder: Path, vcc: str) -> list[str]:
    path = folder / "rows.yaml"
    path.write_text(BOARD.format(vcc=vcc), "utf-8")
    net = load_netlist(path).net("VCC")
    assert net is not None
    return sorted(pin.label for pin in net.pins)


def test_rows_of_a_net_are_all_joined(tmp_path: Path) -> None:
    wanted = ["C1.1", "C2.1", "U1.1", "U1.14", "U1.3"]
    for vcc in (
        "[U1.14, U1.1, U1.3, C1.1, C2.1]",
        '["U1.[14, 1, 3]", [C1.1, C2.1]]',
        "\n    - U1.[14, 1, 3]\n    - [C1.1, C2.1]",
    ):
        assert pins(tmp_path, vcc) == wanted


def test_who_names_one_bit_of_a_vector_is_told_of_the_wire(tmp_path: Path) -> None:
    path = tmp_path / "bits.yaml"
    vector = "  q[1:0]: [U1.2, U1.4]\n"
    path.write_text(BOARD.format(vcc="[U1.14, C1.1]") + vector + "  q[0]: [U1.1]\n", "utf-8")
    with pytest.raises(BadInput) as bad:
        load_netlist(path)
    (problem,) = bad.value.diagnostics
    assert (problem.span.line, problem.message) == (7, "'q[0]' is no name for a net")
    assert "'- U1.2 to q[0]' under 'wires:'" in (problem.hint or "")
    wire = "wires:\n  - U1.1 to q[0]\n"
    path.write_text(BOARD.format(vcc="[U1.14, C1.1]") + vector + wire, "utf-8")
    net = load_netlist(path).net("q[0]")
    assert net is not None
    assert {pin.label for pin in net.pins} == {"U1.4", "U1.1"}
