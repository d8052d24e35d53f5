"""Strong operators in the exported obligation, by another program's search for runs that go round.

The expected verdicts of the flip-flop were worked out by hand; those of random boards are what
verify says, which has its own search of all states.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.circuit import Circuit, Latch, Named, circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.system import board_system
from tests.prove.test_assumptions import flop
from tests.prove.test_endless import CLOCK, random_machine
from tests.support.abc_checker import broken, goes_round


def exported(machine: Machine) -> Circuit:
    answer = find_rounds(machine, Deadline(10))
    return flat(circuit(board_system(machine, answer.rounds)))


def as_outputs(made: Circuit, justice: Named) -> Circuit:
    """One justice as outputs under the names that ABC reads; a lost constraint stays lost."""
    lost = made.aig.input()
    kept = made.aig.and_([lost ^ 1, *(one.literal for one in made.constraints)])
    latch = Latch(name="lost", literal=lost, next=kept ^ 1, reset=0)
    again = [kept, *justice.literals, *(one.literal for one in made.fair)]
    outputs = [Named(f"assume_fair_{k}", (literal,)) for k, literal in enumerate(again)]
    outputs.append(Named("assert_fair_0", (Aig.false,)))
    return replace(
        made,
        latches=(*made.latches, latch),
        constraints=(),
        bad=tuple(outputs),
        justice=(),
        fair=(),
    )


def waits_for_ever(made: Circuit, name: str, folder: Path, abc: str) -> bool:
    """Whether one of a formula's strong operators can wait for ever."""
    file = folder / "justice.aig"
    for justice in made.justice:
        if justice.name.rpartition(" waits ")[0] == name:
            file.write_bytes(aiger_binary(as_outputs(made, justice)))
            if goes_round(abc, file):
                return True
    return False


@pytest.mark.parametrize(
    ("assumes", "formula", "fails"),
    [
        # A D flip-flop (q takes d at the rising edge of c).
        ([], "eventually! q", True),
        ([CLOCK], "eventually! q", True),  # d stays low
        ([CLOCK, "always d"], "eventually! q", False),
        ([CLOCK, "always (d -> next d)"], "always (d -> eventually! q)", False),
        (["always (d -> next d)"], "always (d -> eventually! q)", True),  # the clock stops
        ([CLOCK], "always eventually! (q == d)", False),
    ],
)
def test_flip_flop(
    tmp_path: Path, berkeley_abc: str, assumes: list[str], formula: str, fails: bool
) -> None:
    made = exported(flop(tmp_path, assumes, [formula]))
    assert waits_for_ever(made, "f0", tmp_path, berkeley_abc) == fails


def test_random_boards(tmp_path: Path, berkeley_abc: str) -> None:
    found: Counter[str] = Counter()
    for seed in range(4):
        compare(random_machine(tmp_path, Random(seed)), tmp_path, berkeley_abc, found)
    assert found["holds"] >= 2, found
    assert found["fails"] >= 10, found


def compare(machine: Machine, folder: Path, abc: str, found: Counter[str]) -> None:
    """A formula holds if no run breaks it, and none waits for ever."""
    rounds, results = prove_board(machine, seconds=10)
    if not rounds or any(result.name == "assumptions" for result in results):
        return
    made = exported(machine)
    file = folder / "safe.aig"
    file.write_bytes(aiger_binary(replace(made, justice=(), fair=())))  # which ABC does not read
    reached = broken(abc, file, [one.name for one in made.bad], 10)
    assert reached is not None
    for formula in machine.logic.formulas:
        name = formula.formula.name
        if formula.kind == "assert" and formula.awaited and not formula.nested:
            (result,) = [one for one in results if one.name == name]
            violated = name in reached or waits_for_ever(made, name, folder, abc)
            assert result.verdict == "undecided" or violated == (result.verdict == "fails"), result
            found[result.verdict] += 1
