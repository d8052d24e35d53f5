"""What an earlier run found out: taken where it is still so, never where anything is wrong."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove import engine as engine_module
from breadproof.verify.prove import keeper as keeper_module
from breadproof.verify.prove import prover as prover_module
from breadproof.verify.prove import store as store_module
from breadproof.verify.prove.digests import Unkeyed
from breadproof.verify.prove.keeper import KEPT
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.store import Store, users_folder
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import sketch
from tests.prove.directed import EXAMPLES
from tests.prove.kept import loaded
from tests.prove.test_keys import CHIPS, FORMULAS, NETS, board

COVER = FORMULAS + "  never: {says: No., formula: never x}\n"


def run(machine: Machine, store: Store | None) -> dict[str, Result]:
    """All results, by name."""
    return {one.name: one for one in Prover(machine, seconds=20, store=store).run()}


def bare(results: dict[str, Result]) -> dict[str, Result]:
    """The results without what may differ from run to run."""
    return {name: replace(one, seconds=0.0, engines=()) for name, one in results.items()}


def kept(results: dict[str, Result]) -> set[str]:
    """The names of those that were kept."""
    return {name for name, one in results.items() if one.engines == (KEPT,)}


def no_proofs(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on nothing can be proved anew."""

    def wrong(*args: object, **other: object) -> None:
        raise AssertionError("proved again")

    monkeypatch.setattr(engine_module.Engine, "settle", wrong)
    monkeypatch.setattr(prover_module, "find_rounds", wrong)
    monkeypatch.setattr(prover_module, "lively_results", wrong)


def test_the_second_time_nothing_is_proved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    machine, store = board(tmp_path, more=COVER), Store(tmp_path / "kept")
    first = run(machine, store)
    assert {one.verdict for one in first.values()} >= {"holds", "fails"}
    assert not kept(first)
    assert first["never"].trace is not None
    no_proofs(monkeypatch)
    again = run(board(tmp_path, more=COVER), store)
    assert bare(again) == bare(first)
    assert kept(again) == set(first) - {"quiet"}
    other = run(machine, store)
    assert bare(other) == bare(first)


def test_proofs_come_back_with_their_clauses(tmp_path: Path) -> None:
    """Also where another formula stands before, so that what is remembered has another number."""
    one, store = EXAMPLES["arbiter with a token"], Store(tmp_path / "kept")
    first = run(one.machine(tmp_path), store)
    again = run(one.machine(tmp_path), store)
    proofs = [first[name].proof for name in first]
    assert any(proof is not None and proof.clauses for proof in proofs)
    assert [again[name].proof for name in first] == proofs
    text = "first({r0}) -> never t0".replace("first({r0})", "prev(r0) && r1")
    facts = {f"always ({text.partition(' -> ')[0]} -> next (t0 || !t0))": None, **one.facts}
    more = run(replace(one, facts=facts).machine(tmp_path), store)
    for number in range(len(one.facts)):
        old, new = first[f"f{number}"], more[f"f{number + 1}"]
        assert new.engines == (KEPT,)
        assert (new.verdict, new.steps, new.trace) == (old.verdict, old.steps, old.trace)


def test_fresh_takes_nothing_and_keeps_all(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    run(board(tmp_path), Store(folder))
    before = {path: path.read_text() for path in folder.rglob("*.json")}
    for path in before:
        path.write_text("{}")
    assert not kept(run(board(tmp_path), Store(folder, fresh=True)))
    assert {path: path.read_text() for path in folder.rglob("*.json")} == before
    assert kept(run(board(tmp_path), Store(folder)))


def flipped(text: str) -> str:
    return text.replace('"never"', '"reached"').replace('"steps": 1', '"steps": 2')


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: "",
        lambda text: text[: len(text) // 2],
        lambda text: "[" * 100_000,
        lambda text: "null",
        lambda text: '{"sum": 1, "answer": []}',
        lambda text: "\udcff",
        flipped,
        lambda text: text.replace("holds", "fails").replace("method", "metho"),
    ],
    ids=range(8),
)
def test_a_spoilt_answer_is_as_if_it_were_not_there(
    tmp_path: Path, spoil: Callable[[str], str]
) -> None:
    folder = tmp_path / "kept"
    first = run(board(tmp_path, more=COVER), Store(folder))
    for path in folder.rglob("*.json"):
        text = spoil(path.read_text("utf-8"))
        path.write_bytes(text.encode("utf-8", "surrogateescape"))
    again = run(board(tmp_path, more=COVER), Store(folder))
    assert bare(again) == bare(first)


