"""Formulas on random boards three ways that share nothing: a search of all states, ABC, Boolector.

The search (`tests.support.brute`) has the second evaluator and the formulas' definitions; ABC reads
the exported AIGER file, Boolector the BTOR2 text. The prover has no part in it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.btor2 import btor2
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.system import board_system
from tests.prove.test_brute import random_machine
from tests.support.abc_checker import broken
from tests.support.brute import Explorer, Formulas
from tests.support.btor_checker import BtorChecker

MOST = 1 << 16
"""Boards with more states are not searched."""


def three_ways(machine: Machine, folder: Path, abc: str) -> Counter[str]:
    """Compare all formulas of a board; how many there were of each answer."""
    netlist = machine.netlist
    space = Explorer(netlist, list(machine.free)).explore()
    quiet = find_rounds(machine, Deadline(10))
    if space.never_quiet or quiet.verdict != "holds" or len(space.steps) > MOST:
        return Counter()
    if check_assumptions(machine, Deadline(10)).verdict != "holds":
        return Counter()
    formulas = [f.formula for f in machine.logic.formulas if f.kind != "assume" and not f.liveness]
    search = Formulas(space, [f.expr for f in netlist.formulas if f.kind == "assume"])
    lengths = {f.name: search.shortest(f.expr, f.kind == "cover") for f in formulas}
    made = circuit(board_system(machine, quiet.rounds))
    made = replace(made, bad=tuple(one for one in made.bad if one.name in lengths))
    file = folder / "board.aig"
    file.write_bytes(aiger_binary(replace(flat(made), justice=(), fair=())))
    reached = broken(abc, file, [one.name for one in made.bad], 20)
    assert reached == {name for name, length in lengths.items() if length is not None}
    longest = max((length for length in lengths.values() if length is not None), default=0)
    found = BtorChecker(btor2(made)).reached(longest)
    assert {name: found[name] for name in lengths} == lengths
    return Counter("reached" if length is not None else "never" for length in lengths.values())


def compared(folder: Path, abc: str, seeds: range) -> Counter[str]:
    """Random boards of these seeds."""
    total = Counter[str]()
    for seed in seeds:
        own = folder / str(seed)
        own.mkdir()
        total += three_ways(random_machine(own, Random(seed)), own, abc)
    return total


def test_random_boards(tmp_path: Path, berkeley_abc: str) -> None:
    """Four of them; five hundred in tests/long."""
    total = compared(tmp_path, berkeley_abc, range(43_000, 43_004))
    assert total["reached"] >= 2, total
    assert total["never"] >= 2, total
