"""Finds out all about a board, and says it as results in the order in which they are listed."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.answers import Answers, Known
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.contest import MALFORMED, Contest
from breadproof.verify.prove.crew import Crew, Lost, Tell
from breadproof.verify.prove.endless import settle_strong
from breadproof.verify.prove.engine import Engine, Outcome
from breadproof.verify.prove.extract import TraceMismatch, extract
from breadproof.verify.prove.hoped import hoped
from breadproof.verify.prove.interrupt import interruptible
from breadproof.verify.prove.keeper import Keeper
from breadproof.verify.prove.lively import (
    HALVES,
    Half,
    are_lively,
    half_names,
    lively_results,
)
from breadproof.verify.prove.properties import (
    check_property,
    claimed,
    formula_property,
    node_property,
    result_names,
)
from breadproof.verify.prove.quiet import QuietAnswer, find_rounds
from breadproof.verify.prove.reset import reset_results
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.store import Store
from breadproof.verify.prove.verdict import Result
from breadproof.verify.prove.witness import confirms

__all__ = ["Prover", "prove_board", "result_names"]

DEPTH, VACUOUS = 3, 20.0
"""Conditions that never come true are looked for in runs of so many steps, and so many seconds."""


def prove_board(
    machine: Machine,
    *,
    only: tuple[str, ...] = (),
    seconds: float = 60.0,
    progress: Callable[[str], None] = lambda text: None,
    questions: list[tuple[str, str]] | None = None,
) -> tuple[int, tuple[Result, ...]]:
    """The proved number of rounds a step takes (0 if not proved), and all results.

    ``questions`` collects the proofs' last questions as SMT-LIB 2, all of which must be "unsat".

    Raises:
        KeyError: ``only`` names what the board does not have.
        TraceMismatch: a trace does not show what it was found for (our error).
        KeyboardInterrupt: by Ctrl-C; a `Prover` keeps what was finished by then.
    """
    prover = Prover(machine, seconds=seconds, progress=progress, questions=questions)
    results = prover.run(only)
    if prover.interrupted:
        raise KeyboardInterrupt
    return prover.rounds, results


@dataclass(slots=True, kw_only=True)
class _Means:
    """What there is to work with; see `Prover`."""

    seconds: float = 60.0
    progress: Callable[[str], None] = lambda text: None
    questions: list[tuple[str, str]] | None = None
    crew: Crew | None = None


class Prover:
    """Finds out all about one board, once.

    ``rounds`` is the proved number that a step takes (0 if not proved), ``interrupted`` whether
    Ctrl-C ended the work early: what was not finished is then undecided. With a ``crew`` what is
    hard is done beside, in processes of their own. What the ``store`` has is not proved again.
    """

    def __init__(
        self,
        machine: Machine,
        *,
        seconds: float = 60.0,
        progress: Callable[[str], None] = lambda text: None,
        questions: list[tuple[str, str]] | None = None,
        crew: Crew | None = None,
        store: Store | None = None,
    ) -> None:
        """Nothing is done before `run`; parameters as for `prove_board`."""
        self.machine = machine
        self.means = _Means(seconds=seconds, progress=progress, questions=questions, crew=crew)
        self.known = Known()
        self.answers = Answers(machine, self.known)
        self.rounds = 0
        self.interrupted = False
        self.confirmed: set[str] = set()
        self.keeper = Keeper(machine, store)
        self.beside: dict[Future[object], Half] = {}
        self.begun: list[Half] = []
        self._engine: Engine | None = None

    def run(self, only: tuple[str, ...] = ()) -> tuple[Result, ...]:
        """All results, or those that are named.

        Raises:
            KeyError: ``only`` names what the board does not have.
            TraceMismatch: a trace does not show what it was found for (our error).
        """
        known = set(result_names(self.machine)) if only else set()
        for name in only:
            if name not in known:
                raise KeyError(name)
        try:
            with interruptible():
                self.find_out(only)
        except KeyboardInterrupt:
            self.interrupted = True
            for future in [future for future in self.beside if future.done()]:
                self.take_lively(future)
        for name, outcome in self.known.outcomes.items():
            if outcome.trace is not None:
                self.confirm(name, outcome.trace)
        self.keep()
        return tuple(r for r in self.answers.results() if not only or r.name in only)

    def confirm(self, name: str, trace: Trace) -> None:
        """Walk a trace with numbers before anybody is told of it."""
        if name in self.confirmed:
            return
        if not confirms(self.machine, name, trace):
            raise TraceMismatch(f"the run that was found for {name} does not show it")
        self.confirmed.add(name)

    # finding out ------------------------------------------------------------------------------

    def find_out(self, only: tuple[str, ...]) -> None:
        """All that is wanted, the grounds first."""
        start, means, known = time.monotonic(), self.means, self.known
        means.progress("does the board get quiet?")
        quiet = self.keeper.quiet() or find_rounds(self.machine, Deadline(means.seconds))
        if means.questions is not None and quiet.question:
            means.questions.append(("quiet", quiet.question))
            means.questions.append(("quiet at power-up", quiet.power_up_question))
        known.quiet_trace = self.quiet_trace(quiet)
        known.quiet, known.quiet_seconds = quiet, time.monotonic() - start
        known.assumptions = check_assumptions(self.machine, Deadline(means.seconds))
        if quiet.verdict != "holds":
            return
        self.rounds = quiet.rounds
        self.keeper.begin(quiet)
        formulas = [f for f in claimed(self.machine) if not only or f.formula.name in only]
        lively = not only or any(name.startswith("dead:") for name in only)
        if lively:
            known.lively = self.keeper.lively()
            lively = not known.lively
        if lively and means.crew is not None:
            self.begin_lively()
        self.settle(formulas)
        if not only or any(name.startswith("known:") for name in only):
            means.progress("is all known after the reset?")
            limit = min(means.seconds, 20.0)
            known.reset = reset_results(self.machine, self.rounds, limit, self.answers.assumed)
        if lively and means.crew is not None:
            self.end_lively()
        elif lively:
            lively_results(self.engine, means.seconds, self.answers.assumed, known.lively)
        self.look_for_vacuous(formulas)

    @property
    def engine(self) -> Engine:
        """The chain and its solver, built when first asked for."""
        if self._engine is None:
            means = self.means
            self._engine = Engine(
                self.machine, self.rounds, means.seconds, means.progress, means.questions
            )
        return self._engine

    def keep(self) -> None:
        """Keep what was found out, all runs of it being confirmed."""
        keeper, known = self.keeper, self.known
        if keeper.store is None or not self.rounds:
            return
        keeper.keep([*self.answers.checks, *claimed(self.machine)], known)
        if not any(one.engines for one in known.lively.values()):
            keeper.keep_lively(known.lively)
        keeper.store.trim()

    def quiet_trace(self, quiet: QuietAnswer) -> Trace | None:
        """The run of a board that does not get quiet."""
        if quiet.verdict != "fails" or quiet.frames is None or quiet.solver is None:
            return None
        trace = extract(quiet.frames, quiet.solver, list(quiet.moments), quiet=False)
        self.confirm("quiet", trace)
        return trace

    def settle(self, formulas: list[CompiledFormula]) -> None:
        """Standing checks and formulas, but for what is kept of them."""
        known, means = self.known, self.means
        self.keeper.take([*self.answers.checks, *formulas], known)
        self.confirmed |= self.keeper.taken
        checks = [check for check in self.answers.checks if check.name not in known.outcomes]
        formulas = [f for f in formulas if f.formula.name not in known.outcomes]
        if not checks and not formulas:
            return
        engine = self.engine
        properties = [check_property(check.name) for check in checks]
        properties += [formula_property(f) for f in formulas if f.kind == "assert"]
        covers = [formula_property(f) for f in formulas if f.kind == "cover"]
        means.progress(f"proving {len(properties)} properties")
        beside = None if means.crew is None else Contest(means.crew).settle
        strong = {f.formula.name: f for f in formulas if f.liveness and f.kind == "assert"}
        # the part of a strong formula that a finite run can break is no answer to all of it
        found: dict[str, Outcome] = {}
        try:
            engine.settle(properties, covers, found, beside)
        finally:
            known.outcomes |= {n: o for n, o in found.items() if n not in strong}
        for name, formula in strong.items():
            means.progress(f"{name}: does what it waits for come?")
            known.outcomes[name] = settle_strong(engine, formula, found[name])
        for name, outcome in known.outcomes.items():
            if outcome.trace is not None:
                self.confirm(name, outcome.trace)
        for check in checks:
            if check.kind == "fights" and engine.in_passing(check.name):
                known.passing.add(check.name)

    def look_for_vacuous(self, formulas: Sequence[CompiledFormula]) -> None:
        """The conditions that never come true, of each formula that holds; None where one is not
        known."""
        known, holding = self.known, list[CompiledFormula]()
        for formula in formulas:
            result = self.answers.formula_result(formula)
            if result.verdict == "holds" and result.name not in known.vacuous:
                holding.append(formula)
        nodes = {one.node: one.text for formula in holding for one in formula.antecedents}
        if not nodes:
            known.vacuous |= {formula.formula.name: () for formula in holding}
            return
        wanted = [node_property(str(node), node) for node in nodes]
        found = hoped(self.engine, wanted, DEPTH, min(VACUOUS, self.means.seconds))
        for formula in holding:
            said = [(one.text, found[str(one.node)].verdict) for one in formula.antecedents]
            never = tuple(text for text, verdict in said if verdict == "never")
            unknown = any(verdict == "undecided" for _, verdict in said)
            known.vacuous[formula.formula.name] = None if unknown and not never else never

    # beside -----------------------------------------------------------------------------------

    def begin_lively(self) -> None:
        """Have it looked beside whether anything is dead; one of two workers is left free."""
        means = self.means
        assert means.crew is not None, "somebody must be there to do it"
        self.submit_lively(HALVES if means.crew.size > 2 else HALVES[:1])

    def submit_lively(self, halves: Sequence[Half]) -> None:
        """Have some of it looked at."""
        means = self.means
        assert means.crew is not None, "somebody must be there to do it"
        for half in halves:
            args = (self.machine, self.rounds, means.seconds, self.answers.assumed, half)
            future = means.crew.submit(look_for_dead, *args, seconds=3 * means.seconds)
            self.beside[future] = half
            self.begun.append(half)

    def end_lively(self) -> None:
        """Take the answers, as they come."""
        means = self.means
        assert means.crew is not None, "somebody did it"
        self.submit_lively([half for half in HALVES if half not in self.begun])
        while self.beside:
            done = means.crew.wait(list(self.beside), lambda _, text: means.progress(text))
            for future in done:
                self.take_lively(future)

    def take_lively(self, future: Future[object]) -> None:
        """Take an answer, if there is one."""
        known, half = self.known, self.beside.pop(future)
        names = half_names(self.machine, half)
        try:
            answer = future.result()
        except Lost as error:
            known.lost |= dict.fromkeys(names, str(error))
            return
        if are_lively(answer, self.machine, names):
            known.lively |= {one.name: one for one in answer}
        else:
            known.lost |= dict.fromkeys(names, MALFORMED)


def look_for_dead(
    tell: Tell, machine: Machine, rounds: int, seconds: float, assumes: tuple[str, ...], half: Half
) -> list[Result]:
    """Whether anything is dead, one half of it, with a chain of its own."""
    found: dict[str, Result] = {}
    lively_results(Engine(machine, rounds, seconds, tell), seconds, assumes, found, (half,))
    return list(found.values())
