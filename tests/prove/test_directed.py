"""The property-directed prover: its verdicts, and that only a true invariant is believed.

Verdicts are held against the explicit search of `test_brute` (with induction switched off, so that
all that one step does not settle goes this way), against a plain search of a ROM's table, and
against what texts on digital design tell (`tests.prove.directed`). What proves a property is asked
again of bitwuzla. Faults that are put into an invariant must be noticed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.verify.prove import engine, inductive
from breadproof.verify.prove.cubes import Step
from breadproof.verify.prove.directed import Found, search_directed
from breadproof.verify.prove.engine import Engine, Open, Outcome
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.inductive import Checked, Inductive
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.pdr import Search
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from tests.prove.boards import SMALL, formulas, sketch, small
from tests.prove.directed import EXAMPLES, asserts, sequencer
from tests.prove.test_brute import agree, load, random_machine
from tests.prove.textbook import MACHINES
from tests.support.second_solver import answer, turned_round, without_last

METHOD = "property-directed, "
KEEP = "it is not so that steps keep the invariant"


@pytest.fixture
def no_induction(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever one step does not settle is left to the property-directed search."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)


def all_settled(machine: Machine, found: Counter[str]) -> None:
    """Nothing stays open."""
    assert not found["open"], (found, machine.netlist.file)


@pytest.mark.usefixtures("no_induction")
@pytest.mark.parametrize("name", list(SMALL)[::3])
def test_small_boards(tmp_path: Path, name: str) -> None:
    """A third of them; all in tests/long."""
    made = small(tmp_path, name)
    machine = load(made, formulas(made, Random(f"{name}, directed"), 8))
    all_settled(machine, agree(machine))


@pytest.mark.usefixtures("no_induction")
@pytest.mark.parametrize("seed", range(900, 908))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    machine = random_machine(tmp_path, Random(seed))
    all_settled(machine, agree(machine))


def settled(machine: Machine, facts: dict[str, int | None]) -> Counter[str]:
    """Hold the verdicts against the facts, and the questions against bitwuzla; the methods."""
    questions: list[tuple[str, str]] = []
    _, results = prove_board(machine, seconds=40, questions=questions)
    by_name = {result.name: result for result in results}
    found: Counter[str] = Counter()
    for number, (text, step) in enumerate(facts.items()):
        result = by_name[f"f{number}"]
        expected = ("holds", result.steps) if step is None else ("fails", step)
        assert (result.verdict, result.steps) == expected, (text, result)
        if result.method.startswith(METHOD):
            count = int(result.method.removeprefix(METHOD).partition(" ")[0])
            assert len(result.invariant) == count
            asked = [script for what, script in questions if what.startswith(f"f{number}: ")]
            assert 2 <= len(asked) <= 4
            for script in asked:
                assert answer(script) == "unsat", text
                assert answer(without_last(script)) == "sat", text
                assert answer(turned_round(script)) == "sat", text
            found["directed"] += 1
        else:
            assert not result.invariant
        found[result.verdict] += 1
    return found


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Induction over ten steps does not settle at least one of each board's facts."""
    monkeypatch.setattr(engine, "MAX_STEPS", 10)
    facts = EXAMPLES[name].facts
    found = settled(EXAMPLES[name].machine(tmp_path), facts)
    assert found["directed"] or max(step or 0 for step in facts.values()) > 40


@pytest.mark.usefixtures("no_induction")
@pytest.mark.parametrize("name", MACHINES)
def test_textbook(tmp_path: Path, name: str) -> None:
    book = MACHINES[name]
    settled(
        load(sketch(tmp_path, book.chips, book.nets, book.ports), asserts(book.facts)), book.facts
    )


def sequencer_settled(folder: Path, seed: int, bits: int, count: int) -> Counter[str]:
    """A random table, and ``count`` of its facts."""
    random = Random(seed)
    made = sequencer(random, bits)
    facts = dict(random.sample(sorted(made.facts().items()), count))
    return settled(made.machine(folder, facts), facts)


@pytest.mark.parametrize("seed", range(4))
def test_sequencers(tmp_path: Path, seed: int) -> None:
    found = sequencer_settled(tmp_path, seed, 5, 12)
    assert found["holds"]
    assert found["fails"]


