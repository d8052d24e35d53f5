"""Assumptions that are said to mend a formula do: with them in the board file it holds.

The boards with the assumption are searched state by state (`tests.support.brute`), or, where
something is waited for, for cycles (`tests.support.lassos`); what helps is worked out by hand.
"""

from __future__ import annotations

from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.rescue import with_rescues
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.supposing import Supposed, supposings
from tests.prove.boards import sketch
from tests.prove.test_brute import load
from tests.prove.test_endless import CLOCK
from tests.support.brute import Explorer
from tests.support.lassos import violates_for_ever

SELECTOR = {"a": "U1.A1", "b": "U1.B1", "y": "U1.Y1", "s": "U1.S", "GND": "U1.G_n"}
FLOP = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}


def formula(text: str, more: str = "") -> str:
    return f'{more}assert: {{f0: {{says: "", formula: "{text}"}}}}\n'


def found(machine: Machine) -> list[Supposed]:
    result = next(one for one in prove_board(machine, seconds=10)[1] if one.name == "f0")
    assert result.verdict == "fails"
    return list(supposings(machine, result, Deadline(60)))


def assumed(one: Supposed) -> str:
    """The assumption as it is to be pasted."""
    return f'assume: {{{one.name}: {{says: "", formula: "{one.formula}"}}}}\n'


def test_a_select_that_stays(tmp_path: Path) -> None:
    """A 157 shows what it showed while neither its select nor the input it shows moves (data book,
    74157): of the three each one may move it, so the one that the run moves is no way out alone."""
    text = "always (stable(a) && stable(b) -> stable(y))"
    made = sketch(tmp_path, "U1:157", SELECTOR, "a b s")
    machine = load(made, formula(text))
    assert [(one.name, one.formula) for one in found(machine)] == [("s-stays", "always stable(s)")]
    assert found(machine)[0].text == (
        'if s stays as it is, it holds; to assume it: {s-stays: "always stable(s)"}'
    )


def test_pasted_the_assumption_helps(tmp_path: Path) -> None:
    """Searched for cycles: without it there is a violation, with it none."""
    made = sketch(tmp_path, "U1:9001", FLOP, "c d")
    cases = {"always eventually! (q == d)": "c-goes-on", "always stable(q)": "c-stays"}
    for text, name in cases.items():
        machine = load(made, formula(text))
        one = next(one for one in found(machine) if one.name == name)
        for more, violated in (("", True), (assumed(one), False)):
            netlist = load(made, formula(text, more)).netlist
            space = Explorer(netlist, []).explore()
            assumes = [f.expr for f in netlist.formulas if f.kind == "assume"]
            expr = next(f.expr for f in netlist.formulas if f.name == "f0")
            assert violates_for_ever(space, assumes, expr) is violated, (text, more)


def test_what_then_never_comes_true_is_no_way_out(tmp_path: Path) -> None:
    """That c stays makes `rose(c)` impossible: the formula would say nothing."""
    machine = load(sketch(tmp_path, "U1:9001", FLOP, "c d"), formula("always (rose(c) -> d)"))
    assert all(one.name != "c-stays" for one in found(machine))


def test_what_the_run_does_not_move_is_not_tried(tmp_path: Path) -> None:
    machine = load(sketch(tmp_path, "U1:9001", FLOP, "c d"), formula("never q"))
    assert found(machine) == []


def test_a_clock_that_goes_on_already_is_not_told(tmp_path: Path) -> None:
    more = f'assume: {{c-goes-on: {{says: "", formula: "{CLOCK}"}}}}\n'
    machine = load(sketch(tmp_path, "U1:9001", FLOP, "c d"), formula("eventually! q", more))
    assert all(one.name != "c-goes-on" for one in found(machine))


def test_it_is_told_as_a_note(tmp_path: Path) -> None:
    made = sketch(tmp_path, "U1:157", SELECTOR, "a b s")
    machine = load(made, formula("always (stable(a) && stable(b) -> stable(y))"))
    results = with_rescues(machine, prove_board(machine, seconds=10)[1], 20.0)
    (notes,) = [one.notes for one in results if one.name == "f0"]
    assert notes[-1].startswith("if s stays as it is, it holds")


def test_on_one_of_several_boards(tmp_path: Path) -> None:
    """It is written with a dot, as the file that joins boards has it; the 04 inverts (data
    book)."""
    (tmp_path / "key.yaml").write_text(
        "board: key\nparts: {U1: 74HC04, GO: push-button, R1: {part: resistor, value: 10k}}\n"
        "nets:\n  VCC: [U1.14, R1.1]\n  GND: [U1.7, GO.1, U1.3, U1.5, U1.9, U1.11, U1.13]\n"
        "  go_n: [GO.2, R1.2, U1.1]\n  go: [U1.2]\n",
        "utf-8",
    )
    path = tmp_path / "rig.yaml"
    rig = "board: rig\nboards: {key: key.yaml}\n" + formula("never (rose(key.go))")
    path.write_text(rig, "utf-8")
    (one,) = found(load_machine(path))
    assert (one.name, one.formula) == ("key-GO-stays", "always stable(key.GO)")
    path.write_text(rig + assumed(one), "utf-8")
    verdicts = {r.name: r.verdict for r in prove_board(load_machine(path), seconds=10)[1]}
    assert verdicts["f0"] == "holds"
