"""What a report leaves behind for anyone to check: questions for any solver, and runs.

Properties that were proved in one way together share their questions. What is proved in a way that
cannot be asked of a solver in these terms gets none, and it is told why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from breadproof.export.vcd import vcd
from breadproof.verify.board import BoardReport
from breadproof.verify.exchange.claims import commented, power_up
from breadproof.verify.exchange.closing import Question
from breadproof.verify.exchange.compared import (
    LATE,
    Compared,
    compared_runs,
    controls_compared,
    runs_shown,
)
from breadproof.verify.exchange.confirming import Confirmer, Unconfirmed
from breadproof.verify.exchange.falling import falling_questions
from breadproof.verify.exchange.happened import named_happenings, violations
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.told import Told, readme
from breadproof.verify.exchange.walked import walks
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.system import System, board_system
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.files import file_stem

QUIET = "quiet"
WALK = 6
"""Steps of the run that is walked."""
ANY_STEP = "any-step"

ENDLESS = "it speaks of runs that never end, and the states that decide are too many to write down"
UNWRITTEN = "how it was proved is not written as questions here"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """``report`` tells of each result which ``files`` (name -> text) are about it, or why none."""

    report: BoardReport
    files: dict[str, str]


def evidence(
    report: BoardReport, seconds: float, progress: Callable[[str], None] = lambda text: None
) -> Evidence:
    """All evidence of a report; ``seconds`` are for each question.

    Raises:
        EvidenceMismatch: a proof is refuted by its questions (our error).
    """
    return _Work(report, Confirmer(seconds), progress).run()


@dataclass(slots=True)
class _Work:
    report: BoardReport
    confirmer: Confirmer
    progress: Callable[[str], None]
    files: dict[str, str] = field(default_factory=dict)
    names: dict[str, tuple[str, ...]] = field(default_factory=dict)
    missing: dict[str, str] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)
    shown: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def run(self) -> Evidence:
        if proved(self.report.results):
            system = self.system()
            self.quiet(system)
            for results in self.groups():
                self.group(system, results)
            for told in compared_runs(self.report, system, self.confirmer, self.progress):
                self.others(told)
        self.lively()
        for result in self.report.results:
            if result.trace is not None:
                name = self.free(file_stem(result.name), ["vcd"])
                self.files[f"{name}.vcd"] = vcd(self.report.machine.netlist, result.trace)
                self.names[result.name] = (f"{name}.vcd",)
        noted = tuple(self.noted(result) for result in self.report.results)
        report = replace(self.report, results=noted)
        text = readme(report, self.told, self.missing.get(QUIET, ""), self.shown)
        return Evidence(report=report, files={"README.md": text, **self.files})

    def noted(self, result: Result) -> Result:
        names = self.names.get(result.name, ())
        why = ""
        if result.verdict != "undecided" and not names:
            why = self.missing.get(result.name) or self.why_none(result)
        return replace(result, evidence=names, no_evidence=why)

    def why_none(self, result: Result) -> str:
        """Why a result that is settled has no evidence."""
        strong = {f.formula.name for f in self.report.machine.logic.formulas if f.liveness}
        if result.name in strong:
            return ENDLESS
        return LATE if result.name.startswith("dead:") else UNWRITTEN

    # what is dead, and what is not ------------------------------------------------------------

    def system(self) -> System:
        """The board's, with what never happens as properties beside its own."""
        machine, rounds = self.report.machine, self.report.rounds
        never = [result.name for result in self.report.results if never_happens(result)]
        more = violations(named_happenings(machine, never)) if never else None
        return board_system(machine, rounds, more=more)

    def lively(self) -> None:
        """Runs in which things happen, and what two runs show of controls."""
        report = self.report
        runs = runs_shown(report, self.confirmer.seconds, self.progress)
        for number, one in enumerate(runs, 1):
            name = self.free(f"happens-{number}", ["vcd"])
            self.files[f"{name}.vcd"] = vcd(report.machine.netlist, one.trace)
            self.names |= dict.fromkeys(one.names, (f"{name}.vcd",))
            self.shown[f"{name}.vcd"] = one.names
        for told in controls_compared(report, self.confirmer, self.progress):
            self.others(told)

    def others(self, told: Compared) -> None:
        """What is shown in other ways than by an invariant."""
        if told.missing:
            self.missing |= dict.fromkeys(told.names, told.missing)
        else:
            self.add(told.stem, told.names, told.questions)

    # proofs -----------------------------------------------------------------------------------

    def groups(self) -> Iterator[list[Result]]:
        """Results by proof: those that no step breaks together, every other one by itself."""
        alike: dict[Proof, list[Result]] = {}
        for result in proved(self.report.results):
            if result.proof is not None and shared(result.proof):
                alike.setdefault(result.proof, []).append(result)
        yield from alike.values()
        for result in proved(self.report.results):
            if result.proof is not None and not shared(result.proof):
                yield [result]

    def group(self, system: System, results: Sequence[Result]) -> None:
        names, proof = [result.name for result in results], results[0].proof
        assert proof is not None, "only proofs are grouped"
        self.progress(f"evidence: {', '.join(names[:3])}{' and more' if len(names) > 3 else ''}")
        if proof.words:
            machine, rounds = self.report.machine, self.report.rounds
            system = board_system(machine, rounds, proof.words, names[0])
        try:
            questions = self.confirmer.proof(part_of(system, names, proof.clauses), proof)
            if proof.ranking is not None:
                questions += falling_questions(system, names[0], proof.ranking, self.confirmer)
        except Unconfirmed as why:
            self.missing |= dict.fromkeys(names, str(why))
            return
        stem = file_stem(names[0]) if len(names) == 1 else ANY_STEP
        self.add(stem, names, questions)

    def quiet(self, system: System) -> None:
        """That quiet moments are followed by quiet moments, and power-up by one."""
        self.progress("evidence: quiet")
        try:
            walked = next(walks(self.report.machine, WALK, 1), [])
            questions = self.confirmer.quiet(system, walked)
            answer = find_rounds(self.report.machine, Deadline(self.confirmer.seconds))
            asked = power_up(answer.power_up_question, answer.rounds)
            questions += [self.confirmer.demand(question) for question in asked]
        except Unconfirmed as why:
            self.missing[QUIET] = str(why)
            return
        self.add(QUIET, [QUIET], questions)

    def add(self, stem: str, names: Sequence[str], questions: Sequence[Question]) -> None:
        stem = self.free(file_stem(stem), [f"{question.what}.smt2" for question in questions])
        found = {f"{stem}.{question.what}.smt2": question for question in questions}
        for name, question in found.items():
            self.files[name] = commented(self.report, names, question)
        self.names |= dict.fromkeys(names, tuple(found))
        self.told.append(Told(names=tuple(names), files=found))

    def free(self, stem: str, endings: Sequence[str]) -> str:
        """The stem, or one with a number, so that no file of it is there yet."""
        number, found = 1, stem
        while any(f"{found}.{ending}" in self.files for ending in endings):
            number += 1
            found = f"{stem}-{number}"
        return found


def never_happens(result: Result) -> bool:
    """Whether a result says that something is dead, and a proof shows it."""
    return result.verdict == "fails" and result.proof is not None


def shared(proof: Proof) -> bool:
    """Whether all that was proved so is proved by the same questions."""
    return proof.kind == "step" and proof.ranking is None


def proved(results: Iterable[Result]) -> list[Result]:
    """Those of which a violation is claimed to be impossible."""
    return [
        result
        for result in results
        if result.verdict in ("holds", "unreachable") or never_happens(result)
    ]
