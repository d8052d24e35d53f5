"""Assumptions that lead nowhere, proofs of nothing, and answers that are not there.

An assumption is sound only if every run that it allows can go on; a proof from assumptions that
allow no run is empty (common practice in formal verification: vacuity, dead ends).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from pathlib import Path

import pysolvers
import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove import prover
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.verdict import Result, board_verdict
from tests.prove.boards import sketch
from tests.prove.test_brute import load

FLOP = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}


def flop(folder: Path, assumes: list[str], asserts: list[str], more: str = "") -> Machine:
    lines = ["assume:"] if assumes else []
    lines += [f'  a{k}: {{says: "", formula: "{text}"}}' for k, text in enumerate(assumes)]
    lines += ["assert:"] if asserts else []
    lines += [f'  f{k}: {{says: "", formula: "{text}"}}' for k, text in enumerate(asserts)]
    return load(sketch(folder, "U1:9001", FLOP, "c d"), "\n".join([*lines, more, ""]))


def prove(machine: Machine, seconds: float = 20.0) -> dict[str, Result]:
    return {result.name: result for result in prove_board(machine, seconds=seconds)[1]}


@pytest.mark.parametrize(
    ("assumes", "because"),
    [
        (["always rose(c)"], "contradict each other in the first step"),
        (["c", "!c"], "contradict each other in the first step"),
        (["always (rose(c) -> next (d && !d))"], "no next step after 1 steps"),
        (["always (c -> next c)", "always (c -> next[2] !c)"], "no next step"),
        (["next (rose(c) && rose(d))"], "no next step after 0 steps"),  # one thing at a time
        (["(never c) @(d)", "next[3] (c && d)"], "no next step"),
    ],
)
def test_dead_end(tmp_path: Path, assumes: list[str], because: str) -> None:
    results = prove(flop(tmp_path, assumes, ["always (q || !q)", "never q"]))
    assert results["assumptions"].verdict == "fails"
    assert because in results["assumptions"].because
    assert not [r for r in results.values() if r.verdict in ("holds", "unreachable")]
    assert board_verdict(0, results.values()) == "fail"


@pytest.mark.parametrize(
    "assume",
    [
        "always (c -> stable(d))",
        "next (always (c != prev(c)))",  # a clock that never stops: no step without a change
        "always (fell(c) -> next stable(c))",
        "c until d",
        "(always stable(d)) @(rose(c))",
        "!d",
    ],
)
def test_harmless(tmp_path: Path, assume: str) -> None:
    results = prove(flop(tmp_path, [assume], ["always (rose(c) -> q == prev(d))"]))
    assert "assumptions" not in results
    assert results["f0"].verdict == "holds"
    assert results["f0"].assumes == ("a0",)


@pytest.mark.parametrize("together", ["together: all", "together: [[c, d]]"])
def test_a_way_out_that_is_not_tried(tmp_path: Path, together: str) -> None:
    """Two controls may change at once and the assumption asks for it: no dead end is claimed."""
    assume = "next (always (c != prev(c) && d != prev(d)))"
    machine = flop(tmp_path, [assume], ["always (q || !q)"], together)
    assert check_assumptions(machine, Deadline(20)).verdict == "undecided"
    results = prove(machine)
    assert results["f0"].verdict == "undecided"
    assert board_verdict(0, [results["assumptions"]]) == "undecided"


def test_vacuity(tmp_path: Path) -> None:
    """What never comes true is told: nothing was proved about it (common practice)."""
    made = sketch(
        tmp_path, "U1:9001", {**FLOP, "VCC": "MODE.1", "m": "MODE.2", "GND": "MODE.3"}, "c d",
        {"MODE": "{part: spdt, positions: [SET, SHOW]}"},
    )  # fmt: skip
    machine = load(
        made,
        'assume: {off: {says: "", formula: "never MODE == SET"}}\n'
        "assert:\n"
        '  empty: {says: "", formula: "always (MODE == SET -> q)"}\n'
        '  full: {says: "", formula: "always (MODE == SHOW -> q || !q)"}\n'
        '  half: {says: "", formula: "never (MODE == SET && rose(c))"}\n',
    )
    results = prove(machine)
    assert {results[n].verdict for n in ("empty", "full", "half")} == {"holds"}
    assert results["empty"].vacuous == ("MODE == SET",)
    assert results["full"].vacuous == ()
    assert "MODE == SET" in (results["half"].vacuous or ())


def test_covers(tmp_path: Path) -> None:
    machine = load(
        sketch(tmp_path, "U1:9001", FLOP, "c d"),
        "cover:\n"
        '  now: {says: "", formula: "q && !d"}\n'
        '  edge: {says: "", formula: "rose(c)"}\n'
        '  pair: {says: "", formula: "rose(c) && prev(fell(c)) && prev(prev(rose(c)))"}\n'
        '  both: {says: "", formula: "rose(c) && rose(d)"}\n'
        '  wrong: {says: "", formula: "rose(c) && q != prev(d)"}\n',
    )
    found = {name: (r.verdict, r.steps) for name, r in prove(machine).items() if r.kind == "cover"}
    assert found["now"] == ("covered", 0)
    assert found["edge"] == ("covered", 1)
    assert found["pair"] == ("covered", 3)
    assert (found["both"][0], found["wrong"][0]) == ("unreachable", "unreachable")


# no answer is no proof ----------------------------------------------------------------------------

ASSERTS = [
    "always (rose(c) -> q == prev(d))",  # holds
    "always (q -> next q)",  # fails
    "(q && d) -> (q until !d)",  # holds, not by one step from any moment
]
COVER = 'cover: {x: {says: "", formula: "rose(c) && q != prev(d)"}}'
SURE = ("holds", "unreachable")


@pytest.mark.parametrize("seconds", [0.0, -1.0])
def test_no_time(tmp_path: Path, seconds: float) -> None:
    results = prove(flop(tmp_path, [], ASSERTS, COVER), seconds)
    assert {result.verdict for result in results.values()} == {"undecided"}


def answers(machine: Machine) -> dict[str, str]:
    return {name: result.verdict for name, result in prove(machine).items()}


def test_silent_solver(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Solver, "check", lambda self, assumptions, seconds: "unknown")
    assert set(answers(flop(tmp_path, [], ASSERTS, COVER)).values()) == {"undecided"}


def failing_check(real: Callable[..., object], turn: int) -> Callable[..., object]:
    """The solver's answers; it breaks down at the given one, and says nothing true after."""
    count = itertools.count()

    def check(self: Solver, assumptions: Sequence[int], seconds: float) -> object:
        if next(count) >= turn:
            raise pysolvers.error("out of memory")
        return real(self, assumptions, seconds)

    return check


