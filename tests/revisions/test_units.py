"""Which gates and inputs of a chip may change places, against the data books' logic symbols."""

from __future__ import annotations

import pytest

from breadproof.specs.netlist.model import Part
from breadproof.verify.revisions.units import Unit, units
from tests.revisions.boards import netlist_of
from tests.support.permuted import GATES, INPUTS


def part_of(printed: str) -> Part:
    netlist = netlist_of(f"board: one\nparts:\n  U1: {printed}\nnets:\n  VCC: [U1.14]\n")
    return netlist.parts[0]


@pytest.mark.parametrize("number", GATES)
def test_gates(number: str) -> None:
    """Each gate of the data book is one unit; all are of one kind."""
    gates = [unit for unit in units(part_of(f"74LS{number}")) if unit.kind]
    pins = {frozenset(number for number, _ in unit.pins) for unit in gates}
    assert pins == {frozenset(gate) for gate in GATES[number]}
    assert len({unit.kind for unit in gates}) == 1


@pytest.mark.parametrize("number", GATES)
def test_inputs(number: str) -> None:
    """The inputs that may change places have one role, all other pins a role of their own."""
    for gate in GATES[number]:
        roles = roles_of(units(part_of(f"74LS{number}")), gate)
        alike = INPUTS.get(number, 1)
        assert len(set(roles[:alike])) == 1
        assert len(set(roles)) == len(gate) - alike + 1


def roles_of(found: tuple[Unit, ...], gate: list[str]) -> list[str]:
    unit = next(unit for unit in found if gate[0] in dict(unit.pins))
    return [dict(unit.pins)[number] for number in gate]


@pytest.mark.parametrize("number", ["51", "163", "173", "138", "283", "6116"])
def test_what_is_one_piece(number: str) -> None:
    """The two halves of a 51 have three and two inputs a gate; the others are one circuit."""
    found = units(part_of(number if number == "6116" else f"74LS{number}"))
    assert len({unit.kind for unit in found if unit.kind}) == len([u for u in found if u.kind]) <= 2


def test_quarters_share_their_select() -> None:
    """The quarters of a 157 have select and enable in common: they may change places, the two data
    inputs may not (data book: the select tells which input is shown)."""
    gates = [unit for unit in units(part_of("74LS157")) if unit.kind]
    assert len(gates) == 4
    assert all(len({role for _, role in unit.pins}) == len(unit.pins) for unit in gates)
