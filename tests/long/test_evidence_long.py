"""The evidence of every board of the small corpus and of the shipped boards, by two solvers.

As `tests.exchange.test_evidence`, without leaving any out.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.exchange.closing import Closing
from breadproof.verify.exchange.confirming import Confirmer
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.walked import walks
from breadproof.verify.prove import engine
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.system import board_system
from tests.boards.corpus import BOARDS
from tests.exchange.evidence import check
from tests.exchange.test_compared import check_known, check_lively
from tests.exchange.test_evidence import check_book, check_random, check_small
from tests.exchange.test_falling import has_evidence
from tests.prove.boards import SMALL, formulas, small
from tests.prove.directed import EXAMPLES, sequencer
from tests.prove.test_brute import load
from tests.prove.test_endless import random_machine as strong_machine
from tests.prove.test_reset import CASES
from tests.prove.test_tracked import store
from tests.prove.textbook import MACHINES
from tests.support import second_solver, third_solver

SHIPPED = sorted(str(path.relative_to(BOARDS)) for path in BOARDS.glob("*.yaml"))
SHIPPED.remove("corpus.yaml")


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_boards(name: str) -> None:
    assert check(load_machine(BOARDS / name), 120.0) >= 8


@pytest.mark.parametrize("name", SHIPPED)
def test_walks_of_shipped_boards(name: str) -> None:
    """Twenty steps from each of eight places."""
    machine = load_machine(BOARDS / name)
    rounds, _ = prove_board(machine, seconds=120, only=("quiet",))
    work = Closing(part_of(board_system(machine, rounds), (), ()), Proof(kind="step"))
    found = list(walks(machine, 20, 8))
    assert len(found) == 8
    for moments in found:
        assert second_solver.answer(work.walk(moments).script) == "sat"


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, name: str) -> None:
    check_small(tmp_path, name)


@pytest.mark.parametrize("name", SMALL)
def test_small_boards_directed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Without induction."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    made = small(tmp_path, name)
    check(load(made, formulas(made, Random(f"{name}, evidence"), 8)))


@pytest.mark.parametrize("name", MACHINES)
def test_textbook(tmp_path: Path, name: str) -> None:
    check_book(tmp_path, name)


@pytest.mark.parametrize("steps", [0, 10, 40])
@pytest.mark.parametrize("name", EXAMPLES)
def test_examples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, steps: int) -> None:
    """By the search, by short and by long induction."""
    monkeypatch.setattr(engine, "MAX_STEPS", steps)
    assert check(EXAMPLES[name].machine(tmp_path), 60.0) >= 8


@pytest.mark.parametrize("seed", range(8))
def test_sequencers(tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    made = sequencer(random, 5)
    facts = dict(random.sample(sorted(made.facts().items()), 12))
    assert check(made.machine(tmp_path, facts)) >= 8


@pytest.mark.parametrize("seed", range(300, 400))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    check_random(tmp_path, seed)


@pytest.mark.parametrize("name", CASES)
def test_what_a_reset_makes_known(tmp_path: Path, name: str) -> None:
    check_known(tmp_path, name)


@pytest.mark.parametrize("seed", range(100, 160))
def test_what_is_dead_and_what_is_not(tmp_path: Path, seed: int) -> None:
    check_lively(tmp_path, seed)


@pytest.mark.parametrize("seed", range(100, 140))
def test_strong_operators(tmp_path: Path, seed: int) -> None:
    has_evidence(strong_machine(tmp_path, Random(seed)))


def test_what_is_stored_is_read_back(tmp_path: Path) -> None:
    """Any address of a 62256: an invariant over a tracked word, with the memory as an array."""
    machine = store(tmp_path)
    rounds, results = prove_board(machine, seconds=60)
    proof = next(result.proof for result in results if result.name == "f0")
    assert proof is not None
    assert proof.words
    system = board_system(machine, rounds, proof.words, "f0")
    for question in Confirmer(60.0).proof(part_of(system, ["f0"], proof.clauses), proof):
        assert second_solver.answer(question.script) == question.answer, question.what
        assert third_solver.answer(question.script) == question.answer, question.what
