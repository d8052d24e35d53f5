"""More faults in mapped netlists, and the light-store's: each told apart, or not proved since a
register is not found again, or ABC says too that it changes nothing. The proof's last question once
more to a third solver."""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.equal.synthesis import equal_netlist
from tests.boards.corpus import BOARDS
from tests.equal.test_synthesis import (
    DEEP,
    DEEP_TARGET,
    WRITTEN,
    WRITTEN_TARGET,
    enabled_by_another,
)
from tests.fpga.boards import LOOK_UP, LOOK_UP_TARGET, PAD, PAD_TARGET, machine_of, written
from tests.fpga.synthesized import synthesized
from tests.support.judged import judged
from tests.support.second_solver import answer

ECP5 = """
target: deep-ecp5
device: ecp5-25k
package: bg256
clock: {pin: A7, frequency: 12 MHz}
ports:
  a[14:0]: [A2, A3, A4, A5, B3, B4, C1, C2, D1, E1, E2, F1, F2, G1, G2]
  d[7:0]: {pins: [H2, J1, J2, K1, K2, L1, L2, M1], outside: N1}
  we_n: P1
"""

TARGETS = BOARDS.parent / "targets"


@pytest.mark.parametrize("name", ["pad", "look-up", "deep"])
def test_faults(name: str, berkeley_abc: str, tmp_path: Path) -> None:
    board, target = {
        "pad": (PAD, PAD_TARGET),
        "look-up": (LOOK_UP, LOOK_UP_TARGET),
        "deep": (DEEP, DEEP_TARGET),
    }[name]
    machine = machine_of(tmp_path, board)
    one = synthesized(machine.netlist, written(tmp_path, target, "target.yaml"))
    assert equal_netlist(one.design, one.netlist, 300).verdict == "equal"
    verdicts = judged(one.design, one.netlist, 120, 3, berkeley_abc, tmp_path, 300)
    assert verdicts["differs"] >= 20
    assert verdicts["equal"] >= 5


def test_rows_of_blocks_that_are_written(berkeley_abc: str, tmp_path: Path) -> None:
    """A fault in what tells that a word was written where it is read may be taken for a guess that
    was wrong: undecided."""
    machine = machine_of(tmp_path, WRITTEN)
    one = synthesized(machine.netlist, written(tmp_path, WRITTEN_TARGET, "target.yaml"))
    verdicts = judged(one.design, one.netlist, 60, 6, berkeley_abc, tmp_path, 300)
    assert verdicts["differs"] >= 8
    assert verdicts["equal"] >= 2


def test_a_62256_on_an_ecp5(tmp_path: Path) -> None:
    """32,768 words in two rows of eight blocks, each with an enable of its own."""
    board = (
        WRITTEN.replace('"6264"', '"62256"')
        .replace("U1.CS1_n", "U1.CS_n")
        .replace("U1.28, U1.CS2", "U1.28")
        .replace("a[12:0]: [[", "a[14:0]: [[U1.A14, U1.A13, ")
        .replace('"a[12:0]"', '"a[14:0]"')
    )
    machine = machine_of(tmp_path, board)
    one = synthesized(machine.netlist, written(tmp_path, ECP5, "target.yaml"))
    found = equal_netlist(one.design, one.netlist, 300)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
    spoilt = enabled_by_another(one.netlist, "WEA", 8)
    assert equal_netlist(one.design, spoilt, 300).verdict != "equal"


@pytest.mark.parametrize("target", ["light-store-hx8k", "light-store-up5k"])
def test_the_light_store(target: str, berkeley_abc: str, tmp_path: Path) -> None:
    machine = load_machine(BOARDS / "light-store.yaml")
    one = synthesized(machine.netlist, TARGETS / f"{target}.yaml")
    found = equal_netlist(one.design, one.netlist, 300)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
    verdicts = judged(one.design, one.netlist, 15, 4, berkeley_abc, tmp_path, 300)
    assert verdicts["differs"] >= 2


def test_a_microprogram_and_a_memory_that_it_writes() -> None:
    """28C16, 6264, counters and registers on a bus: outputs of memories that are taken for alike
    until a solver parts them."""
    folder = Path(__file__).resolve().parents[1] / "fpga" / "cue_player"
    one = synthesized(load_machine(folder / "cue-player.yaml").netlist, folder / "hx8k.yaml")
    found = equal_netlist(one.design, one.netlist, 300)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
