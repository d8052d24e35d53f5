"""What is said to mend a formula does: on the board that is wired so at once it holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.rescue import Rescue, rescues, retied
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import sketch
from tests.prove.test_brute import load
from tests.support.brute import Explorer, Formulas

SHOWS_A = 'assert: {shows-a: {says: "", formula: "always (y == a)"}}\n'


def selector(folder: Path, select: str, strobe: str) -> Machine:
    """A 157 with its select (1) and strobe (15) at a supply; low, it shows A (data book, 74157)."""
    nets = {"a": "U1.A1", "b": "U1.B1", "y": "U1.Y1"}
    made = sketch(folder, "U1:157", nets, "a b")
    made.wire(select, "U1.S")
    made.wire(strobe, "U1.G_n")
    return load(made, SHOWS_A)


def mended_by(machine: Machine) -> list[Rescue]:
    results: list[Result] = list(prove_board(machine, seconds=10)[1])
    good = {one.name for one in results if one.verdict != "fails"}
    failed = next(one for one in results if one.name == "shows-a")
    assert failed.verdict == "fails"
    return list(rescues(machine, failed, good, Deadline(20)))


def test_select(tmp_path: Path) -> None:
    """Select at high shows B; tied low, it shows A. Nothing else helps."""
    found = mended_by(selector(tmp_path, "VCC", "GND"))
    assert found == [Rescue(pin="U1.1", level="low", broken=())]
    assert found[0].text == "with U1.1 tied low instead, it holds"


def test_strobe(tmp_path: Path) -> None:
    found = mended_by(selector(tmp_path, "GND", "VCC"))
    assert found == [Rescue(pin="U1.15", level="low", broken=())]


def test_two_faults_have_no_single_way_out(tmp_path: Path) -> None:
    assert mended_by(selector(tmp_path, "VCC", "VCC")) == []


def test_a_wire(tmp_path: Path) -> None:
    """Select on a net shows what it likes; taken off and tied low, it shows A. Searched so."""
    nets = {"a": "U1.A1", "b": "U1.B1", "y": "U1.Y1", "s": "U1.S", "GND": "U1.G_n"}
    machine = load(sketch(tmp_path, "U1:157", nets, "a b s"), SHOWS_A)
    found = mended_by(machine)
    assert found == [Rescue(pin="U1.1", level="low", net="s")]
    assert found[0].text == "with U1.1 off s and tied low, it holds"
    netlist = retied(machine.wired, "U1.1", high=False)
    assert netlist is not None
    space = Explorer(netlist, []).explore()
    assert Formulas(space, []).shortest(netlist.formulas[0].expr, False) is None


@pytest.mark.parametrize(("label", "holds"), [("U1.1", True), ("U1.15", False)])
def test_retied(tmp_path: Path, label: str, holds: bool) -> None:
    """The board with a pin at the other supply, searched state by state."""
    machine = selector(tmp_path, "VCC", "GND")
    before = {pin.label: pin.net for pin in machine.wired.pins()}
    netlist = retied(machine.wired, label, high=label == "U1.15")
    assert netlist is not None
    after = {pin.label: pin.net for pin in netlist.pins()}
    assert {one for one in after if after[one] != before[one]} == {label}
    listed = {pin.label: net.index for net in netlist.nets for pin in net.pins}
    assert listed == {one: net for one, net in after.items() if net is not None}
    space = Explorer(netlist, []).explore()
    assert (Formulas(space, []).shortest(netlist.formulas[0].expr, False) is None) == holds
