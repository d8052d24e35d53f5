"""Nets of a board file: the same pins, written in one row or in several (specs/manual/board.md)."""

from __future__ import annotations

from pathlib import Path

from breadproof.specs.load import load_netlist

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
