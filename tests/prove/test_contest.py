"""Engines side by side: the first sound answer wins, and nothing else counts as one.

The answers of the examples are known from their tables (see `directed`), not from one process.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Collection
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.verify.prove import contest, engine, lively, prover
from breadproof.verify.prove.contest import DIRECTED, UNROLLING, Contest, Contradiction
from breadproof.verify.prove.crew import Crew, Forks, Hear, Lost, Work
from breadproof.verify.prove.directed import Found
from breadproof.verify.prove.engine import Engine, Open, Outcome
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.verdict import Result
from tests.prove.directed import EXAMPLES
from tests.prove.test_crew import MEMORY, here


def outcome(verdict: Any, **more: Any) -> Outcome:
    """An engine's answer."""
    given: dict[str, Any] = {"method": "made up", "steps": 4, "seconds": 0.0, "because": ""} | more
    return Outcome(verdict=verdict, **given)


def test_the_answers_are_those_of_the_tables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each example has facts that induction alone does not settle."""
    example = EXAMPLES["arbiter with a token"]
    monkeypatch.setattr(contest, "MAX_STEPS", 12)
    results = proved(example.machine(tmp_path), here())
    told: list[str] = []
    for number, step in enumerate(example.facts.values()):
        result = results[f"f{number}"]
        wanted = ("holds", result.steps) if step is None else ("fails", step)
        assert (result.verdict, result.steps) == wanted, result
        told += result.engines
    assert any(text.startswith((UNROLLING, DIRECTED)) for text in told)
    dead = [one for name, one in results.items() if name.startswith("dead:")]
    assert dead
    assert {one.verdict for one in dead} == {"holds"}


@pytest.mark.parametrize("work", [contest.unroll, contest.direct])
def test_somebody_far_away_needs_the_board_and_a_name(tmp_path: Path, work: Work) -> None:
    """Both go through bytes; the fact with the run of five steps, and one that holds."""
    machine = pickle.loads(pickle.dumps(EXAMPLES["arbiter with a token"].machine(tmp_path)))
    name, wanted = ("f4", "reached") if work is contest.unroll else ("f1", "never")
    found = contest.far(lambda text: None, work, machine, 2, 20.0, name, 0.0)
    answer = pickle.loads(pickle.dumps(found))
    assert contest.well_formed(answer)
    assert answer.verdict == wanted
    assert answer.steps == (5 if wanted == "reached" else answer.steps)


class Scripted:
    """A crew whose engines say what the test wants; `Lost` is raised, None never comes."""

    size = 2
    far = False

    def __init__(self, **said: object) -> None:
        self.said = said
        self.dropped: list[str] = []
        self.asked: dict[Future[object], str] = {}

    def submit(self, work: Work, *args: Any, seconds: float) -> Future[object]:
        future: Future[object] = Future()
        self.asked[future] = work.__name__
        value = self.said.get(work.__name__)
        if isinstance(value, Lost):
            future.set_exception(value)
        elif value is not None:
            future.set_result(value)
        return future

    def wait(self, futures: Collection[Future[object]], hear: Hear) -> set[Future[object]]:
        done = [future for future in self.asked if future in futures and future.done()]
        assert done, "it would wait for ever"
        return {done[0]}

    def drop(self, future: Future[object]) -> None:
        self.dropped.append(self.asked[future])

    def __enter__(self) -> Scripted:
        return self

    def __exit__(self, *error: object) -> None:
        pass


def settled(folder: Path, number: int, crew: Scripted, given_up: str = "") -> Outcome:
    """What comes of a fact of an example if the engines say what the crew has."""
    machine = EXAMPLES["arbiter with a token"].machine(folder)
    chain = Engine(machine, 2, 20.0)
    chain.reach(3)
    item = Open(property_named(machine, f"f{number}"), 10.0, 0.5)
    outcomes = {}
    if given_up:
        outcomes[item.one.name] = outcome("undecided", because=given_up, steps=2)
    Contest(crew).settle(chain, [item], outcomes)
    return outcomes[item.one.name]


def test_the_first_answer_wins_and_the_others_are_stopped(tmp_path: Path) -> None:
    crew = Scripted(direct=outcome("never"))
    answer = settled(tmp_path, 0, crew)
    assert (answer.verdict, answer.method) == ("never", "made up")
    assert answer.engines == (f"{UNROLLING}: stopped, since another was first",)
    assert crew.dropped == ["unroll"]


@pytest.mark.parametrize(
    "said",
    [
        Lost("out of memory"),
        Lost("its process was stopped by signal 9"),
        outcome("undecided", because="the solver gave up (timeout)"),
        Found(verdict="undecided", because="out of time"),
    ],
)
def test_who_says_nothing_is_not_waited_for(tmp_path: Path, said: object) -> None:
    why = said.because if isinstance(said, Outcome | Found) else str(said)
    answer = settled(tmp_path, 0, Scripted(direct=said, unroll=outcome("never")))
    assert answer.verdict == "never"
    if answer.engines[0] != f"{DIRECTED}: stopped, since another was first":
        assert answer.engines == (f"{DIRECTED}: {why}",)
    both = settled(tmp_path, 0, Scripted(direct=said, unroll=said))
    assert both.verdict == "undecided"
    assert both.because == f"{UNROLLING}: {why}; {DIRECTED}: {why}"


@pytest.mark.parametrize(
    "said",
    [
        True,
        "never",
        ["never"],
        {"verdict": "never"},
        Found(verdict="never"),
        Found(verdict="reached"),
        outcome("holds"),
        outcome("reached"),
        outcome("never", method=3),
        outcome("never", steps="4"),
        outcome("never", seconds=None),
        outcome("never", invariant="x"),
        outcome("never", proof="x"),
        outcome("never", trace=0),
    ],
    ids=range(14),
)
def test_what_is_no_answer_counts_as_none(tmp_path: Path, said: object) -> None:
    answer = settled(tmp_path, 0, Scripted(direct=said, unroll=said))
    assert answer.verdict == "undecided"
    assert answer.because == f"{UNROLLING}: its answer is none; {DIRECTED}: its answer is none"


def test_what_induction_gave_up_is_not_begun_again(tmp_path: Path) -> None:
    crew = Scripted(direct=Lost("out of memory"))
    answer = settled(tmp_path, 0, crew, given_up="the solver gave up (timeout)")
    assert list(crew.asked.values()) == ["direct"]
    assert answer.because == (
        f"{UNROLLING}: the solver gave up (timeout); {DIRECTED}: out of memory"
    )


def test_a_known_run_is_drawn_at_its_shortest(tmp_path: Path) -> None:
    """The search knows that one of 9 steps breaks it; the shortest has 5, by the table."""
    crew = Scripted(
        direct=Found(verdict="reached", steps=9), unroll=outcome("undecided", steps=3, because="no")
    )
    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    chain = Engine(machine, 2, 20.0)
    item = Open(property_named(machine, "f4"), 20.0)
    drawn = contest.draw(lambda text: None, chain, item, 3, 9)
    assert (drawn.verdict, drawn.steps) == ("reached", 5)
    crew.said["draw"] = drawn
    answer = settled(tmp_path, 4, crew)
    assert (answer.verdict, answer.steps) == ("reached", 5)
    crew.said["draw"] = Lost("out of memory")
    answer = settled(tmp_path, 4, crew)
    assert answer.verdict == "undecided"
    assert f"{DIRECTED}: a run of 9 steps breaks it; " in answer.because


def test_opposite_answers_are_our_error(tmp_path: Path) -> None:
    class Later(Scripted):
        def wait(self, futures: Collection[Future[object]], hear: Hear) -> set[Future[object]]:
            order = sorted(futures, key=lambda one: self.asked[one])
            return {order[0]}

    crew = Later(direct=Found(verdict="reached", steps=9), unroll=outcome("never"))
    with pytest.raises(Contradiction, match="f0: proved, and broken in 9 steps"):
        settled(tmp_path, 0, crew)


def proved(machine: Machine, crew: Crew) -> dict[str, Result]:
    """All results with a crew."""
    with crew:
        return {one.name: one for one in Prover(machine, seconds=5, crew=crew).run()}


def test_a_killed_worker_is_undecided_and_the_rest_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All workers of one kind are killed at work: the search, and the look for what is dead."""

    def killed(*args: object, **more: object) -> None:
        os.kill(os.getpid(), 9)

    monkeypatch.setattr(engine, "search_directed", killed)
    monkeypatch.setattr(contest, "MAX_STEPS", 6)
    monkeypatch.setattr(prover, "look_for_dead", killed)
    example = EXAMPLES["arbiter with a token"]
    results = proved(example.machine(tmp_path), Forks(size=2, memory=MEMORY))
    told = "its process was stopped by signal 9"
    dead = [one for name, one in results.items() if name.startswith("dead:")]
    assert dead
    assert {(one.verdict, one.because) for one in dead} == {("undecided", told)}
    open_ones = [one for one in results.values() if told in one.because and one not in dead]
    assert open_ones
    for number, step in enumerate(example.facts.values()):
        result = results[f"f{number}"]
        if result in open_ones:
            assert result.verdict == "undecided"
        else:
            assert result.verdict == ("holds" if step is None else "fails")


