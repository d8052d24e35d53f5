"""The export of each small board is proved equal to it, and the last questions by a third solver.

That the proof is about what it says is shown by `test_differs` and `test_mutants`.
"""

from pathlib import Path

import pytest

from breadproof.export.verilog import rtlil, verilog
from breadproof.specs.load import load_machine
from breadproof.verify.equal.proof import Equality
from breadproof.verify.equal.text import equal_text
from tests.boards.corpus import BOARDS
from tests.equal.boards import BAR, MINDER
from tests.export import boards
from tests.support.second_solver import answer


def proved(path: Path, *, as_rtlil: bool = False) -> Equality:
    machine = load_machine(path)
    if as_rtlil:
        return equal_text(machine, rtlil(machine.netlist), 60, "rtlil")
    return equal_text(machine, verilog(machine.netlist), 60)


@pytest.mark.parametrize("text", [*boards.ALL, BAR, MINDER], ids=lambda text: text.split()[1])
def test_small_boards_are_equal(text: str, tmp_path: Path) -> None:
    """Latches, ripple counters, transceivers, open collectors, memories, contacts, gated clocks."""
    found = proved(boards.written(tmp_path, text))
    assert (found.verdict, found.because) == ("equal", "")
    assert found.compared > 5


def test_a_board_with_latches_and_a_memory_as_rtlil() -> None:
    found = proved(BOARDS / "cue-pad.yaml", as_rtlil=True)
    assert (found.verdict, found.because) == ("equal", "")
    assert len(found.questions) == 2
    for question in found.questions:
        assert answer(question) == "unsat"


def test_no_time_is_no_proof(tmp_path: Path) -> None:
    machine = boards.machine_of(tmp_path, boards.LATCH)
    text = verilog(machine.netlist)
    for seconds in (0.0, 0.001):
        found = equal_text(machine, text, seconds)
        assert found.verdict == "undecided"
        assert "in time" in found.because or "out of time" in found.because
