"""More faults in mapped netlists, and the light-store's: each told apart, or ABC says too that it
changes nothing. The proof's last question once more to a third solver."""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.equal.synthesis import equal_netlist
from tests.boards.corpus import BOARDS
from tests.equal.test_synthesis import DEEP, DEEP_TARGET
from tests.fpga.boards import LOOK_UP, LOOK_UP_TARGET, PAD, PAD_TARGET, machine_of, written
from tests.fpga.synthesized import synthesized
from tests.support.judged import judged
from tests.support.second_solver import answer

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
    assert verdicts["differs"] >= 60
    assert verdicts["equal"] >= 5


@pytest.mark.parametrize("target", ["light-store-hx8k", "light-store-up5k"])
def test_the_light_store(target: str, berkeley_abc: str, tmp_path: Path) -> None:
    machine = load_machine(BOARDS / "light-store.yaml")
    one = synthesized(machine.netlist, TARGETS / f"{target}.yaml")
    found = equal_netlist(one.design, one.netlist, 300)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
    verdicts = judged(one.design, one.netlist, 15, 4, berkeley_abc, tmp_path, 300)
    assert verdicts["differs"] >= 5


def test_a_microprogram_and_a_memory_that_it_writes() -> None:
    """28C16, 6264, counters and registers on a bus: outputs of memories that are taken for alike
    until a solver parts them."""
    folder = Path(__file__).resolve().parents[1] / "fpga" / "cue_player"
    one = synthesized(load_machine(folder / "cue-player.yaml").netlist, folder / "hx8k.yaml")
    found = equal_netlist(one.design, one.netlist, 300)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