def test_an_answer_under_another_s_key_is_not_taken(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    first = run(board(tmp_path, more=COVER), Store(folder))
    paths = sorted(folder.rglob("*.json"))
    texts = [path.read_text("utf-8") for path in paths]
    for path, text in zip(paths, [*texts[1:], texts[0]], strict=True):
        path.write_text(text, "utf-8")
    again = run(board(tmp_path, more=COVER), Store(folder))
    assert not kept(again)
    assert bare(again) == bare(first)


def test_an_answer_of_another_edition_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Store(tmp_path / "kept")
    store.put("ab" * 20, {"verdict": "never"})
    assert store.get("ab" * 20) == {"verdict": "never"}
    monkeypatch.setattr(store_module, "edition", lambda: "another")
    assert store.get("ab" * 20) is None


def resigned(folder: Path, change: Callable[[dict[str, Any]], None]) -> int:
    """Change all answers that are runs, and sign them as right; how many there were."""
    count = 0
    for path in folder.rglob("*.json"):
        answer = json.loads(path.read_text("utf-8"))["answer"]
        if answer.get("verdict") == "reached":
            change(answer)
            Store(folder).put(path.stem, answer)
            count += 1
    return count


def other_way(answer: dict[str, Any]) -> None:
    answer["trace"]["storage"] = {}
    for step in answer["trace"]["steps"]:
        step["controls"] = {name: [0] for name in step["controls"]}


def shorter(answer: dict[str, Any]) -> None:
    answer["trace"]["steps"].pop()


def no_step(answer: dict[str, Any]) -> None:
    answer["trace"]["steps"] = []


def nonsense(answer: dict[str, Any]) -> None:
    answer["trace"] = {"storage": 3}


@pytest.mark.parametrize("change", [other_way, shorter, no_step, nonsense])
def test_a_run_that_does_not_show_it_is_never_told(
    tmp_path: Path, change: Callable[[dict[str, Any]], None]
) -> None:
    folder = tmp_path / "kept"
    first = run(board(tmp_path, more=COVER), Store(folder))
    assert resigned(folder, change) >= 1
    again = run(board(tmp_path, more=COVER), Store(folder))
    assert bare(again) == bare(first)
    assert "never" not in kept(again)


def test_a_run_is_walked_on_the_board_at_hand(tmp_path: Path) -> None:
    """The board has a chip more, so that the run has more nets than the one that was kept."""
    store = Store(tmp_path / "kept")
    run(board(tmp_path, more=COVER), store)
    nets = NETS | {"d": "U4.D0", "e": "U4.Q0", "clk": "U1.CLK U4.CLK"}
    machine = loaded(sketch(tmp_path, f"{CHIPS} U4:175", nets, "clk a b d"), COVER)
    assert machine is not None
    result = run(machine, store)["never"]
    assert result.engines == (KEPT,)
    assert result.trace is not None
    assert "e" in result.trace.steps[0].nets


def test_the_folder_does_not_grow_for_ever(tmp_path: Path) -> None:
    store = Store(tmp_path, most=4000)
    for number in range(30):
        store.put(f"{number:02}" * 20, {"text": "x" * 500})
        os.utime(store.path(f"{number:02}" * 20), (number, number))
    assert store.get("05" * 20) is not None  # asked for: not the oldest any more
    store.trim()
    left = sorted(path.stem[:2] for path in tmp_path.rglob("*.json"))
    assert sum(path.stat().st_size for path in tmp_path.rglob("*.json")) <= 4000
    assert left == ["05", "25", "26", "27", "28", "29"]


def test_a_folder_that_cannot_be_written_costs_no_answer(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    store = Store(tmp_path / "file" / "kept")
    first = run(board(tmp_path), store)
    assert bare(run(board(tmp_path), store)) == bare(first)


def test_no_half_of_an_answer_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "no room")

    monkeypatch.setattr(os, "replace", full)
    Store(tmp_path).put("ab" * 20, {})
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_where_a_user_s_answers_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification 0.8: $XDG_CACHE_HOME, if absolute; else ~/.cache."""
    monkeypatch.setenv("HOME", "/home/anna")
    monkeypatch.setenv("XDG_CACHE_HOME", "/var/tmp/anna")
    assert users_folder() == Path("/var/tmp/anna/breadproof")
    for unset in ("", "not/absolute"):
        monkeypatch.setenv("XDG_CACHE_HOME", unset)
        assert users_folder() == Path("/home/anna/.cache/breadproof")


def test_a_board_that_is_not_known_is_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown(machine: Machine) -> None:
        raise Unkeyed

    monkeypatch.setattr(keeper_module, "Keys", unknown)
    folder = tmp_path / "kept"
    assert run(board(tmp_path), Store(folder))
    assert not folder.exists()