def test_of_what_is_dead_one_half_may_be_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pins and controls are looked at by a worker each."""
    inner = prover.look_for_dead

    def controls_killed(*args: Any) -> list[Result]:
        if args[-1] == "controls":
            os.kill(os.getpid(), 9)
        return inner(*args)

    monkeypatch.setattr(prover, "look_for_dead", controls_killed)
    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    results = proved(machine, Forks(size=2, memory=MEMORY))
    controls = {f"dead:{name}" for name in machine.controls}
    dead = {name: one.verdict for name, one in results.items() if name.startswith("dead:")}
    assert {name for name, verdict in dead.items() if verdict == "undecided"} == controls
    assert {*dead.values()} == {"undecided", "holds"}


@pytest.mark.parametrize("jobs", [1, 2])
def test_ctrl_c_keeps_what_is_known_of_what_is_dead(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, jobs: int
) -> None:
    def pressed(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    if jobs == 1:
        monkeypatch.setattr(lively, "what_matters", pressed)
        work = Prover(machine, seconds=5)
        results = work.run()
    else:
        monkeypatch.setattr(prover, "reset_results", pressed)
        with Forks(size=2, memory=MEMORY) as crew:
            work = Prover(machine, seconds=5, crew=crew)
            inner = work.settle

            def later(formulas: list[CompiledFormula]) -> None:
                inner(formulas)
                crew.wait(list(work.beside)[:1], lambda _, text: None)

            monkeypatch.setattr(work, "settle", later)
            results = work.run()
    assert work.interrupted
    by_name = {one.name: one.verdict for one in results}
    assert "holds" in {one for name, one in by_name.items() if name.startswith("dead:")}
    if jobs == 1:
        assert "undecided" in {*by_name.values()}


def test_dead_ones_are_all_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inner = prover.look_for_dead

    def less(*args: Any) -> list[Result]:
        return [replace(one, verdict="holds") for one in inner(*args)[1:]]

    monkeypatch.setattr(prover, "look_for_dead", less)
    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    results = proved(machine, Forks(size=2, memory=MEMORY))
    dead = [one for name, one in results.items() if name.startswith("dead:")]
    assert {(one.verdict, one.because) for one in dead} == {("undecided", "its answer is none")}
