"""The board inside a design for an FPGA: proved to do what the board does; faults told apart."""

from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.export.fpga.design import Design
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.inside import equal_inside
from tests.fpga.boards import LOOK_UP, LOOK_UP_TARGET, PAD, PAD_TARGET, machine_of, written
from tests.fpga.synthesized import Synthesis, synthesized
from tests.support.second_solver import answer

Made = tuple[Machine, Synthesis]


def made(folder: Path, board: str, target: str) -> Made:
    machine = machine_of(folder, board)
    return machine, synthesized(machine.netlist, written(folder, target, "target.yaml"))


@pytest.fixture(scope="module")
def pad(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return made(tmp_path_factory.mktemp("pad"), PAD, PAD_TARGET)


@pytest.fixture(scope="module")
def look_up(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return made(tmp_path_factory.mktemp("look-up"), LOOK_UP, LOOK_UP_TARGET)


def verdict(one: Made, design: Design | None = None) -> tuple[str, str]:
    machine, synthesis = one
    found = equal_inside(machine, synthesis.lowered, design or synthesis.whole, 60)
    return found.verdict, found.because


@pytest.mark.parametrize("name", ["pad", "look_up"])
def test_the_board_is_in_the_design(name: str, request: pytest.FixtureRequest) -> None:
    machine, one = request.getfixturevalue(name)
    found = equal_inside(machine, one.lowered, one.whole, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert found.compared >= len(machine.netlist.nets)
    assert {answer(question) for question in found.questions} == {"unsat"}


@pytest.mark.parametrize("chip", ["U1", "U2"])
def test_a_fault_in_a_chip(chip: str, pad: Made) -> None:
    """The first inversion in its module goes."""
    text = pad[1].design
    start = text.index(f"module \\fpga.wrapper.board.{chip}\n")
    spoilt = text[:start] + text[start:].replace("cell $not ", "cell $pos ", 1)
    found, because = verdict(pad, replace(pad[1].whole, text=spoilt))
    assert found == "differs", because


def test_a_word_of_a_table(look_up: Made) -> None:
    text = look_up[1].design
    spoilt = text.replace("00010101", "00010111", 1)  # somewhere in the constant of U2's words
    assert spoilt != text
    found, because = verdict(look_up, replace(look_up[1].whole, text=spoilt))
    assert found == "differs"
    assert because == "U2.M[1] is 42 on the board, 46 in the hardware"


def test_too_few_clocks_for_two_tables_in_a_row(look_up: Made) -> None:
    assert look_up[1].whole.clocks == 3
    assert verdict(look_up, replace(look_up[1].whole, clocks=2)) == (
        "undecided",
        "2 memories are read one after the other in 2 clocks",
    )


def test_what_moves_between_ticks(look_up: Made) -> None:
    """If another signal is said to be high in the last clocks of ticks."""
    found = verdict(look_up, replace(look_up[1].whole, go="wrapper.steps"))
    assert found[0] == "undecided"
    assert "may move in clocks that are not the last of a tick" in found[1]


@pytest.fixture(scope="module")
def fixed(tmp_path_factory: pytest.TempPathFactory) -> Made:
    target = PAD_TARGET.replace("{pin: 2, position: HIGH, debounce: 1 us}", "{fixed: HIGH}")
    target = target.replace("a0: 4", "a0: {fixed: low}")
    return made(tmp_path_factory.mktemp("fixed"), PAD, target)


def test_controls_that_are_fixed(fixed: Made) -> None:
    """The design has no register for them; what is spoken of is the board with them so."""
    machine, one = fixed
    assert set(one.whole.fixed.values()) == {0, 1}
    found = equal_inside(machine, one.lowered, one.whole, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert {answer(question) for question in found.questions} == {"unsat"}
    start = one.design.index("module \\fpga.wrapper.board.U2\n")
    spoilt = one.design[:start] + one.design[start:].replace("cell $not ", "cell $pos ", 1)
    assert verdict(fixed, replace(one.whole, text=spoilt))[0] == "differs"


def test_a_control_that_is_fixed_elsewhere(fixed: Made) -> None:
    whole = fixed[1].whole
    for bit, level in whole.fixed.items():
        found, because = verdict(fixed, replace(whole, fixed={**whole.fixed, bit: 1 - level}))
        assert (found, because.partition(" is ")[2]) == ("undecided", "not fixed so in the design")
    assert verdict(fixed, replace(whole, fixed={}))[0] == "undecided"


def test_a_control_that_moves_is_not_fixed(pad: Made) -> None:
    """Were it taken for fixed, nothing would be said of what it does."""
    _, one = pad
    bits = [bit for bits in one.lowered.controls.values() for bit in bits]
    for bit in bits:
        assert verdict(pad, replace(one.whole, fixed={bit: 0}))[0] == "undecided"
