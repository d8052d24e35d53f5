"""Machines whose behaviour every text on digital design tells; see `tests.prove.textbook`."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.verify.prove.prover import prove_board
from tests.prove.boards import sketch
from tests.prove.test_brute import load
from tests.prove.textbook import MACHINES
from tests.support.second_solver import answer, turned_round, without_last


@pytest.mark.parametrize("name", MACHINES)
def test_textbook(tmp_path: Path, name: str) -> None:
    book = MACHINES[name]
    made = sketch(tmp_path, book.chips, book.nets, book.ports)
    facts = list(book.facts.items())
    lines = [f'  f{k}: {{says: "", formula: "{text}"}}' for k, (text, _) in enumerate(facts)]
    machine = load(made, "\n".join(["assert:", *lines, ""]))
    questions: list[tuple[str, str]] = []
    rounds, results = prove_board(machine, seconds=20, questions=questions)
    by_name = {result.name: result for result in results}
    assert rounds == 2  # the edge, and the round that shows that nothing more changes
    for number, (text, step) in enumerate(facts):
        result = by_name[f"f{number}"]
        expected = ("holds", result.steps) if step is None else ("fails", step)
        assert (result.verdict, result.steps) == expected, (text, result)
    assert len(questions) >= 2
    for what, script in questions:
        assert answer(script) == "unsat", what
        assert answer(without_last(script)) == "sat", what
        assert answer(turned_round(script)) == "sat", what
