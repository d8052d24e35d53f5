"""Every fault of a text told apart or shown equal, random boards and the corpus proved equal.

Run by name: pytest tests/long.
"""

from collections import Counter
from pathlib import Path
from random import Random

import pytest

from breadproof.export.verilog import rtlil, verilog
from breadproof.specs.load import load_machine
from breadproof.verify.equal.text import equal_text
from tests.boards.corpus import CORPUS, Entry
from tests.equal.boards import MINDER
from tests.equal.faults import judged
from tests.export import boards
from tests.random_boards.boards import build
from tests.random_boards.running import machine_of
from tests.support.mutants import mutants
from tests.support.second_solver import answer


def test_two_hundred_faults(tmp_path: Path) -> None:
    """Each operator, condition, constant and connection of a text, or as many as there are."""
    machine = boards.machine_of(tmp_path, MINDER)
    text = verilog(machine.netlist)
    found = Random(3).sample(mutants(text, seed=7), 220)
    count = Counter(judged(machine, text, one) for one in found)
    assert sum(count.values()) >= 200
    assert count["differs"] >= 80


@pytest.mark.parametrize("wired", [False, True])
def test_random_boards_are_equal(wired: bool) -> None:
    """A few have loops that never settle: of these nothing is claimed."""
    never = "the board's loops never settle, so that no round follows another"
    count = Counter[str]()
    for seed in range(2000, 2100):
        machine = machine_of(build(Random(seed), wired=wired))
        found = equal_text(machine, verilog(machine.netlist), 120)
        assert (found.verdict, found.because) in (("equal", ""), ("undecided", never)), seed
        count[found.verdict] += 1
    assert count["equal"] >= 90


@pytest.mark.parametrize("entry", CORPUS, ids=lambda entry: entry.file)
def test_the_corpus_is_equal(entry: Entry) -> None:
    """Broken boards too: the hardware does what they do, broken as they are."""
    machine = load_machine(entry.path)
    for found in (
        equal_text(machine, verilog(machine.netlist), 120),
        equal_text(machine, rtlil(machine.netlist), 120, "rtlil"),
    ):
        assert (found.verdict, found.because) == ("equal", "")
        assert {answer(question) for question in found.questions} == {"unsat"}
