"""The SMT-LIB 2 definitions, by bitwuzla: a run of so many steps is there, or not.

Expected from the boards' stories: hand-made parts with states that can be counted.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.obligation import obligation
from breadproof.verify.exchange.smtlib import Definitions, smtlib
from tests.prove.boards import sketch
from tests.prove.test_brute import load
from tests.support.second_solver import answer


def runs(machine: Machine, name: str, steps: int) -> list[str]:
    """For each number of steps up to ``steps``, whether such a run reaches the property."""
    system = obligation(machine, [name], 10)
    found = []
    for k in range(steps + 1):
        lines, at = Definitions(system).run(k)
        script = "\n".join([smtlib(system), *lines, f"(assert {at(name, k)})", "(check-sat)"])
        found.append(answer(script))
    return found


def test_a_counter_counts_its_edges(tmp_path: Path) -> None:
    """From q = 0 the second bit comes with the second rising edge, two or three steps on."""
    nets = {"c": "U1.CLK", "e": "U1.EN", "q1": "U1.Q1", "q0": "U1.Q0"}
    text = (
        'assume: {low: "!c && e", on: "always e"}\n'
        'assert: {one: {says: "", formula: "(q1 == 0 && q0 == 0) -> always !q1"}}\n'
    )
    machine = load(sketch(tmp_path, "U1:9006", nets, "c e"), text)
    # c: low, high (1), low, high (2)
    assert runs(machine, "one", 4) == ["unsat", "unsat", "unsat", "sat", "sat"]


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    """A word changes only while it is written: the memory is an array that a step writes."""
    nets = {"w_n": "U1.WE_n", "d": "U1.D", "a": "U1.A0", "q": "U1.Q", "GND": "U1.CS_n"}
    text = (
        "assert:\n"
        '  kept: {says: "", formula: "always (w_n && stable(a) && prev(w_n) -> stable(q))"}\n'
        '  moved: {says: "", formula: "always (w_n && prev(w_n) -> stable(q))"}\n'
        '  other: {says: "", formula: "always (rose(w_n) -> next (rose(a) -> q == prev(q)))"}\n'
    )
    machine = load(sketch(tmp_path, "U1:9003", nets, "w_n d a"), text)
    assert runs(machine, "kept", 3) == ["unsat"] * 4
    assert runs(machine, "moved", 1) == ["unsat", "sat"]
    assert runs(machine, "other", 2) == ["unsat", "unsat", "sat"]


def test_every_part_of_a_step_counts(tmp_path: Path) -> None:
    """Two controls never change in one step; without ``trans`` saying so they would."""
    nets = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}
    text = 'assert: {one: {says: "", formula: "always (stable(c) || stable(d))"}}\n'
    machine = load(sketch(tmp_path, "U1:9001", nets, "c d"), text)
    assert runs(machine, "one", 2) == ["unsat"] * 3
    together = load(sketch(tmp_path, "U1:9001", nets, "c d"), text + "together: all\n")
    assert runs(together, "one", 1) == ["unsat", "sat"]


@pytest.mark.parametrize("name", ["board with a bar", "x|y"])
def test_names_stand_in_bars(name: str) -> None:
    from breadproof.verify.exchange.smtlib import quoted

    text = quoted(name)
    assert text[0] == text[-1] == "|"
    assert "|" not in text[1:-1]
