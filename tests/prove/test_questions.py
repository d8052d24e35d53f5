"""Every proof's question, answered by a second solver (bitwuzla, from the registry).

"unsat" is what a proof claims. Without its last assertion each question only asks for a run, and
must be "sat": a contradiction in what describes the board would prove anything.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.prover import prove_board
from tests.prove.boards import SMALL, formulas, random_board, small
from tests.prove.test_brute import load
from tests.support.second_solver import answer, turned_round, without_last


def confirmed(machine: Machine, seconds: float = 10.0) -> int:
    """Ask them all; how many there were."""
    questions: list[tuple[str, str]] = []
    _, results = prove_board(machine, seconds=seconds, questions=questions)
    for what, script in questions:
        assert answer(script) == "unsat", what
        assert answer(without_last(script)) == "sat", what
        assert answer(turned_round(script)) == "sat", what
    proved = [r for r in results if r.verdict in ("holds", "unreachable")]
    # What is not dead was shown by a run, not proved.
    methods = {result.method for result in proved if not result.name.startswith("dead:")}
    assert len(questions) >= len(methods)
    return len(questions)


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, name: str) -> None:
    made = small(tmp_path, name)
    asked = confirmed(load(made, formulas(made, Random(name), 8)))
    # a board that does not get quiet has no proofs
    assert asked >= 2 or name in (
        "ring of one",
        "ring when enabled",
        "storage for ever",
        "buffer that is its own enable",
    )


@pytest.mark.parametrize("seed", range(300, 306))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    made = random_board(tmp_path, random)
    confirmed(load(made, formulas(made, random, 6)))
