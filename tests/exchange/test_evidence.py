"""Evidence: every proof is confirmed from its files alone, by bitwuzla and cvc5.

What is asked of them is that a proof closes; what the proofs are about is held against other
people's model checkers elsewhere (`test_agreement`), on the same transition system.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof import cli
from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange import confirming
from breadproof.verify.exchange.closing import Closing, Question
from breadproof.verify.exchange.evidence import evidence
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.walked import walks
from breadproof.verify.prove import engine
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Answer, Deadline
from breadproof.verify.prove.system import board_system
from tests.commands.test_verify import KEYS
from tests.exchange.evidence import check, check_files, check_results, report_of
from tests.prove.boards import SMALL, formulas, random_board, sketch, small
from tests.prove.directed import EXAMPLES, asserts
from tests.prove.test_brute import load
from tests.prove.textbook import MACHINES
from tests.support import second_solver, third_solver

RESTLESS = ("ring of one", "ring when enabled", "buffer that is its own enable", "storage for ever")
"""Boards that do not get quiet: nothing is proved of them."""


def check_small(folder: Path, name: str) -> None:
    """A board of `SMALL` with formulas."""
    made = small(folder, name)
    asked = check(load(made, formulas(made, Random(name), 8)))
    assert (asked == 0) == (name in RESTLESS)


def check_book(folder: Path, name: str) -> None:
    """A machine of textbooks, with the facts about it."""
    book = MACHINES[name]
    made = sketch(folder, book.chips, book.nets, book.ports)
    assert check(load(made, asserts(book.facts))) >= 8


@pytest.mark.parametrize("name", list(SMALL)[1::6])
def test_small_boards(tmp_path: Path, name: str) -> None:
    """A sixth of them; all in tests/long."""
    check_small(tmp_path, name)


@pytest.mark.parametrize("name", ["Johnson counter", "LFSR"])
def test_textbook(tmp_path: Path, name: str) -> None:
    check_book(tmp_path, name)


def test_an_invariant_that_was_searched_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    machine = EXAMPLES["arbiter with a token"].machine(tmp_path)
    assert any(r.proof and r.proof.kind == "invariant" for r in report_of(machine).results)
    assert check(machine) >= 12


@pytest.mark.parametrize("seed", [301, 305, 395])
def test_random_boards(tmp_path: Path, seed: int) -> None:
    """395: moments differ in what the formula remembers; clauses speak of others' memories, too."""
    check_random(tmp_path, seed)


def check_random(folder: Path, seed: int) -> None:
    """A random board with formulas."""
    random = Random(seed)
    made = random_board(folder, random)
    check(load(made, formulas(made, random, 8)))


def test_a_word_that_was_written_is_read_back(tmp_path: Path) -> None:
    """An invariant over a tracked word: what the one word of address 0 holds stays the same."""
    made = small(tmp_path, "memory")
    text = (
        'assert:\n  stays: {says: "", formula: '
        '"always ((!a && q && w) -> ((w && (a || q)) until !w))"}\n'
    )
    machine = load(made, text)
    rounds, results = prove_board(machine, seconds=20)
    proof = next(result.proof for result in results if result.name == "stays")
    assert proof is not None
    assert proof.words
    system = board_system(machine, rounds, proof.words, "stays")
    part = part_of(system, ["stays"], proof.clauses)
    for question in confirming.Confirmer(20.0).proof(part, proof):
        assert second_solver.answer(question.script) == question.answer, question.what
        assert third_solver.answer(question.script) == question.answer, question.what
    # what the word holds is needed
    with pytest.raises(confirming.EvidenceMismatch):
        confirming.Confirmer(20.0).proof(part, replace(proof, clauses=()))


# walks --------------------------------------------------------------------------------------------


def relation(machine: Machine) -> Closing:
    answer = find_rounds(machine, Deadline(20))
    assert answer.verdict == "holds"
    return Closing(part_of(board_system(machine, answer.rounds), (), ()), Proof(kind="step"))


@pytest.mark.parametrize("name", ["ripple", "self-clearing counter", "memory", "load at the edge"])
def test_walks_are_runs_of_the_relation_and_no_others_are(tmp_path: Path, name: str) -> None:
    """A walk knows nothing of the relation. On these boards nothing is left to choose but the
    controls, so that with one level of storage inverted at the end it is no run any more."""
    made = small(tmp_path, name)
    machine = load(made, "")
    work, storage = relation(machine), [store.label for store in machine.stores]
    found = list(walks(machine, 6, 3))
    assert len(found) == 3
    for moments in found:
        assert second_solver.answer(work.walk(moments).script) == "sat"
        assert third_solver.answer(work.walk(moments).script) == "sat"
        for label in storage:
            wrong = [*moments[:-1], moments[-1] | {label: 1 - moments[-1][label]}]
            assert second_solver.answer(work.walk(wrong).script) == "unsat", label


def test_an_assumption_that_leaves_no_step_leaves_no_evidence(tmp_path: Path) -> None:
    """Nothing is proved under it."""
    text = 'assume:\n  end: {says: "", formula: "always (prev(c) == c -> prev(d) != d)"}\n'
    text += '  still: {says: "", formula: "always stable({c, d})"}\n'
    text += 'assert:\n  f0: {says: "", formula: "never c"}\n'
    made = sketch(tmp_path, "U1:9001", {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}, "c d")
    found = evidence(report_of(load(made, text)), 20.0)
    assert {result.verdict for result in found.report.results} <= {"undecided", "fails"}
    assert not any(name.endswith(".smt2") for name in found.files)


