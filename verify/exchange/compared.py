"""Evidence that is no invariant: runs that show something, and questions about two runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from breadproof.verify.board import BoardReport
from breadproof.verify.exchange.alike import known_questions, unknown_question
from breadproof.verify.exchange.closing import Question
from breadproof.verify.exchange.confirming import Confirmer, EvidenceMismatch, Unconfirmed
from breadproof.verify.exchange.happened import Shown, shown_in_runs
from breadproof.verify.prove.ends import find_ends
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.matter import controls_wired, what_matters
from breadproof.verify.prove.reset import reset_units
from breadproof.verify.prove.system import System

CARRIED = (
    "step by step, what it moves moves on to what shows: no single run shows that, and nothing is "
    "excluded by it"
)
LENGTHY = (
    "two runs that differ in it alone show it; as a question that would be lengthy, and nothing is "
    "excluded by it"
)
MOST = 1 << 18
"""Longer questions whether a control moves something are not written: there is one a control."""
LATE = "no run that shows it was found again in time"
DEAD = "dead:"
SETTLES = {"yes": "holds", "held": "holds", "no": "fails"}
"""The verdict about a control that goes with an answer."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Results, the stem of their files, and their questions, or why there are none."""

    names: tuple[str, ...]
    stem: str
    questions: tuple[Question, ...] = ()
    missing: str = ""


def runs_shown(
    report: BoardReport, seconds: float, progress: Callable[[str], None]
) -> Iterator[Shown]:
    """Runs, replayed, that show what is not dead.

    Raises:
        TraceMismatch: one does not, or the Amaranth modules do something else (our error).
    """
    controls = {f"{DEAD}{one.name}" for one in controls_wired(report.machine.netlist)}
    names = [one.name for one in report.results if one.name.startswith(DEAD)]
    holding = {one.name for one in report.results if one.verdict == "holds"}
    wanted = [name for name in names if name in holding and name not in controls]
    if not wanted or not report.rounds:
        return
    # Amaranth is slow to import, and rarely needed.
    from breadproof.export.replay import replay
    from breadproof.export.simulate import Bench

    progress("evidence: runs that show what is not dead")
    netlist = report.machine.netlist
    bench = Bench(netlist)
    for one in shown_in_runs(report.machine, report.rounds, wanted, seconds):
        answer = replay(netlist, one.trace, bench)
        if not answer.agrees:
            first = "; ".join(answer.differences[:3])
            raise TraceMismatch(f"the run for {one.names[0]} replays differently: {first}")
        yield one


def compared_runs(
    report: BoardReport,
    system: System,
    confirmer: Confirmer,
    progress: Callable[[str], None],
) -> Iterator[Compared]:
    """What is known after the reset: all that is, together; what is not, one by one."""
    machine = report.machine
    units = {unit.name: unit for unit in reset_units(machine)}
    told = {one.name: one for one in report.results if one.name in units}
    holding = [units[name] for name, one in told.items() if one.verdict == "holds"]
    progress("evidence: what is known after the reset") if told else None
    if holding:
        names = tuple(unit.name for unit in holding)
        try:
            questions = known_questions(machine, system, holding, confirmer)
            yield Compared(names, "known", tuple(questions))
        except Unconfirmed as why:
            yield Compared(names, "known", missing=str(why))
    for name, one in told.items():
        if one.verdict != "fails":
            continue
        bits = [bit for bit, _ in units[name].bits if bit in one.because]
        try:
            question = unknown_question(machine, system, units[name], bits, confirmer)
            yield Compared((name,), f"known-{units[name].what}", (question,))
        except Unconfirmed as why:
            yield Compared((name,), "", missing=str(why))


def controls_compared(
    report: BoardReport, confirmer: Confirmer, progress: Callable[[str], None]
) -> Iterator[Compared]:
    """What two runs that differ in one control alone show of it.

    Raises:
        EvidenceMismatch: they show the opposite of what was told (our error).
    """
    machine = report.machine
    verdicts = {one.name: one.verdict for one in report.results if one.verdict != "undecided"}
    wanted = [c.name for c in controls_wired(machine.netlist) if f"{DEAD}{c.name}" in verdicts]
    if not wanted or not report.rounds:
        return
    progress("evidence: controls")
    asked: dict[str, list[tuple[str, str]]] = {}
    ends = find_ends(machine)
    found = what_matters(machine, report.rounds, ends, confirmer.seconds, asked, wanted)
    for name in wanted:
        result = f"{DEAD}{name}"
        if SETTLES.get(found[name][0], verdicts[result]) != verdicts[result]:
            raise EvidenceMismatch(f"asked again, the answer about {name} is another one")
        questions = _about(name, found[name][0], asked.get(name, []))
        if any(q.what == "moves" and len(q.script) > MOST for q in questions):
            yield Compared((result,), "", missing=LENGTHY)
            continue
        try:
            told = tuple(confirmer.demand(question) for question in questions)
            missing = "" if told else CARRIED if found[name][0] == "yes" else LATE
            yield Compared((result,), f"dead-{name}", told, missing)
        except Unconfirmed as why:
            yield Compared((result,), "", missing=str(why))


def _about(name: str, answer: str, asked: Sequence[tuple[str, str]]) -> list[Question]:
    """The questions about a control, with what they claim."""
    whats = {"yes": ("moves",), "no": ("cut-off", "cut-off-guard"), "held": ("held", "held-guard")}
    claims = {
        "moves": f"two runs that differ in {name} alone show it",
        "cut-off": f"in two runs that differ in {name} alone nothing shown differs, nor comes to",
        "cut-off-guard": f"{name} can move",
        "held": f"the assumptions never let {name} move",
        "held-guard": "the assumptions allow a step",
    }
    found: list[Question] = []
    for what, (status, script) in zip(whats.get(answer, ()), asked, strict=False):
        expected: Literal["sat", "unsat"] = "unsat" if what in ("cut-off", "held") else "sat"
        if status == expected:
            text = f"(set-info :status {status})\n{script}"
            found.append(Question(what=what, claim=claims[what], answer=expected, script=text))
    return found
