"""Boards that get quiet and boards that do not; the facts are those of any text on digital design.

A loop with an odd number of inversions has no stable state (ring oscillator), one with an even
number has two. A ripple counter of n stages hands the edge on from stage to stage, a round each,
and one more round shows that nothing changes any more.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import sketch
from tests.prove.test_brute import load


def prove(
    folder: Path, chips: str, nets: dict[str, str], ports: str, more: str = ""
) -> tuple[int, dict[str, Result]]:
    machine = load(sketch(folder, chips, nets, ports), more)
    rounds, results = prove_board(machine, seconds=20)
    return rounds, {result.name: result for result in results}


def ring(inverters: int) -> dict[str, str]:
    nets = {f"n{k}": f"U1.Y{k} U1.A{k % inverters + 1}" for k in range(1, inverters + 1)}
    nets["n1"] += " U2.D"
    return {**nets, "c": "U2.CLK", "q": "U2.Q"}


@pytest.mark.parametrize("inverters", [1, 3, 5])
def test_ring_oscillator(tmp_path: Path, inverters: int) -> None:
    rounds, results = prove(tmp_path, "U1:14 U2:9001", ring(inverters), "c")
    assert (rounds, results["quiet"].verdict) == (0, "fails")
    assert "at rest" in results["quiet"].because
    assert {r.verdict for name, r in results.items() if name != "quiet"} == {"undecided"}


@pytest.mark.parametrize("inverters", [2, 4, 6])
def test_ring_that_holds(tmp_path: Path, inverters: int) -> None:
    _, results = prove(
        tmp_path, "U1:14 U2:9001", ring(inverters), "c",
        'cover: {zero: {says: "", formula: "!n1"}, one: {says: "", formula: "n1"}}\n'
        'assert: {kept: {says: "", formula: "always stable(n1)"}}\n',
    )  # fmt: skip
    assert results["quiet"].verdict == "holds"
    assert [results[name].verdict for name in ("zero", "one")] == ["covered", "covered"]
    assert results["kept"].verdict == "holds"


SR = {"s": "U1.A1", "r": "U1.B2", "q": "U1.Y1 U1.A2", "n": "U1.Y2 U1.B1"}


def test_latch_released_in_a_race(tmp_path: Path) -> None:
    """A NAND latch let go on both sides at once ends in either state, but at rest."""
    both = "(!prev(s) && !prev(r) && s && r)"
    rounds, results = prove(
        tmp_path, "U1:00", SR, "s r",
        "together: [[s, r]]\n"
        f'cover: {{up: {{says: "", formula: "{both} && q && !n"}}, '
        f'down: {{says: "", formula: "{both} && !q && n"}}, '
        f'other: {{says: "", formula: "{both} && q == n"}}}}\n',
    )  # fmt: skip
    assert (rounds, results["quiet"].verdict) == (1, "holds")
    assert (results["up"].verdict, results["up"].steps) == ("covered", 1)
    assert (results["down"].verdict, results["down"].steps) == ("covered", 1)
    assert results["other"].verdict == "unreachable"


def test_latch_released_one_by_one(tmp_path: Path) -> None:
    """In fundamental mode the input that is let go last decides."""
    _, results = prove(
        tmp_path, "U1:00", SR, "s r",
        'assert: {last: {says: "", formula: "always (rose(s) && r -> q)"}, '
        'other: {says: "", formula: "always (rose(r) && s && !prev(s) -> q)"}, '
        'set: {says: "", formula: "always (s || q)"}, '
        'forbidden: {says: "", formula: "always (q != n)"}, '
        'keeps: {says: "", formula: "always (s && r && prev(r) && prev(s) -> stable(q))"}}\n',
    )  # fmt: skip
    found = {name: results[name].verdict for name in ("last", "other", "set", "forbidden", "keeps")}
    assert found == {
        "last": "holds",
        "other": "holds",  # nobody can be in that step: only one input changes
        "set": "holds",
        "forbidden": "fails",  # both low: both outputs high
        "keeps": "holds",
    }
    assert results["other"].vacuous == ("rose(r) && s && !prev(s)",)
    assert results["last"].vacuous == ()
    assert results["forbidden"].steps == 0


@pytest.mark.parametrize("stages", range(1, 7))
def test_ripple_counter(tmp_path: Path, stages: int) -> None:
    chips = " ".join(f"U{k}:9001" for k in range(1, stages + 1))
    nets = {"c": "U1.CLK"}
    for k in range(1, stages + 1):
        following = f" U{k + 1}.CLK" if k < stages else ""
        nets[f"n{k}"] = f"U{k}.Q_n U{k}.D{following}"
    rounds, results = prove(tmp_path, chips, nets, "c")
    assert results["quiet"].verdict == "holds"
    assert rounds == stages + 1


@pytest.mark.parametrize(("top", "rounds"), [("q1 & q0", 3), ("q1", 3), ("none", 2)])
def test_self_clearing_counter(tmp_path: Path, top: str, rounds: int) -> None:
    """The edge, the clear that it causes, and the round after; without the clear one less."""
    nets = {"c": "U1.CLK", "e": "U1.EN", "q1": "U1.Q1 U2.A1", "q0": "U1.Q0", "k": "U2.Y1"}
    if top != "none":
        nets["k"] += " U1.CLR_n"
        nets["q0" if "q0" in top else "VCC"] = (
            nets.get("q0" if "q0" in top else "VCC", "") + " U2.B1"
        )
    found, results = prove(
        tmp_path, "U1:9006 U2:00", nets, "c e",
        'assert: {never: {says: "", formula: "never (q1 && q0)"}, '
        'passing: {says: "", formula: "never ever(q1 && q0)"}}\n',
    )  # fmt: skip
    assert (found, results["quiet"].verdict) == (rounds, "holds")
    if top == "q1 & q0":  # 3 is seen in passing only
        assert results["never"].verdict in ("holds", "undecided")
        assert (results["passing"].verdict, results["passing"].steps) == ("fails", 1)


def test_latch_fed_back_on_itself(tmp_path: Path) -> None:
    """An open latch whose output is inverted to its input goes on for ever."""
    nets = {"e": "U1.LE", "GND": "U1.OE_n", "q": "U1.Q U2.A1", "n": "U2.Y1 U1.D"}
    rounds, results = prove(tmp_path, "U1:9002 U2:14", nets, "e")
    assert (rounds, results["quiet"].verdict) == (0, "fails")
    assert "U1.L[0]" in results["quiet"].because
    trace = results["quiet"].trace
    assert trace is not None
    assert trace.steps[-1].controls["e"] == (1,)


def test_ring_behind_an_assumption(tmp_path: Path) -> None:
    """A ring that two inputs would start is no fault if they are assumed never to be on at once."""
    nets = {
        "a": "U1.A1 U1.Y1 U2.D", "e": "U1.B1", "f": "U1.C1", "VCC": "U1.D1", "c": "U2.CLK",
        "q": "U2.Q",
    }  # fmt: skip
    assume = 'assume: {{apart: {{says: "", formula: "{}"}}}}\n'
    never = assume.format("never (e && f)")
    rounds, results = prove(tmp_path, "U1:20 U2:9001", nets, "e f c", never)
    assert (rounds, results["quiet"].verdict) == (2, "holds")
    assert results["quiet"].assumes == ("apart",)
    weaker = assume.format("never (e && f && !c)")
    _, results = prove(tmp_path, "U1:20 U2:9001", nets, "e f c", weaker)
    assert results["quiet"].verdict == "fails"
    trace = results["quiet"].trace
    assert trace is not None
    assert trace.steps[-1].controls == {"e": (1,), "f": (1,), "c": (1,)}
