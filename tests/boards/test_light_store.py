"""The light store worked by hand: switches, buttons and clocks, and the lamps that must come.

The levels were worked out with pencil and paper from the chips' function tables (data book, from
memory); the rules of the board itself are those of issue 2.
"""

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import Walker
from tests.boards.corpus import STORE

FIRST, SECOND, BETWEEN = (1, 0), (0, 1), (0, 0)
CLOSED, OPEN = (1,), (0,)


@pytest.fixture(scope="module")
def machine() -> Machine:
    return load_machine(STORE.path)


@pytest.fixture
def board(machine: Machine) -> Walker:
    """Setting, buttons free, position 1, pattern: lamps 1 and 3; bank 0; the memories hold 0."""
    walker = Walker(machine)
    walker.controls.update({"MODE": FIRST, "STORE": FIRST, "RECORD": FIRST})
    walker.controls.update({f"POSITION[{way}]": CLOSED for way in range(2, 7)})
    walker.controls.update({"BANK[1]": CLOSED, "BANK[2]": CLOSED})
    walker.controls.update({"PATTERN[1]": CLOSED, "PATTERN[3]": CLOSED})
    walker.power_up()
    return walker


def clock(board: Walker, times: int = 1) -> TraceStep:
    """Whole clocks; the last rising one comes back."""
    for _ in range(times):
        board.step({"tempo": CLOSED})
        board.step({"tempo": OPEN})
    return board.step({})


def word(step: TraceStep, vector: str, width: int) -> int:
    nets = step.rounds[-1].nets
    return sum(nets[f"{vector}[{bit}]"] << bit for bit in range(width))


def press(board: Walker, button: str) -> None:
    board.step({button: BETWEEN})
    board.step({button: SECOND})


def let_go(board: Walker, button: str) -> None:
    board.step({button: BETWEEN})
    board.step({button: FIRST})


def test_a_stored_pattern_is_shown_at_its_step(board: Walker) -> None:
    press(board, "STORE")
    clock(board)
    assert board.memories[0][1] == 0, "one clock of set-up before the strobe"
    clock(board)
    assert (board.memories[0][1], board.memories[1][1] & 15) == (0xFA, 0xF)
    clock(board)
    let_go(board, "STORE")
    board.step({"MODE": BETWEEN})
    board.step({"MODE": SECOND})
    clock(board)  # the mode is taken over, the counter is still at 0
    assert word(clock(board), "lamp", 12) == 0x000, "step 0: never stored, all lit"
    assert word(clock(board), "lamp", 12) == 0xFFA, "step 1: lamps 1 and 3"


def test_pads_are_recorded_where_the_show_stands(board: Walker) -> None:
    board.step({"MODE": SECOND})
    clock(board, 3)  # taken over, step 1, step 2
    board.step({"PAD12": CLOSED})
    press(board, "RECORD")
    clock(board)  # pads are taken; the counter still takes the step to 3
    board.step({"PAD12": OPEN})
    clock(board, 4)
    step = board.step({})
    assert word(step, "addr", 6) == 3, "the show waits"
    assert word(step, "bus", 12) == 0x7FF
    assert (board.memories[0][3], board.memories[1][3] & 15) == (0xFF, 0x7)
    assert [board.memories[0][k] for k in (0, 1, 2, 4, 5)] == [0, 0, 0, 0, 0]
    let_go(board, "RECORD")
    assert word(clock(board), "addr", 6) == 4, "and goes on"


def test_letting_go_withdraws_the_strobe(board: Walker) -> None:
    press(board, "STORE")
    clock(board, 2)
    assert board.step({}).rounds[-1].nets["we_n"] == 0
    board.step({"STORE": BETWEEN})
    step = board.step({"STORE": FIRST})
    assert step.rounds[0].nets["we_n"] == 1
    assert step.writes == ()
    assert step.rounds[0].nets["memory_off"] == 1, "the source outlasts the strobe"
    assert step.rounds[-1].nets["memory_off"] == 0


def test_a_bouncing_contact_stores_once(board: Walker) -> None:
    press(board, "STORE")
    strobes = 0
    for _ in range(6):
        before = board.step({"STORE": BETWEEN}).rounds[-1].nets["we_n"]
        board.step({"STORE": SECOND})
        strobes += before == 1 and board.step({"tempo": CLOSED}).rounds[-1].nets["we_n"] == 0
        board.step({"tempo": OPEN})
    assert strobes == 1


def test_no_chip_is_without_its_capacitor(machine: Machine) -> None:
    parts = machine.netlist.parts
    chips = [part for part in parts if part.device == "chip"]
    values = [part.value for part in parts if part.device == "capacitor"]
    small = [value for value in values if value == pytest.approx(100e-9)]
    assert 20 <= len(chips) <= 30
    assert len(small) == len(chips)


def test_nothing_is_assumed_but_still_switches(machine: Machine) -> None:
    assumed = [formula.name for formula in machine.netlist.formulas if formula.kind == "assume"]
    assert assumed == ["switches-still"]
    assert not machine.netlist.together
