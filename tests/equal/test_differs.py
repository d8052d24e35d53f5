"""Hardware that differs in one known place: which round, which net, which levels.

What must be told follows from the gates' function tables (any data book of TTL parts).
"""

import re
from pathlib import Path

import pytest

from breadproof.export.verilog import verilog
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.proof import Equality
from breadproof.verify.equal.text import equal_text
from tests.equal.boards import BAR, MINDER
from tests.export import boards


@pytest.fixture(scope="module")
def minder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Machine, str]:
    machine = boards.machine_of(tmp_path_factory.mktemp("minder"), MINDER)
    return machine, verilog(machine.netlist)


def changed(minder: tuple[Machine, str], *changes: tuple[str, str]) -> Equality:
    machine, text = minder
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return equal_text(machine, text, 60)


def test_an_or_for_an_and(minder: tuple[Machine, str]) -> None:
    """An AND and an OR differ where one input is high: then the board's gate is low."""
    found = changed(minder, ("assign Y1 = A1 & B1;", "assign Y1 = A1 | B1;"))
    assert found.verdict == "differs"
    difference = found.difference
    assert difference is not None
    assert (difference.round, difference.kind, difference.name) == (0, "net", "gated")
    assert set(difference.pins) == {"U1.3", "U3.2"}
    assert (difference.board, difference.hardware) == (0, 1)
    clock, enable = difference.controls[0]["CK"], "U2.R1[0]" in difference.storage
    assert clock == (not enable,)
    told = difference.told().splitlines()
    assert told[0].startswith("net gated (U1.3, U3.2) is 0 on the board, 1 in the hardware")
    assert told[-1].startswith("  round 0: ")
    assert f"CK={clock[0]}" in told[-1]


def test_a_lamp_of_a_bar(tmp_path: Path) -> None:
    """The bar's second lamp is lit while b and c are closed (its gate is an AND), the first while
    a and b are; the hardware shows the first at the place of the second."""
    machine = boards.machine_of(tmp_path, BAR)
    text = verilog(machine.netlist)
    right = "assign LB = { third, second, first };"
    assert text.count(right) == 1
    wrong = text.replace(right, "assign LB = { third, first, first };")
    difference = equal_text(machine, wrong, 60).difference
    assert difference is not None
    assert (difference.round, difference.kind, difference.name) == (0, "lamp", "LB[2]")
    ((a,), (b,), (c,)) = (difference.controls[0][f"SW[{way}]"] for way in (1, 2, 3))
    assert (difference.board, difference.hardware) == (b & c, a & b)


def test_a_register_that_captures_too_late(minder: tuple[Machine, str]) -> None:
    """The input before the edge is captured; taken in the round of the edge it differs first in
    the round after power-up, in which the first edge can be seen."""
    machine, text = minder
    text, hits = re.subn(r"(if \(R1_edge\) begin\s+\S+\s+= )D1_before;", r"\1D1;", text)
    assert hits == 1
    found = equal_text(machine, text, 60)
    assert found.difference is not None
    assert found.difference.round == 1
    assert found.difference.name == "U2.R1[0]"
    before, after = found.difference.controls
    assert (before["CK"], after["CK"]) == ((0,), (1,))
    assert before["wish"] == (found.difference.board,)
    assert after["wish"] == (found.difference.hardware,)


def test_a_round_that_is_too_short(minder: tuple[Machine, str]) -> None:
    """Storage that advances before the loop has settled."""
    found = changed(minder, ("assign last = tick;", "assign last = 1'h1;"))
    assert found.difference is not None
    assert found.difference.kind in ("a write before the last tick", "storage before the last tick")


def test_an_alarm_that_is_always_low(minder: tuple[Machine, str]) -> None:
    """A latch of two NANDs has a stable level whatever its inputs are: it never cries."""
    machine, text = minder
    text, hits = re.subn(r"assign unsettled = .*;", "assign unsettled = 1'h0;", text)
    assert hits == 1
    assert equal_text(machine, text, 60).verdict == "equal"


def test_an_alarm_that_is_always_high(minder: tuple[Machine, str]) -> None:
    """It would make every promise empty."""
    found = changed(minder, ("assign unsettled = ", "assign unsettled = 1'h1 | "))
    assert found.difference is not None
    assert (found.difference.name, found.difference.round) == ("unsettled", 0)


def test_another_clock(minder: tuple[Machine, str]) -> None:
    machine, text = minder
    text = text.replace(
        "always @(posedge tick_clk)\n    seen", "always @(negedge tick_clk)\n    seen"
    )
    found = equal_text(machine, text, 60)
    assert found.verdict == "undecided"


def test_a_name_that_is_missing(minder: tuple[Machine, str]) -> None:
    machine, text = minder
    found = equal_text(machine, text.replace("wish_in", "wished_in"), 60)
    assert (found.verdict, found.because) == ("undecided", "the hardware has no port 'wish_in'")


def test_a_text_that_is_no_verilog(minder: tuple[Machine, str]) -> None:
    found = equal_text(minder[0], minder[1].replace("endmodule", "endmodul"), 60)
    assert found.verdict == "undecided"
    assert found.because.startswith("yosys has not read it: ")
    assert "ERROR" in found.because
