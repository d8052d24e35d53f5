"""The worked examples of papers on induction, with their published answers (from memory).

- A. R. Bradley, "Understanding IC3" (SAT 2012), section 2, after Z. Manna and A. Pnueli: whole
  numbers x and y begin at 1, 1. S1 does x, y := x + 1, y + x over and over; that y >= 1 is not
  inductive, that x >= 0 is, and relative to it y >= 1 is. S2 does x, y := x + y, y + x; neither is
  inductive, nor relative to the other alone, but both together are. In both y >= 1 holds.
- M. Sheeran, S. Singh and G. Stålmarck, "Checking Safety Properties Using Induction and a
  SAT-Solver" (FMCAD 2000): a chain of n unreachable states that leads to a bad one needs induction
  over n steps; if the chain can go round no number of steps is enough, unless states are demanded
  to differ.

A ROM names the next state. Numbers are of three bits, in two's complement, and stop at -4 and 3,
which changes none of the answers: a sum that stops has the sign of the sum.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from breadproof.verify.prove import engine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from tests.prove.directed import Sequencer

STATE = "{q5, q4, q3, q2, q1, q0}"
X, Y = "(!q5)", "(!q2 && {q1, q0} != 0)"
"""x >= 0 and y >= 1; x is the upper half of the state."""
BEGIN = f"(!clk && {STATE} == 9)"
"""x = y = 1, before an edge."""
PUBLISHED: dict[str, tuple[Callable[[int, int], tuple[int, int]], dict[str, int | None]]] = {
    "S1": (
        lambda x, y: (x + 1, y + x),
        {
            f"{BEGIN} -> always {Y}": None,
            f"{X} -> always {X}": None,
            f"{Y} -> always {Y}": 1,
            f"({X} && {Y}) -> always {Y}": None,
        },
    ),
    "S2": (
        lambda x, y: (x + y, y + x),
        {
            f"{BEGIN} -> always {Y}": None,
            f"{X} -> always {X}": 1,
            f"{Y} -> always {Y}": 1,
            f"({X} && {Y}) -> always ({X} && {Y})": None,
        },
    ),
}


def numbers(step: Callable[[int, int], tuple[int, int]]) -> Sequencer:
    """The board of a loop over two numbers."""

    def word(state: int) -> int:
        x, y = ((half ^ 4) - 4 for half in (state >> 3, state & 7))
        after = [max(-4, min(3, one)) & 7 for one in step(x, y)]
        return after[0] << 3 | after[1]

    return Sequencer(bits=6, table=tuple(word(state) for state in range(64)) * 2)


def answers(board: Sequencer, folder: Path, facts: dict[str, int | None]) -> list[Result]:
    """What is found out about the facts, in their order."""
    found = {one.name: one for one in prove_board(board.machine(folder, facts), seconds=30)[1]}
    return [found[f"f{number}"] for number in range(len(facts))]


def as_published(results: list[Result], facts: dict[str, int | None]) -> None:
    """Each verdict, and how long the run is that shows it."""
    for one, (text, step) in zip(results, facts.items(), strict=True):
        told = (one.verdict, None if one.verdict == "holds" else one.steps)
        assert told == ("holds" if step is None else "fails", step), (text, one)


@pytest.mark.parametrize("most", [40, 0])
@pytest.mark.parametrize("name", PUBLISHED)
def test_two_numbers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, most: int) -> None:
    """By all engines, and by the property-directed search alone."""
    monkeypatch.setattr(engine, "MAX_STEPS", most)
    step, facts = PUBLISHED[name]
    as_published(answers(numbers(step), tmp_path, facts), facts)


def chain(length: int, goes_round: bool) -> Sequencer:
    """States 0, 1 and 2 make a ring; 8, 9 and so on lead to the bad one, 15; the input may keep the
    first of them where it is."""
    ways = []
    for stays in (False, True):
        table = [0] * 16
        table[0], table[1], table[15] = 1, 2, 15
        for k in range(length):
            table[8 + k] = 9 + k if k + 1 < length else 15
        if goes_round and stays:
            table[8] = 8
        ways.append(tuple(table))
    return Sequencer(bits=4, table=ways[0] + ways[1])


@pytest.mark.parametrize("goes_round", [False, True])
@pytest.mark.parametrize("length", [2, 5])
def test_a_chain_that_is_not_reached(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, length: int, goes_round: bool
) -> None:
    """By induction alone: n states, of two steps each (the clock falls, too)."""
    monkeypatch.setattr(engine, "EARLY", 40)
    state = "{q3, q2, q1, q0}"
    facts: dict[str, int | None] = {
        f"(!clk && {state} == 0) -> always ({state} != 15)": None,
        f"(!clk && {state} == 8) -> always ({state} != 15)": 2 * length - 1,
        f"{state} == 1 -> never ({state} == 8)": None,
    }
    results = answers(chain(length, goes_round), tmp_path, facts)
    as_published(results, facts)
    assert results[0].method.startswith("induction over"), results[0]
