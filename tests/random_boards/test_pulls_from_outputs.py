"""A resistor from an output begins at what the output promises, not at the supply.

By hand, from the data books' worst case (LS: V_OL 0.5 V, V_IL 0.8 V, I_IL 0.4 mA; static memory:
V_OL 0.4 V): two inputs make 0.26 V at 330 ohm, which 0.8 V - 0.5 V bears, and 0.38 V at 470 ohm,
which only 0.8 V - 0.4 V bears.
"""

import pytest

from tests.random_boards.running import machine_of
from tests.support.second.wires import ANY, HIGH
from tests.support.witnesses import MachineWitness, Moment, SecondWitness, Start

GATE = """
board: behind-a-resistor
parts:
  U1: {chip}
  U2: 74LS04
  R1: {{part: resistor, value: {ohms}}}
nets:
  VCC: [U1.VCC, U2.14{high}]
  GND: [U1.GND, U2.7{low}]
  near: [U1.{output}, R1.1]
  far: [R1.2, U2.1, U2.3]
"""
CHIPS = {
    "gate": {"chip": "74LS04", "output": "Y1", "high": ", U1.A1", "low": ""},
    "memory": {
        "chip": '"6116"',
        "output": "IO0",
        "high": ", U1.WE_n",
        "low": ", U1.CS_n, U1.OE_n" + "".join(f", U1.A{n}" for n in range(11)),
    },
}


@pytest.mark.parametrize(
    ("chip", "ohms", "enough"),
    [
        ("gate", 330, True),
        ("gate", 470, False),
        ("memory", 470, True),
        ("memory", 680, False),  # 0.54 V
    ],
)
def test_a_low_behind_a_resistor(chip: str, ohms: int, enough: bool) -> None:
    machine = machine_of(GATE.format(ohms=ohms, **CHIPS[chip]))
    net = machine.netlist.net("far")
    assert net is not None
    start = Start(storage={}, memories={}, controls={})
    first = MachineWitness(machine, start, 1)
    second = SecondWitness(machine.netlist, start)
    for witness in (first, second):
        seen = witness.power_up(Moment(controls={}, free=lambda reader: 1))
        assert seen.rounds[-1].nets["far"] == (0 if enough else 1), witness.name
    assert (second.board.sets[net.index] == ANY) is not enough
    assert second.board.sets[net.index] != HIGH


FED = """
board: fed-by-hand
parts:
  U1: 74LS05
  U2: 74LS04
  B: push-button
  R1: {part: resistor, value: 4.7k}
nets:
  VCC: [U1.14, U2.14, B.1]
  GND: [U1.7, U2.7, U1.1]
  near: [U1.2, R1.1, B.2]
  far: [R1.2, U2.1]
"""


def test_a_high_from_the_supply_past_an_output_that_only_sinks() -> None:
    """By hand, from the data book: I_IH 20 uA makes 0.1 V at 4.7k, and 4.75 V less that is above
    2 V. The open collector that is off beside the button promises no high, and takes none away."""
    machine = machine_of(FED)
    net = machine.netlist.net("far")
    assert net is not None
    start = Start(storage={}, memories={}, controls={"B": (1,)})
    second = SecondWitness(machine.netlist, start)
    for witness in (MachineWitness(machine, start, 1), second):
        seen = witness.power_up(Moment(controls={}, free=lambda reader: 0))
        assert seen.rounds[-1].nets["far"] == 1, witness.name
    assert second.board.sets[net.index] == HIGH
