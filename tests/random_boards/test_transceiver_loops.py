"""Registered transceivers with both ways open and driving: a loop through two latches.

No signal passes storage within a round (design.md, section 4), so the loop is no loop of a round.
With inverting ways it keeps what it has while the two latches differ, as two inverters in a ring
do, and goes round for ever while they are alike; with true ways the two levels change places.
"""

from collections.abc import Mapping

import pytest

from tests.random_boards.running import machine_of
from tests.support.witnesses import (
    AmaranthWitness,
    MachineWitness,
    Moment,
    SecondWitness,
    Start,
    Witness,
)

OPEN = """
board: open-both-ways
parts: {{U1: 74F{number}}}
nets:
  VCC: [U1.24]
  GND: [U1.12, U1.LEAB_n, U1.LEBA_n, U1.CEAB_n, U1.CEBA_n, U1.OEAB_n, U1.OEBA_n]
  a: [U1.A0]
  b: [U1.B0]
ports: {{a: out, b: out}}
"""


@pytest.mark.parametrize(
    ("number", "la", "lb", "quiet"),
    [
        ("544", 0, 1, True),
        ("544", 1, 0, True),
        ("544", 0, 0, False),
        ("544", 1, 1, False),
        ("543", 0, 0, True),
        ("543", 1, 1, True),
        ("543", 0, 1, False),
        ("543", 1, 0, False),
    ],
)
def test_all_witnesses_tell_when_the_ring_of_latches_rests(
    number: str, la: int, lb: int, quiet: bool
) -> None:
    machine = machine_of(OPEN.format(number=number))
    content: Mapping[str, int] = {
        store.label: la if store.storage == "LA" else lb for store in machine.stores
    }
    start = Start(storage=content, memories={}, controls={})
    witnesses: list[Witness] = [
        MachineWitness(machine, start, 1),
        SecondWitness(machine.netlist, start),
        AmaranthWitness(machine.netlist, start),
    ]
    for witness in witnesses:
        seen = witness.power_up(Moment(controls={}, free=lambda reader: 0))
        assert seen.quiet is quiet, witness.name
