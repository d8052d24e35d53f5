"""Evidence of a board, checked from its files alone by two solvers that the prover does not use."""

from __future__ import annotations

import re

from breadproof.specs.machine.machine import Machine
from breadproof.verify.board import BoardReport
from breadproof.verify.exchange.evidence import Evidence, evidence
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from tests.support import second_solver, third_solver

UNSAT = (
    *("first", "kept", "never", "quiet", "quiet-first", "power-up", "begins", "stays", "falls"),
    *("cut-off", "held", "alike", "alike-first"),
)
SAT = (
    *("guard", "power-up-guard", "walk", "ranked-guard"),
    *("cut-off-guard", "held-guard", "alike-guard", "moves", "differ"),
)
"""What must be answered to the kinds of questions, as the README of the evidence explains them."""
PROVED = ("holds", "unreachable")
RUNS = ("dead:", "known:")
"""Checks that compare or show runs: no invariant is behind them, but for what never happens."""
ABOUT_RUNS = ("vcd", "moves", "cut-off", "held", "alike", "alike-first", "differ", "never")


def report_of(machine: Machine, seconds: float = 20.0, only: tuple[str, ...] = ()) -> BoardReport:
    """What the prover says; wiring is left out."""
    rounds, results = prove_board(machine, seconds=seconds, only=only)
    return BoardReport(
        machine=machine,
        wiring=(),
        results=tuple(results),
        verdict="pass",
        rounds=rounds,
        seconds=0.0,
    )


def wanted(name: str) -> str:
    """The answer to the question in a file."""
    what = re.sub("-[0-9]+$", "", name.split(".")[-2])
    assert what in UNSAT + SAT, name
    return "unsat" if what in UNSAT else "sat"


def check_files(found: Evidence) -> int:
    """Both solvers answer each file as they must; how many there are."""
    scripts = {name: text for name, text in found.files.items() if name.endswith(".smt2")}
    for name, text in scripts.items():
        assert re.findall(r"^\(set-info :status (\w+)\)$", text, re.MULTILINE) == [wanted(name)]
        assert second_solver.answer(text) == wanted(name), name
        assert third_solver.answer(text) == wanted(name), name
    return len(scripts)


def check_results(found: Evidence) -> None:
    """Each proof has its questions, each run its dump, and what has none is of known kinds."""
    machine = found.report.machine
    endless = {f.formula.name for f in machine.logic.formulas if f.liveness}
    listed = {"README.md"}
    for result in found.report.results:
        listed |= {*result.evidence}
        check_result(result, result.name.startswith(RUNS))
        if result.name in endless and result.verdict == "holds":
            assert any(name.endswith(".falls-1.smt2") for name in result.evidence), result
    assert listed == {*found.files}


def check_result(result: Result, without: bool) -> None:
    """One of them; ``without`` tells that it is about runs."""
    whats = [name.split(".")[-2] for name in result.evidence]
    if result.trace is not None:
        assert [name[-4:] for name in result.evidence] == [".vcd"], result
    elif result.verdict == "undecided":
        assert not result.evidence
        assert not result.no_evidence
    elif without:
        whats = [name[:-5].split(".")[-1] for name in result.evidence if name[-5:] == ".smt2"]
        whats += ["vcd" for name in result.evidence if name[-4:] == ".vcd"]
        assert bool(result.no_evidence) == (not whats), result
        assert not whats or {*ABOUT_RUNS} & {*whats}, result
        assert whats or result.no_evidence.startswith(("step by step", "two runs that")), result
    elif result.name == "quiet":
        assert {"quiet", "power-up", "guard", "power-up-guard", "walk"} <= {*whats}, result
    elif result.verdict in PROVED:
        assert {"first", "never", "guard"} <= {*whats}, result
        assert not result.no_evidence


def check(machine: Machine, seconds: float = 20.0) -> int:
    """All of a board; how many questions there are."""
    found = evidence(report_of(machine, seconds), seconds)
    check_results(found)
    return check_files(found)