def test_the_search_comes_before_many_steps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a few steps of induction do not settle is searched for with a part of the time; if
    that has no answer, more steps follow, and then the search again."""
    machine = EXAMPLES["counters in lockstep"].machine(tmp_path)
    # Its first turn has a second; a machine with other work may need more to find this invariant.
    monkeypatch.setattr(engine, "AWHILE", 20)
    deep = asked_deep(machine, monkeypatch)
    assert deep == engine.EARLY
    monkeypatch.setattr(engine, "SLICE", 0)
    monkeypatch.setattr(engine, "MAX_STEPS", engine.EARLY + 2)
    assert asked_deep(machine, monkeypatch) == engine.EARLY + 2


def asked_deep(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> int:
    """How deep the first fact's chain got before an invariant proved it."""
    depths = [0]
    look = Engine.look

    def noted(self: Engine, items: Sequence[Open], steps: int) -> dict[str, Outcome]:
        depths.append(steps)
        return look(self, items, steps)

    with monkeypatch.context() as patched:
        patched.setattr(Engine, "look", noted)
        _, results = prove_board(machine, seconds=120, only=("f0",))
    (result,) = results
    assert result.verdict == "holds"
    assert result.method.startswith(METHOD)
    return max(depths)


# faults -------------------------------------------------------------------------------------------


def formula(machine: Machine, name: str) -> CompiledFormula:
    return next(one for one in machine.logic.formulas if one.formula.name == name)


def questions_about(machine: Machine, name: str) -> Inductive:
    node = formula(machine, name).bad
    return Inductive(machine, 2, remembered(machine, node), lambda moment: moment.values[node])


def found_invariant(machine: Machine, name: str) -> tuple[Clause, ...]:
    one = questions_about(machine, name)
    found = search_directed(machine, 2, formula(machine, name).bad, one.bad, Deadline(40))
    assert found.verdict == "never", found
    return found.invariant


def check(one: Inductive, clauses: tuple[Clause, ...]) -> Checked:
    checked = one.check(clauses, Deadline(40))
    assert checked.answer in ("sat", "unsat")
    return checked


FAULTY = {
    "arbiter with a token": "f0",
    "counters in lockstep": "f0",
}


@pytest.fixture(params=FAULTY)
def proved(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Machine, str]:
    """A board whose step takes two rounds, and a property that needs an invariant."""
    return EXAMPLES[request.param].machine(tmp_path), FAULTY[request.param]


def test_a_dropped_clause_is_noticed(proved: tuple[Machine, str]) -> None:
    one, clauses = questions_about(*proved), found_invariant(*proved)
    assert clauses
    assert check(one, clauses).answer == "unsat"
    for place in range(len(clauses)):
        checked = check(one, clauses[:place] + clauses[place + 1 :])
        assert checked.answer == "sat", clauses[place]
        assert checked.why.startswith("it is not so that ")
        assert not checked.questions


def flipped(clauses: tuple[Clause, ...]) -> Iterator[tuple[Clause, ...]]:
    """The clauses with one literal inverted, for each literal."""
    for place, clause in enumerate(clauses):
        for at, (name, level) in enumerate(clause):
            wrong = (*clause[:at], (name, 1 - level), *clause[at + 1 :])
            yield (*clauses[:place], wrong, *clauses[place + 1 :])


def test_a_flipped_literal_is_noticed(proved: tuple[Machine, str]) -> None:
    one, clauses = questions_about(*proved), found_invariant(*proved)
    for wrong in flipped(clauses):
        assert check(one, wrong).answer == "sat", wrong


def test_a_dropped_literal_is_noticed(proved: tuple[Machine, str]) -> None:
    """A clause without one of its literals says more than is so: the clauses are general."""
    one, clauses = questions_about(*proved), found_invariant(*proved)
    for place, clause in enumerate(clauses):
        for at in range(len(clause)):
            short = (*clause[:at], *clause[at + 1 :])
            wrong = (*clauses[:place], short, *clauses[place + 1 :])
            assert check(one, wrong).answer == "sat", wrong


