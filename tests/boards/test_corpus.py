"""Each board of the corpus against what its story says is to be found on it.

The expectations in `corpus.yaml` were worked out by hand from the wiring and the data sheets'
function tables.
"""

import difflib
from collections.abc import Iterable
from functools import cache

import pytest

from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.replay import replay
from breadproof.verify.verify_board import verify_board
from breadproof.verify.wiring.finding import Finding
from tests.boards.corpus import BOARDS, CORPUS, STORE, TWINS, Entry

SECONDS = 20.0
each = pytest.mark.parametrize("entry", CORPUS, ids=lambda entry: entry.file)
each_twin = pytest.mark.parametrize("entry", TWINS, ids=lambda entry: entry.file)


@cache
def report(entry: Entry) -> BoardReport:
    """All of light-store; of a twin what the corpus speaks of, and the standing checks below it."""
    only = (*entry.fails, *entry.dead, *entry.unreachable, *entry.holds)
    return verify_board(entry.path, only=only, seconds=SECONDS)


def result(entry: Entry, name: str) -> Result:
    return next(one for one in report(entry).results if one.name == name)


def told_pins(entry: Entry, one: Result) -> set[str]:
    """All pins that a counterexample's story names: culprits, chain, and what there is to probe."""
    assert one.trace is not None
    machine = report(entry).machine
    story = tell(one, replay(machine, one.trace))
    links = [link for chain in story.chains for link in chain]
    probed = [pin.label for net in story.cast.nets for pin in machine.netlist.nets[net].pins]
    named = [label for link in links for label in (link.into, link.out) if label]
    return {*story.cast.pins, *story.cast.drives, *probed, *named}


def heavy(entry: Entry) -> list[Finding]:
    return [one for one in report(entry).wiring if one.severity.value != "note"]


def test_every_board_of_the_folder_is_in_the_corpus() -> None:
    other = ("revisions", "scripts", "verilog")
    paths = [path for path in BOARDS.rglob("*.yaml") if path.parent.name not in other]
    files = {str(path.relative_to(BOARDS)) for path in paths}  # those have a list of their own
    assert files - {"corpus.yaml"} == {entry.file for entry in CORPUS}


@each
def test_verdict(entry: Entry) -> None:
    assert report(entry).verdict == entry.verdict


@each
def test_wiring(entry: Entry) -> None:
    found: dict[str, set[str]] = {}
    for finding in heavy(entry):
        # A mismatch also names the driver; the story is about the pins that cannot read it.
        drivers = {finding.pins[0]} if finding.code == "level-mismatch" else set()
        found.setdefault(finding.code, set()).update({*finding.pins} - drivers)
    assert found == entry.wiring


@each
def test_what_holds(entry: Entry) -> None:
    verdicts = {name: result(entry, name).verdict for name in entry.holds}
    assert verdicts == dict.fromkeys(entry.holds, "holds")


@each_twin
def test_what_fails_and_the_pins_it_is_told_by(entry: Entry) -> None:
    for name, pins in entry.fails.items():
        one = result(entry, name)
        assert one.verdict == "fails", name
        assert pins <= told_pins(entry, one), name


@each_twin
def test_what_is_dead_and_the_pins_it_is_blamed_on(entry: Entry) -> None:
    for name, pins in entry.dead.items():
        one = result(entry, name)
        assert one.verdict == "fails", name
        words = set(one.because.replace(",", " ").replace(";", " ").split())
        assert pins <= words, (name, one.because)


@each_twin
def test_covers_out_of_reach(entry: Entry) -> None:
    verdicts = {name: result(entry, name).verdict for name in entry.unreachable}
    assert verdicts == dict.fromkeys(entry.unreachable, "unreachable")


@each_twin
def test_twins_are_their_board_but_for_a_few_wires(entry: Entry) -> None:
    """A twin is a whole file, kept in step with its board; it differs by one small mistake."""
    added, removed = _differences(entry)
    assert 1 <= len(removed) <= 4, removed
    assert 1 <= len(added) <= 4, added


def _differences(entry: Entry) -> tuple[list[str], list[str]]:
    """Lines that only the twin has, and lines that only its board has; heads and comments aside."""
    board = next(one for one in CORPUS if one.file == entry.of)
    lines = list(difflib.ndiff(_body(board), _body(entry)))
    return [x for x in lines if x.startswith("+ ")], [x for x in lines if x.startswith("- ")]


def _body(entry: Entry) -> list[str]:
    text = entry.path.read_text("utf-8").replace("contents: ../", "contents: ")
    return _without_comments(text[text.index("parts:\n") :].splitlines())


def _without_comments(lines: Iterable[str]) -> list[str]:
    return [line for line in lines if not line.strip().startswith("#")]


def test_some_twins_fall_to_proofs_alone() -> None:
    """At least two pass every wiring rule (issue 2)."""
    quiet = [entry for entry in TWINS if not entry.wiring]
    assert len(quiet) >= 2
    assert all(not heavy(entry) and entry.fails for entry in quiet)


def test_a_twin_falls_only_between_rounds() -> None:
    """At least one is in order at every quiet moment (issue 2)."""
    passing = [(entry, name) for entry in TWINS for name in entry.in_passing]
    assert passing
    for entry, name in passing:
        trace = result(entry, name).trace
        assert trace is not None
        rounds = trace.steps[-1].rounds
        for net, level in entry.in_passing[name].items():
            assert any(one.nets[net] == level for one in rounds)
            assert rounds[-1].nets[net] != level


def test_the_store_holds_in_full() -> None:
    results = report(STORE).results
    assert {one.verdict for one in results if one.kind == "cover"} == {"covered"}
    assert {one.verdict for one in results if one.kind != "cover"} == {"holds"}