@pytest.mark.parametrize("how", ["raises", "gives up"])
def test_solver_that_breaks_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    """Whenever it happens, what is still said is what a whole solver says, or "undecided"."""
    machine = flop(tmp_path, ["always (c -> stable(d))"], ASSERTS, COVER)
    whole = answers(machine)
    assert {whole["f0"], whole["f2"]} == {"holds"}
    assert (whole["f1"], whole["x"]) == ("fails", "unreachable")
    real = Solver.ask
    seen: set[str] = set()
    for turn in range(0, 60, 1):
        if how == "raises":
            broken = failing_check(real, turn)
        else:
            count = itertools.count()

            def broken(
                self: Solver, assumptions: list[int], seconds: float, turn: int = turn
            ) -> object:
                return None if next(count) >= turn else real(self, assumptions, seconds)  # noqa: B023  # a new one each turn

        monkeypatch.setattr(Solver, "ask", broken)
        found = answers(machine)
        for name, verdict in found.items():
            assert verdict in (whole.get(name), "undecided"), (turn, name, verdict)
        seen.update(found.values())
    assert seen >= {"holds", "undecided"}


@pytest.mark.parametrize("period", [2, 3, 5])
def test_solver_that_gives_up_now_and_then(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, period: int
) -> None:
    machine = flop(tmp_path, [], ASSERTS, COVER)
    whole = answers(machine)
    real, seen = Solver.ask, set[str]()
    for start in range(period):
        count = itertools.count(start)

        def check(
            self: Solver,
            assumptions: list[int],
            seconds: float,
            count: itertools.count[int] = count,
        ) -> object:
            return None if next(count) % period == 0 else real(self, assumptions, seconds)

        monkeypatch.setattr(Solver, "ask", check)
        found = answers(machine)
        assert all(v in (whole.get(name), "undecided") for name, v in found.items()), (start, found)
        seen.update(found.values())
    assert "undecided" in seen


def test_a_trace_that_shows_nothing_is_our_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If walking the trace with numbers does not show the fault, there is no verdict at all."""
    monkeypatch.setattr(prover, "confirms", lambda machine, name, trace: False)
    with pytest.raises(TraceMismatch, match="f1"):
        prove(flop(tmp_path, [], ["always (rose(c) -> q == prev(d))", "always (q -> next q)"]))
