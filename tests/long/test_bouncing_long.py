"""Boards with contacts that bounce: explicit search, other model checkers, and many walks."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from tests.exchange.agreement import agree as agree_on_obligation
from tests.machine.test_bouncing import test_contacts_do_what_the_words_say
from tests.prove.test_bouncing import BARE, CLEARED
from tests.prove.test_brute import agree
from tests.random_boards.running import machine_of

FORMULAS = """
assert:
  a: "always (!fell(GO) -> stable(q))"
  b: "always (GO -> !q)"
  c: "always (rose(GO) -> stable(q))"
cover:
  d: "go_n && GO"
  e: "GO && q"
"""


@pytest.mark.parametrize("text", [BARE, CLEARED], ids=["bare", "cleared"])
def test_all_checks_and_formulas(text: str) -> None:
    """As `tests.prove.test_brute`, on the board with its hidden contacts."""
    found = agree(machine_of(text + FORMULAS))
    assert found["holds"] >= 4
    assert found["fails"] >= 1


@pytest.mark.parametrize("board", ["quick-store.yaml", "twins/half-a-latch.yaml"])
def test_obligations(tmp_path: Path, berkeley_abc: str, board: str) -> None:
    """As `tests.long.test_exchange_long`."""
    with as_file(files("breadproof.specs.boards")) as folder:
        machine = load_machine(folder / board)
    assert agree_on_obligation(machine, tmp_path, berkeley_abc, 120.0) >= 7


@pytest.mark.parametrize("seed", range(100, 120))
def test_walks(seed: int) -> None:
    """As `tests.machine.test_bouncing`."""
    test_contacts_do_what_the_words_say(seed)