def test_what_is_said_of_endless_runs_has_evidence_of_its_own(tmp_path: Path) -> None:
    """No invariant shows that something comes: its ranks do (see `test_falling`)."""
    text = 'assume:\n  on: {says: "", formula: "always eventually! rose(c)"}\n'
    text += 'assert:\n  comes: {says: "", formula: "always eventually! c"}\n'
    text += 'cover:\n  none: {says: "", formula: "rose(c) && fell(d)"}\n'
    made = sketch(tmp_path, "U1:9001", {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}, "c d")
    found = evidence(report_of(load(made, text)), 20.0)
    check_results(found)
    by_name = {result.name: result for result in found.report.results}
    assert by_name["comes"].verdict == "holds"
    assert "comes.falls-1.smt2" in by_name["comes"].evidence
    assert "| `comes.falls-1.smt2` | `unsat` |" in found.files["README.md"]
    # two controls at once: one may move at a time
    assert by_name["none"].verdict == "unreachable"
    assert any(name.endswith(".never.smt2") for name in by_name["none"].evidence)
    check_files(found)


# the command --------------------------------------------------------------------------------------

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs the command in a folder with the board ``keys.yaml``: status, output, errors."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")

    def call(*words: str) -> tuple[int, str, str]:
        status = cli.main(["verify", "keys.yaml", "--jobs", "1", *words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


def test_the_command_writes_it_and_names_the_files(run: Run) -> None:
    status, out, err = run("--json", "--evidence", "proofs/now")
    assert status == 1
    assert err == "evidence is in proofs/now; proofs/now/README.md tells how to check it\n"
    results = {result["name"]: result for result in json.loads(out)["results"]}
    folder = Path("proofs/now")
    named = [name for result in results.values() for name in result["evidence"]]
    written = {path.name for path in folder.iterdir()}
    assert written == {"README.md", *named}
    assert results["never-lit"]["evidence"] == ["never-lit.vcd"]
    assert results["both-up"]["evidence"] == [
        f"any-step.{what}.smt2" for what in ("first", "never", "guard")
    ]
    assert results["dead:K1"]["evidence"] == ["dead-K1.moves.smt2"]
    readme = (folder / "README.md").read_text("utf-8")
    for name in set(named):
        assert f"| `{name}` |" in readme
    assert "the logic is no safety case." in readme
    assert "<script" not in readme


def test_without_the_option_no_result_names_files(run: Run) -> None:
    _, out, _ = run("--json")
    for result in json.loads(out)["results"]:
        assert (result["evidence"], result["no_evidence"]) == ([], "")


def test_what_was_kept_of_earlier_runs_is_proved_anew(run: Run) -> None:
    run()
    run("--evidence", "proofs")
    assert Path("proofs/any-step.never.smt2").is_file()


def test_the_same_board_gives_the_same_bytes(run: Run) -> None:
    run("--evidence", "one")
    run("--evidence", "two")
    one = {path.name: path.read_bytes() for path in Path("one").iterdir()}
    assert one == {path.name: path.read_bytes() for path in Path("two").iterdir()}


def test_nothing_is_written_where_nothing_can_be(run: Run) -> None:
    Path("taken").write_text("", "utf-8")
    status, out, err = run("--evidence", "taken")
    assert (status, out) == (2, "")
    assert "'taken' is no folder" in err


def test_a_folder_that_is_not_empty_is_left_alone(run: Run) -> None:
    """What an older run left there would be taken for evidence of this one."""
    Path("old").mkdir()
    Path("old/any-step.never.smt2").write_text("(check-sat)", "utf-8")
    status, out, err = run("--evidence", "old")
    assert (status, out) == (2, "")
    assert "it is not empty, and what is in it would be mixed up with this" in err
    assert [path.name for path in Path("old").iterdir()] == ["any-step.never.smt2"]


@pytest.mark.parametrize("wrong", ["sat", "unsat"])
def test_a_proof_that_does_not_close_is_our_error(
    run: Run, monkeypatch: pytest.MonkeyPatch, wrong: Answer
) -> None:
    """Whichever way the answers err, no verdict is given and nothing is written."""
    monkeypatch.setattr(confirming, "answer", lambda script, seconds: wrong)
    status, out, err = run("--evidence", "proofs")
    assert (status, out) == (4, "")
    assert "no verdict is given" in err
    assert not Path("proofs").exists()


def test_a_question_that_is_not_answered_in_time_is_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = small(tmp_path, "gated clock")
    report = report_of(load(made, formulas(made, Random("gated clock"), 4)))
    monkeypatch.setattr(confirming, "answer", lambda script, seconds: "unknown")
    found = evidence(report, 1.0)
    assert {*found.files} == {
        "README.md",
        *(f"{r.name.replace(':', '-')}.vcd" for r in report.results if r.trace is not None),
        *(name for name in found.files if name.startswith("happens-")),
    }
    proved = [r for r in found.report.results if r.proof is not None and r.verdict == "holds"]
    assert proved
    for result in proved:
        assert result.no_evidence.endswith("was not confirmed in time")


def test_z3_takes_the_scripts_as_they_are() -> None:
    """The confirming solver: SMT-LIB 2.6, section 4.2.5, "sat" and "unsat" of the simplest ones."""
    script = "(set-logic QF_UF)(declare-const a Bool)(assert a){}(check-sat)"
    asked = Question(what="guard", claim="", answer="sat", script=script.format(""))
    assert confirming.Confirmer(5.0).ask(asked) == "sat"
    assert confirming.answer(script.format("(assert (not a))"), 5.0) == "unsat"
    with pytest.raises(confirming.EvidenceMismatch, match="unknown constant b"):
        confirming.answer(script.format("(assert b)"), 5.0)
    assert confirming.answer(script.format(""), 0.0) == "unknown"
