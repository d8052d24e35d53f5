"""What is proved of a board and of its two halves."""

from __future__ import annotations

from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.verify.prove.prover import prove_board
from tests.boards.corpus import BOARDS
from tests.support.cutting import cut, uncut

Found = dict[str, tuple[str, int]]


def alike(name: str, folder: Path, seed: int, seconds: float = 30) -> int:
    """How many checks of a board of the corpus are decided on both; each has to come out alike."""
    path = BOARDS / f"{name}.yaml"
    whole, halves = found(path, seconds), found(cut(path, folder, seed), seconds)
    assert whole.keys() == halves.keys()
    both = [check for check in whole if "undecided" not in (whole[check][0], halves[check][0])]
    assert {check: whole[check] for check in both} == {check: halves[check] for check in both}
    return len(both)


def found(path: Path, seconds: float) -> Found:
    """The verdict on each check, and the steps of a run that breaks it; not on what is dead, since
    a connector is an end that a control may reach, and between halves there are many."""
    _, results = prove_board(load_machine(path), seconds=seconds)
    return {
        uncut(one.name): (one.verdict, one.steps if one.verdict in ("fails", "reached") else 0)
        for one in results
        if not one.name.startswith("dead:")
    }
