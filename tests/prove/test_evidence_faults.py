"""Faults that are put into the prover: each makes it prove what is not so, or prove it wrongly, and
the evidence does not close. A solver that is wrong is noticed before, by the second one, unless
that is wrong alike.

What is not so is known from the machines' own tables and from textbooks (`tests.prove.textbook`,
`tests.prove.directed`), or from the formula alone. The questions are answered by bitwuzla.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.closing import Closing, Question
from breadproof.verify.exchange.confirming import Confirmer, EvidenceMismatch, looking_back
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.walked import walks
from breadproof.verify.prove import engine, invariants, second
from breadproof.verify.prove.engine import Engine, Open, Outcome
from breadproof.verify.prove.inductive import Checked, Inductive
from breadproof.verify.prove.paths import Paths
from breadproof.verify.prove.pdr import Search
from breadproof.verify.prove.proof import Clause, Proof
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.second import SolversDisagree
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from breadproof.verify.prove.system import System, board_system
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import sketch
from tests.prove.directed import EXAMPLES, asserts
from tests.prove.test_brute import load
from tests.prove.textbook import MACHINES
from tests.support.second_solver import answer

FLIP_FLOP = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q", "VCC": "U1.CLR_n"}


# what accepts a proof -----------------------------------------------------------------------------


def closed(question: Question) -> bool:
    return answer(question.script) == question.answer


def accepted(system: System, name: str, proof: Proof) -> bool:
    """Whether all questions of a proof close, however many moments they look back on."""
    work = Closing(part_of(system, [name], proof.clauses), proof)
    backs = [n for n in looking_back(proof) if closed(work.kept(n))] if proof.clauses else [1]
    shifts = [n for n in (0, 1) if closed(work.never(proof.steps + n, n))]
    return any(
        closed(work.first(back, proof.steps + shift))
        and closed(work.guard(max(back, proof.steps + shift)))
        for back in backs
        for shift in shifts
    )


def rejected(machine: Machine, rounds: int, result: Result) -> None:
    """The proof of a result is not accepted, and evidence of it is never written."""
    assert result.verdict == "holds"
    assert result.proof is not None
    system = board_system(machine, rounds)
    assert not accepted(system, result.name, result.proof)
    part = part_of(system, [result.name], result.proof.clauses)
    with pytest.raises(EvidenceMismatch):
        Confirmer(20.0).proof(part, result.proof)


def wrongly_proved(machine: Machine, names: Sequence[str]) -> None:
    """A prover with a fault proves these formulas, which are not so; their evidence is rejected."""
    rounds, results = prove_board(machine, seconds=20)
    found = {result.name: result for result in results}
    for name in names:
        rejected(machine, rounds, found[name])


def noticed(machine: Machine, names: Sequence[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The second solver notices; where it is wrong alike, the evidence is rejected."""
    with pytest.raises(SolversDisagree):
        prove_board(machine, seconds=20)
    monkeypatch.setattr(second, "ask_z3", lambda script, seconds: "unsat")
    wrongly_proved(machine, names)


def book(folder: Path, name: str) -> tuple[Machine, list[str]]:
    """A textbook's machine, and its formulas that are broken after more than three steps."""
    told = MACHINES[name]
    machine = load(sketch(folder, told.chips, told.nets, told.ports), asserts(told.facts))
    late = [f"f{k}" for k, step in enumerate(told.facts.values()) if step is not None and step > 3]
    assert late
    return machine, late


def flip_flop(folder: Path, formula: str) -> Machine:
    text = f'assert:\n  f0: {{says: "", formula: "{formula}"}}\n'
    return load(sketch(folder, "U1:9001", FLIP_FLOP, "c d"), text)


# a solver that says "unsat" -----------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Johnson counter", "decade counter"])
def test_unsat_is_said_of_the_induction_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setattr(engine, "possible_runs", lambda *question: (set(), True))
    monkeypatch.setattr(Paths, "pairs", lambda self, node, steps: ())
    noticed(*book(tmp_path, name), monkeypatch)


