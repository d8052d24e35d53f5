"""Evidence that is no invariant: what is dead and what is not, what a reset makes known.

What resets which machine is worked out by hand in `tests.prove.test_reset`, from function tables;
the questions about two runs are written from the relation of all other evidence, which shares
nothing with the two runs that the prover builds.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange import happened
from breadproof.verify.exchange.confirming import EvidenceMismatch
from breadproof.verify.exchange.evidence import evidence
from breadproof.verify.prove.engine import Engine
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.verdict import Result
from tests.exchange.evidence import check_files, check_results, report_of
from tests.prove.boards import random_board, sketch
from tests.prove.test_brute import load
from tests.prove.test_reset import CASES, text_of


def reset_board(folder: Path, name: str) -> Machine:
    """A board of `tests.prove.test_reset`."""
    path = folder / "board.yaml"
    path.write_text(text_of(folder, name), encoding="utf-8")
    return load_machine(path)


def kinds(result: Result) -> set[str]:
    """Which files tell of a result."""
    return {name.split(".")[-1 if name.endswith("vcd") else -2] for name in result.evidence}


def check_known(folder: Path, name: str) -> None:
    """All evidence of a board with a reset."""
    found = evidence(report_of(reset_board(folder, name)), 20.0)
    check_results(found)
    check_files(found)
    by_name = {one.name: one for one in found.report.results}
    for what, bits in CASES[name][3].items():
        assert kinds(by_name[f"known:{what}"]) == ({"differ"} if bits else {"alike", "alike-guard"})


@pytest.mark.parametrize("name", ["the first half of a longer one", "a latch of two NANDs"])
def test_what_a_reset_makes_known(tmp_path: Path, name: str) -> None:
    """Two of them; all in tests/long."""
    check_known(tmp_path, name)


def test_power_on_resets_nothing_of_a_flip_flop(tmp_path: Path) -> None:
    made = sketch(tmp_path, "U1:9001", {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}, "c d")
    found = evidence(report_of(load(made, "reset: {first: power-on}\n")), 20.0)
    check_results(found)
    check_files(found)
    assert kinds(next(r for r in found.report.results if r.name == "known:U1.R")) == {"differ"}


def forged(machine: Machine, name: str, **changes: Any) -> None:
    """Evidence of a board, about one of whose results something else is told."""
    report = report_of(machine)
    results = [replace(r, **changes) if r.name == name else r for r in report.results]
    assert results != list(report.results)
    evidence(replace(report, results=tuple(results)), 20.0)


def test_what_is_known_and_what_is_not_cannot_be_exchanged(tmp_path: Path) -> None:
    machine = reset_board(tmp_path, "the first half of a longer one")
    with pytest.raises(EvidenceMismatch, match="show the same levels after pressing CLR"):
        forged(machine, "known:U2.R", verdict="holds")
    with pytest.raises(EvidenceMismatch, match="two runs from power-up"):
        forged(machine, "known:U1.R", verdict="fails", because="not known after it: U1.R[0]")


# dead ---------------------------------------------------------------------------------------------

DEAD_CLOCK = {"c": "U1.CLK1", "d": "U1.D1 U1.D2", "q": "U1.Q1", "p": "U1.Q2", "GND": "U1.CLK2"}
"""The second flip-flop of a 74HC74 has its clock at ground: it never takes anything in."""


def dead_half(folder: Path) -> Machine:
    """One flip-flop that works, and one that never changes (but by its clear and preset)."""
    nets = {**DEAD_CLOCK, "VCC": "U1.CLR1_n U1.PRE1_n U1.CLR2_n U1.PRE2_n"}
    return load(sketch(folder, "U1:74", nets, "c d"), "")


def test_what_never_happens_and_what_does(tmp_path: Path) -> None:
    found = evidence(report_of(dead_half(tmp_path)), 20.0)
    check_results(found)
    check_files(found)
    by_name = {one.name: one for one in found.report.results}
    assert kinds(by_name["dead:U1.R2[0]"]) == {"first", "never", "guard"}
    assert kinds(by_name["dead:U1.R1[0]"]) == {"vcd"}
    assert kinds(by_name["dead:c"]) <= {"moves"}
    readme = found.files["README.md"]
    (told,) = [line for line in readme.splitlines() if line.startswith("| `happens-1.vcd` |")]
    assert "`dead:U1.R1[0]`" in told
    # the dump itself: IEEE 1364, section 18; q changes in it
    dump = found.files["happens-1.vcd"]
    code = re.search(r"\$var wire 1 (\S+) q \$end", dump)
    assert code is not None
    assert {f"0{code[1]}", f"1{code[1]}"} <= set(dump.splitlines())


def test_what_happens_is_not_told_as_dead(tmp_path: Path) -> None:
    machine = dead_half(tmp_path)
    with pytest.raises(EvidenceMismatch):
        forged(machine, "dead:U1.R1[0]", verdict="fails", proof=Proof(kind="step"))
    with pytest.raises(EvidenceMismatch, match="about c is another one"):
        forged(machine, "dead:c", verdict="fails")


def test_chains_are_no_longer_than_it_takes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A flip-flop takes D in at one rising edge: a second step is not looked at."""
    machine = load(sketch(tmp_path, "U1:9001", {"d": "U1.D", "c": "U1.CLK", "q": "U1.Q"}, "d c"))
    reached: list[int] = []

    class Counting(Engine):
        def reach(self, steps: int) -> None:
            reached.append(steps)
            super().reach(steps)

    monkeypatch.setattr(happened, "Engine", Counting)
    (shown,) = happened.shown_in_runs(machine, 2, ["dead:U1.R[0]"], 20.0)
    assert shown.names == ("dead:U1.R[0]",)
    assert reached == [1]


def test_a_run_that_does_not_show_it_is_our_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the solver says: the run is walked with numbers."""
    monkeypatch.setattr(happened, "happened", lambda one, walked: False)
    with pytest.raises(TraceMismatch, match="does not show it"):
        evidence(report_of(dead_half(tmp_path)), 20.0)


def test_a_thing_that_is_told_to_happen_and_does_not_has_no_run(tmp_path: Path) -> None:
    report = report_of(dead_half(tmp_path))
    results = [
        replace(one, verdict="holds", proof=None) if one.name == "dead:U1.R2[0]" else one
        for one in report.results
    ]
    found = evidence(replace(report, results=tuple(results)), 20.0)
    told = next(one for one in found.report.results if one.name == "dead:U1.R2[0]")
    assert (told.evidence, told.no_evidence) == ((), "no run that shows it was found again in time")


def check_lively(folder: Path, seed: int) -> set[str]:
    """A random board without formulas; which kinds of files there are."""
    found = evidence(report_of(load(random_board(folder, Random(seed)), "")), 20.0)
    check_results(found)
    check_files(found)
    return set().union(*(kinds(one) for one in found.report.results if one.name[:5] == "dead:"))


def test_random_boards(tmp_path: Path) -> None:
    seen: set[str] = set()
    for seed in range(5):
        (tmp_path / str(seed)).mkdir()
        seen |= check_lively(tmp_path / str(seed), seed)
    assert {"vcd", "moves"} <= seen
