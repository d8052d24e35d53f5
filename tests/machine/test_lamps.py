"""When a lamp is lit: a current from a high to a low, and none where one end hangs in the air.

Source: an LED conducts from anode to cathode (common practice). An open-collector output that lets
go leaves its end of the lamp in the air, and so does a switch that is open.
"""

from pathlib import Path

import pytest

from breadproof.export.simulate import Bench
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker

SINKING = """
board: sinking
parts:
  U1: 74LS05
  D1: {part: led}
  R1: {part: resistor, value: 330}
nets:
  VCC: [U1.14, D1.A]
  GND: [U1.7, U1.3, U1.5, U1.9, U1.11, U1.13]
  a: [U1.1]
  y: [U1.2, R1.1]
  k: [R1.2, D1.K]
ports: {a: in}
"""
DRIVEN = SINKING.replace("74LS05", "74LS04")
SWITCHED = """
board: switched
parts:
  U1: 74LS04
  S1: push-button
  D1: {part: led}
  R1: {part: resistor, value: 330}
nets:
  VCC: [U1.14, S1.1]
  GND: [U1.7, U1.1, U1.3, U1.5, U1.9, U1.11, R1.2]
  open: [U1.13]
  on: [S1.2, D1.A]
  k: [D1.K, R1.1]
"""


def machine_of(tmp_path: Path, text: str) -> Machine:
    path = tmp_path / "board.yaml"
    path.write_text(text, "utf-8")
    return load_machine(path)


@pytest.mark.parametrize("free", [0, 1])
@pytest.mark.parametrize(
    ("text", "control"), [(SINKING, "a"), (DRIVEN, "a"), (SWITCHED, "S1")],
    ids=["open collector", "push-pull", "switch"],
)  # fmt: skip
def test_a_lamp_is_lit_exactly_while_current_flows(
    tmp_path: Path, text: str, control: str, free: int
) -> None:
    """Whatever a floating net is taken for; the Amaranth modules light the same lamps."""
    machine = machine_of(tmp_path, text)
    for level in (0, 1):
        walker = Walker(
            machine,
            free=lambda reader: free,
            choice=lambda loop, cut: 0,
            storage={},
            controls={control: (level,)},
        )
        walker.power_up()
        assert walker.before is not None
        assert walker.before.levels[machine.lamps["D1"]] == level
        bench = Bench(machine.netlist)
        bench.set_free(dict.fromkeys(machine.free, free))
        bench.step({control: (level,)})
        assert bench.context.get(bench.at("D1")) == level