def test_unsat_is_said_of_the_step_from_any_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def says(
        self: Engine, properties: Sequence[engine.Property], outcomes: dict[str, Outcome]
    ) -> list[engine.Property]:
        for one in properties:
            outcomes[one.name] = Outcome(
                verdict="never", method="", steps=1, seconds=0.0, proof=Proof(kind="step")
            )
        return []

    monkeypatch.setattr(Engine, "prove_group", says)
    wrongly_proved(*book(tmp_path, "LFSR"))


# frames that are skipped --------------------------------------------------------------------------


@pytest.mark.parametrize("frame", [1, 2, 3])
def test_a_frame_is_skipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, frame: int) -> None:
    """``next[n] d`` can be violated in step n alone; a prover that skips it finds no other."""
    look = Engine.look

    def skips(self: Engine, items: Sequence[Open], steps: int) -> dict[str, Outcome]:
        check, initial = self.solver.check, self.frames.initial

        def blind(assumptions: Sequence[int], seconds: float) -> Answer:
            return "unsat" if initial in assumptions else check(assumptions, seconds)

        if steps == frame:
            monkeypatch.setattr(self.solver, "check", blind)
        found = look(self, items, steps)
        self.solver.check = check  # type: ignore[method-assign]
        return found

    monkeypatch.setattr(Engine, "look", skips)
    noticed(flip_flop(tmp_path, f"next[{frame}] d"), ["f0"], monkeypatch)


def test_the_first_moment_is_skipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Engine, "fail_group", lambda self, properties, *others: list(properties))
    noticed(flip_flop(tmp_path, "d"), ["f0"], monkeypatch)


# clauses ------------------------------------------------------------------------------------------


def test_clauses_are_believed_unproved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All that was guessed, contradictions too."""
    monkeypatch.setattr(invariants._Dropping, "drop", lambda self, *others: None)
    monkeypatch.setattr(invariants._Dropping, "keep", lambda self: None)
    noticed(*book(tmp_path, "Johnson counter"), monkeypatch)


def test_clauses_are_believed_that_steps_do_not_keep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(invariants._Dropping, "keep", lambda self: None)
    noticed(*book(tmp_path, "Johnson counter"), monkeypatch)


def believed(self: Inductive, clauses: Sequence[Clause], deadline: Deadline) -> Checked:
    """A check that lets everything pass."""
    return Checked(answer="unsat", why="", questions=())


def test_a_first_frame_is_taken_for_an_invariant(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    monkeypatch.setattr(Search, "run", lambda self: [])
    monkeypatch.setattr(Inductive, "check", believed)
    wrongly_proved(*book(tmp_path, "Johnson counter"))


def true_proofs(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[System, Result]]:
    """Proofs by an invariant that needs each of its clauses."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    for name in ("arbiter with a token", "counters in lockstep"):
        place = folder / name.replace(" ", "-")
        place.mkdir()
        machine = EXAMPLES[name].machine(place)
        rounds, results = prove_board(machine, seconds=20)
        system = board_system(machine, rounds)
        found = [r for r in results if r.verdict == "holds" and r.proof and r.proof.clauses]
        assert found
        yield system, found[0]


def flipped(clauses: tuple[Clause, ...]) -> Iterator[tuple[Clause, ...]]:
    """The clauses with one literal inverted, for each clause the first and the last."""
    for place, clause in enumerate(clauses):
        for at in {0, len(clause) - 1}:
            name, level = clause[at]
            wrong = (*clause[:at], (name, 1 - level), *clause[at + 1 :])
            yield (*clauses[:place], wrong, *clauses[place + 1 :])


def dropped(clauses: tuple[Clause, ...]) -> Iterator[tuple[Clause, ...]]:
    """The clauses but one."""
    for place in range(len(clauses)):
        yield (*clauses[:place], *clauses[place + 1 :])


