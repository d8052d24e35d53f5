"""The synchronous style on the mixer, and on many random boards: verdicts agree with runs."""

from collections import Counter
from pathlib import Path

from breadproof.export.amaranth_file import generate
from breadproof.specs.load import load_machine
from tests.equal.test_period import BOARDS, check_random_board, compared, first_difference


def test_mixer_is_synchronous() -> None:
    machine = load_machine(BOARDS / "mixer.yaml")
    assert compared(machine).verdict == "equal"
    generated = generate(machine.netlist, clock="tick")
    assert first_difference(machine, generated, 1, 400) == ""


def test_verdicts_on_random_boards_agree_with_runs(tmp_path: Path) -> None:
    count = Counter(check_random_board(tmp_path, seed) for seed in range(150))
    assert count["equal"] > 40
    assert count["differs"] > 40
    assert count["undecided"] == 0
