"""The Darlington driver: pin-out and limits of the data sheet, from memory, a second time."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.registry import check_wiring
from tests.devices.support import level, watcher


def test_inputs_face_their_outputs() -> None:
    """Input k is pin k, its output opposite at 19 - k; ground 9, the diodes' common 10."""
    pins = {pin.number: pin.name for pin in Catalogue().part("ULN2803").pins}
    assert pins == {
        **{str(k): f"A{k}" for k in range(1, 9)},
        **{str(19 - k): f"Y{k}" for k in range(1, 9)},
        "9": "GND",
        "10": "COM",
    }


BOARD = """\
parts:
  U1: ULN2803
  U2: 74HC04
  R1: {part: resistor, value: 10k}
nets:
  VCC: [U2.14, R1.1]
  GND: [U1.9, U2.7, U2.3, U2.5, U2.9, U2.11, U2.13, U1.2, U1.3, U1.4, U1.5, U1.6, U1.7, U1.8]
  in: [U1.1]
  out: [U1.18, R1.2, U2.1]
ports: {in: in}
"""


@pytest.mark.parametrize(("high", "found"), [(0, 1), (1, 0)])
def test_a_high_pulls_its_output_low(tmp_path: Path, high: int, found: int) -> None:
    walk = watcher(tmp_path, BOARD)
    walk.step({"in": (high,)})
    assert level(walk, "out") == found


def test_its_low_is_told_where_it_is_no_low(tmp_path: Path) -> None:
    """1.1 V at 100 mA: more than an LS input takes for a low (0.8 V). It needs no supply pin."""
    path = tmp_path / "board.yaml"
    path.write_text("board: cue-panel\n" + BOARD.replace("74HC04", "74LS04"), "utf-8")
    codes = {f.code for f in check_wiring(load_netlist(path)) if f.code != "decoupling-missing"}
    assert codes == {"level-mismatch"}