@pytest.mark.parametrize("fault", [flipped, dropped])
def test_an_invariant_is_wrong(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    fault: Callable[[tuple[Clause, ...]], Iterator[tuple[Clause, ...]]],
) -> None:
    """Each clause is needed, and each literal stands as it must: the search makes them so."""
    count = 0
    for system, result in true_proofs(tmp_path, monkeypatch):
        assert result.proof is not None
        assert accepted(system, result.name, result.proof)
        for clauses in fault(result.proof.clauses):
            assert not accepted(system, result.name, replace(result.proof, clauses=clauses))
            count += 1
    assert count >= 4


# the transition -----------------------------------------------------------------------------------


def test_the_prover_forbids_steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A constraint too much: no control ever moves."""
    take = Engine._take

    def takes(self: Engine) -> None:
        moments = self.frames.moments
        for one, other in itertools.pairwise(moments):
            same = self.frames.aig.equal([*one.controls.values()], [*other.controls.values()])
            self.frames.constraints.append(same)
        take(self)

    monkeypatch.setattr(Engine, "_take", takes)
    wrongly_proved(*book(tmp_path, "Johnson counter"))


def holding(folder: Path, formula: str, more: str = "") -> tuple[System, Proof]:
    """The system of a board on which a formula holds, and its proof, which is accepted."""
    text = f'{more}assert:\n  f0: {{says: "", formula: "{formula}"}}\n'
    machine = load(sketch(folder, "U1:9001", FLIP_FLOP, "c d"), text)
    rounds, results = prove_board(machine, seconds=20)
    result = next(one for one in results if one.name == "f0")
    assert result.verdict == "holds"
    assert result.proof is not None
    system = board_system(machine, rounds)
    assert accepted(system, "f0", result.proof)
    return system, result.proof


def test_the_relation_forgets_what_steps_are_allowed(tmp_path: Path) -> None:
    """One control at a time, and the assumptions."""
    system, proof = holding(tmp_path, "never (rose(c) && rose(d))")
    assert not accepted(replace(system, there=()), "f0", proof)
    assume = 'assume:\n  low: {says: "", formula: "always !d"}\n'
    system, proof = holding(tmp_path, "never d", assume)
    assert not accepted(replace(system, there=()), "f0", proof)


def test_the_relation_forgets_how_a_run_begins(tmp_path: Path) -> None:
    """In the first step nothing has risen: without that the formula may remember that it has."""
    system, proof = holding(tmp_path, "always (rose(c) -> next !rose(c))")
    assert not accepted(replace(system, first=()), "f0", proof)


@pytest.mark.parametrize("control", ["clk", "r"])
def test_the_relation_forbids_steps(tmp_path: Path, control: str) -> None:
    """A relation in which a control cannot rise proves too much, and all its questions close; but
    what was walked is none of its runs."""
    machine, _ = book(tmp_path, "Johnson counter")
    system = board_system(machine, 2)
    now, then = system.names[f"control {control}[0]"]
    stuck = replace(system, there=(*system.there, system.aig.and2(now ^ 1, then) ^ 1))
    (moments,) = walks(machine, 6, 1)
    for relation, said in ((system, "sat"), (stuck, "unsat")):
        work = Closing(part_of(relation, (), ()), Proof(kind="step"))
        assert answer(work.walk(moments).script) == said
    never = Closing(part_of(stuck, (), ()), Proof(kind="step"))
    assert answer(never.guard(3).script) == "sat"


def test_a_solver_that_lies_to_the_check_is_noticed_by_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even if both say "unsat" of everything, the files are not what they claim."""
    monkeypatch.setattr(Solver, "check", lambda self, assumptions, seconds: "unsat")
    machine, late = book(tmp_path, "Johnson counter")
    with pytest.raises(SolversDisagree):
        prove_board(machine, seconds=20)
    monkeypatch.setattr(second, "ask_z3", lambda script, seconds: "unsat")
    rounds, results = prove_board(machine, seconds=20)
    result = next(one for one in results if one.name == late[0])
    assert result.verdict == "holds"
    assert result.proof is not None
    assert not accepted(board_system(machine, rounds), result.name, result.proof)