class _Watched(Search):
    """Notes frames down that are not equal to the next, though all before the last are cleared."""

    early: list[tuple[Clause, ...]]

    def push(self) -> int | None:
        equal = super().push()
        for level in range(1, len(self.frames) - 1):
            if equal is None or level < equal:
                cubes = [cube for later in self.frames[level:] for cube in later]
                self.early.append(tuple(self.clause(cube) for cube in cubes))
        return equal


def test_a_skipped_frame_is_noticed(tmp_path: Path) -> None:
    """A frame that is not yet equal to the next is no invariant, whichever it is."""
    made = sequencer(Random(2), 5)
    facts: dict[str, int | None] = {text: None for text, steps in made.facts().items() if not steps}
    machine = made.machine(tmp_path, facts)
    early = 0
    for number in range(len(facts)):
        one = questions_about(machine, f"f{number}")
        step = Step(machine, 2, one.monitors)
        search = _Watched(step, one.bad(step.second), Deadline(40), lambda text: None)
        search.early = []
        assert check(one, tuple(search.run())).answer == "unsat"
        early += len(search.early)
        for clauses in search.early:
            checked = check(one, clauses)
            assert (checked.answer, checked.why) == ("sat", KEEP), clauses
    assert early >= 10


def test_no_clauses_at_all_are_noticed(proved: tuple[Machine, str]) -> None:
    assert check(questions_about(*proved), ()).answer == "sat"


def test_what_first_moments_break_is_noticed(proved: tuple[Machine, str]) -> None:
    """A clause that steps keep, but that not all boards begin with."""
    one, clauses = questions_about(*proved), found_invariant(*proved)
    checked = check(one, (*clauses, ()))
    assert checked.answer == "sat"
    assert checked.why == "it is not so that first moments meet the invariant"


def test_an_invariant_that_is_not_confirmed_proves_nothing(
    proved: tuple[Machine, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The search errs: it takes its first frame for the last."""
    machine, name = proved
    monkeypatch.setattr(Search, "run", lambda self: [])
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    _, results = prove_board(machine, seconds=20)
    result = next(one for one in results if one.name == name)
    assert result.verdict == "undecided"
    assert "its invariant is not confirmed: it is not so that no step" in result.because


def test_a_solver_that_gives_up_proves_nothing(
    proved: tuple[Machine, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    machine, name = proved
    one, clauses = questions_about(machine, name), found_invariant(machine, name)
    assert one.check(clauses, Deadline(0)).answer == "unknown"

    class GivesUp(Solver):
        def check(self, assumptions: Sequence[int], seconds: float) -> Answer:
            self.reason = "it would not say"
            return "unknown"

    monkeypatch.setattr(inductive, "Solver", GivesUp)
    node = formula(machine, name).bad

    def bad(moment: Moment) -> int:
        return moment.values[node]

    found = search_directed(machine, 2, node, bad, Deadline(40))
    assert found.verdict == "undecided"
    assert found.because == "its invariant is not confirmed: it would not say"
    assert search_directed(machine, 2, node, bad, Deadline(0)).because == "out of time"


# lemmas -------------------------------------------------------------------------------------------


def search_with(machine: Machine, name: str, lemmas: Sequence[tuple[Clause, ...]]) -> Found:
    node = formula(machine, name).bad
    bad = questions_about(machine, name).bad
    return search_directed(machine, 2, node, bad, Deadline(40), lemmas=lemmas)


def test_what_is_known_becomes_part_of_the_invariant(proved: tuple[Machine, str]) -> None:
    """With what proves a property in hand, nothing is left to find but what else is needed."""
    clauses = found_invariant(*proved)
    found = search_with(*proved, [clauses[:-1], clauses, ((("no such bit", 1),),)])
    assert found.verdict == "never"
    assert set(found.invariant) <= set(clauses)
    assert check(questions_about(*proved), found.invariant).answer == "unsat"


def test_a_lemma_that_is_wrong_proves_nothing(tmp_path: Path) -> None:
    """Whatever is taken for granted, the invariant with it is asked for again."""
    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    name = "f4"  # it fails
    for part in ("U1.R[0]", "U1.R[1]", "U1.R[2]", "U1.R[3]"):
        for level in (0, 1):
            found = search_with(machine, name, [(((part, level),),)])
            assert found.verdict != "never", found
            assert "its invariant is not confirmed" in found.because or found.verdict == "reached"
