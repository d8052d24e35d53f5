"""Settling properties: the shortest run that breaks one, or a proof for runs of any length.

Unrolling finds runs; k-induction proves. A property's hypothesis is that it held in the steps
before, strengthened by what `invariants` found. All properties of a board share one chain of
steps and one solver.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.directed import Found, search_directed
from breadproof.verify.prove.extract import extract
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.invariants import Clause, clause_literals, find_invariants, named
from breadproof.verify.prove.paths import Paths
from breadproof.verify.prove.proof import Clause as StateClause
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.second import asked_again, refuted
from breadproof.verify.prove.simplest import simplest
from breadproof.verify.prove.solver import Deadline, Solver

SHALLOW = 3
"""Up to so many steps all properties are looked at together; what is still open goes on alone."""

STRENGTHENED = 2
"""After so many steps invariants are looked for."""

EARLY = 6
"""After so many steps the property-directed search gets a part of the time, before more steps."""

SLICE = 1 / 3
"""That part of a property's time."""

MAX_STEPS = 40
"""Induction goes up to this many steps beyond the first; then the property-directed search."""

INDUCTION = 2 / 3
"""The part of a property's time that induction gets, if another search can follow it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Property:
    """Something that must never happen; ``bad`` gives its literal at a moment."""

    name: str
    bad: Callable[[Moment], int]
    node: int = Graph.FALSE
    """The node of a formula's literal; FALSE for what remembers nothing."""
    anywhere: bool = False
    """Whether ``bad`` takes the moments of other chains too, built anew: no literals of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What was found: ``trace`` goes with "reached", ``steps`` counts steps after the first.

    ``invariant`` goes with "never" where one was found that proves it; else it is empty.
    ``proof`` goes with "never" too. ``engines`` tells of the others that were at it beside, and
    why they stopped.
    """

    verdict: Literal["never", "reached", "undecided"]
    method: str
    steps: int
    seconds: float
    because: str = ""
    trace: Trace | None = None
    invariant: tuple[StateClause, ...] = ()
    proof: Proof | None = None
    engines: tuple[str, ...] = ()


@dataclass(slots=True)
class Open:
    """A property that is not settled yet, the seconds for induction, and those it took so far.

    ``step`` is the question that `Engine.look` found its proof by: what its induction step assumes.
    """

    one: Property
    limit: float
    spent: float = 0.0
    step: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Engine:
    """One board's chain and solver. ``rounds`` is the proved number of rounds a step takes.

    ``questions`` collects, if it is a list, each proof's last question as SMT-LIB 2 (its answer
    must be "unsat").
    """

    machine: Machine
    rounds: int
    seconds: float
    progress: Callable[[str], None] = lambda text: None
    questions: list[tuple[str, str]] | None = None
    frames: Frames = field(init=False)
    solver: Solver = field(init=False)
    paths: Paths = field(init=False)
    clauses: tuple[Clause, ...] = ()
    named_clauses: tuple[StateClause, ...] = ()
    lemmas: list[tuple[StateClause, ...]] = field(default_factory=list)
    """Invariants that the property-directed search found; later ones may build on them."""

    def __post_init__(self) -> None:
        """Build the first moment."""
        self.frames = Frames(self.machine)
        self.solver = Solver(self.frames.aig)
        self.paths = Paths(self.frames, self.solver)
        self.frames.first()
        self._take()

    def _take(self) -> None:
        for literal in self.frames.take_constraints():
            self.solver.require(literal)

    def reach(self, steps: int) -> None:
        """Extend the chain to so many steps after the first."""
        while len(self.frames.moments) <= steps:
            self.frames.step(self.rounds)
            self._take()
            self._require_clauses(len(self.frames.moments) - 1)

    def _require_clauses(self, moment: int) -> None:
        for literal in clause_literals(self.frames, self.clauses, moment):
            self.solver.require(literal)

    # groups -----------------------------------------------------------------------------------

    def settle(
        self,
        properties: Sequence[Property],
        wanted: Sequence[Property] = (),
        outcomes: dict[str, Outcome] | None = None,
        beside: Callable[[Engine, list[Open], dict[str, Outcome]], None] | None = None,
    ) -> dict[str, Outcome]:
        """An outcome for each property, by name; ``wanted`` are hoped to be reached (covers).

        What is settled by a short chain comes before what needs a long one; ``beside`` settles
        that in processes of their own. ``outcomes`` are filled as they come.
        """
        outcomes = {} if outcomes is None else outcomes
        at_first = self.fail_group(properties, 0, outcomes)
        hard = [self.open(one) for one in self.prove_group(at_first, outcomes)]
        covers = [self.open(one) for one in wanted]
        if all(item.one.node for item in hard):
            self.frames.leave_checks()
        self.deepen(covers, outcomes, range(1))
        self.deepen([*covers, *hard], outcomes, range(1, SHALLOW + 1))
        hard = [item for item in (*covers, *hard) if _is_open(item.one.name, outcomes)]
        (beside or Engine.alone)(self, hard, outcomes)
        return {one.name: outcomes[one.name] for one in (*properties, *wanted)}

    def alone(self, items: list[Open], outcomes: dict[str, Outcome]) -> None:
        """One engine after the other, in this process: some steps, the directed search, more
        steps, and the search with all the time that is left."""
        early = min(EARLY, MAX_STEPS)
        self.deepen(items, outcomes, range(SHALLOW + 1, early + 1))
        for item in items:
            if item.one.name not in outcomes:
                self.search_early(item, early, outcomes)
        self.deepen(items, outcomes, range(early + 1, MAX_STEPS + 1))
        for item in items:
            found = outcomes.get(item.one.name) or self.given_up(item)
            if found.verdict == "undecided" and self.searchable(item.one):
                found = self.directed(item, found, self.seconds - item.spent)
            outcomes[item.one.name] = found

    def search_early(self, item: Open, steps: int, outcomes: dict[str, Outcome]) -> None:
        """The directed search with a part of the time; without an answer the property stays open.

        So many steps were looked at before.
        """
        if not self.searchable(item.one):
            return
        found = self.directed(item, self._undecided(steps, ""), self.seconds * SLICE)
        if found.verdict == "undecided":
            item.spent = found.seconds
        else:
            outcomes[item.one.name] = found

    def given_up(self, item: Open) -> Outcome:
        """The outcome of a property that was looked at in all steps that are tried."""
        because = f"no proof by induction over {MAX_STEPS} steps"
        return self._undecided(MAX_STEPS, because, item.spent)

    def open(self, one: Property) -> Open:
        """A property that induction over more than one step must settle."""
        return Open(one, self.seconds * INDUCTION if self.searchable(one) else self.seconds)

    def searchable(self, one: Property) -> bool:
        """Whether the property-directed search can look at a property."""
        return one.anywhere

    def fail_group(
        self, properties: Sequence[Property], step: int, outcomes: dict[str, Outcome]
    ) -> list[Property]:
        """Those that cannot be broken at ``step`` of a run; the others get their outcome."""
        left = list(properties)
        moment = self.frames.moments[step]
        while left:
            start = time.monotonic()
            bad = {one.name: one.bad(moment) for one in left}
            anyone = self.frames.aig.or_(list(bad.values()))
            answer = self.solver.check([self.frames.initial, anyone], self.seconds)
            if answer == "unsat":
                return left
            if answer == "unknown":
                for one in left:
                    outcomes[one.name] = self._undecided(
                        step, self.solver.reason, time.monotonic() - start
                    )
                return []
            broken = self._true_ones(bad)
            for one in [one for one in left if one.name in broken]:
                outcomes[one.name] = self.reached(one, step)
            left = [one for one in left if one.name not in broken]
        return []

    def prove_group(
        self, properties: Sequence[Property], outcomes: dict[str, Outcome]
    ) -> list[Property]:
        """Prove what no single step from any quiet moment breaks; the rest comes back."""
        self.reach(1)
        moment = self.frames.moments[1]
        left, hard = list(properties), list[Property]()
        while left:
            start = time.monotonic()
            bad = {one.name: one.bad(moment) for one in left}
            anyone = self.frames.aig.or_(list(bad.values()))
            answer = self.solver.check([anyone], self.seconds)
            if answer == "unknown":
                return hard + left
            if answer == "unsat":
                at_first = self.frames.aig.or_([one.bad(self.frames.moments[0]) for one in left])
                if not self._confirmed(at_first, anyone, self.seconds):
                    return hard + left
                if self.questions is not None:
                    self.questions.append(("any step", self.solver.question([anyone])))
                for one in left:
                    outcomes[one.name] = Outcome(
                        verdict="never",
                        method="no step from any quiet moment",
                        steps=1,
                        seconds=time.monotonic() - start,
                        proof=Proof(kind="step", clauses=self.named_clauses),
                    )
                break
            broken = self._true_ones(bad)
            hard += [one for one in left if one.name in broken]
            left = [one for one in left if one.name not in broken]
        return hard

    def _true_ones(self, bad: dict[str, int]) -> set[str]:
        values = self.solver.values(sorted(set(bad.values())))
        return {name for name, literal in bad.items() if values[literal]}

    # one property -----------------------------------------------------------------------------

    def deepen(
        self, left: Sequence[Open], outcomes: dict[str, Outcome], depths: Iterable[int]
    ) -> None:
        """Unrolling and induction of all that is left, one more step at a time.

        Each property has its own time limit, and a chain is never longer than it must be.
        """
        for steps in depths:
            left = [item for item in left if item.one.name not in outcomes]
            if not left:
                return
            self.reach(steps)
            proved: list[tuple[Open, Outcome]] = []
            for number, item in enumerate(left):
                place = f" ({number + 1} of {len(left)} open ones)" if len(left) > 1 else ""
                self.progress(f"{item.one.name}: {steps} steps, {item.spent:.0f} s{place}")
                begin = time.monotonic()
                outcome = self.look(item, steps)
                item.spent += time.monotonic() - begin
                if outcome is not None and outcome.verdict == "never":
                    proved.append((item, outcome))
                elif outcome is not None:
                    outcomes[item.one.name] = replace(outcome, seconds=item.spent)
            self.accept(proved, steps, outcomes)
            nodes = [item.one.node for item in left if item.one.name not in outcomes]
            if steps == STRENGTHENED and nodes:
                self.strengthen(nodes, Deadline(self.seconds))

    def look(self, item: Open, steps: int) -> Outcome | None:
        """One property at one depth: reached, given up, None to go deeper, or never; that is yet to
        be confirmed (`accept`)."""
        deadline = Deadline(item.limit - item.spent)
        bad = [item.one.bad(moment) for moment in self.frames.moments[: steps + 1]]
        answer = self.solver.check([self.frames.initial, bad[steps]], deadline.left)
        if answer == "sat":
            return self.reached(item.one, steps, model=True)
        if answer == "unknown":
            return self._undecided(max(0, steps - 1), self.solver.reason)
        if steps:
            earlier = [literal ^ 1 for literal in bad[:steps]]
            answer, apart = self.paths.check(item.one.node, [*earlier, bad[steps]], steps, deadline)
            if answer == "unsat":
                item.step = [*earlier, *apart, bad[steps]]
                return Outcome(
                    verdict="never",
                    method=f"induction over {steps} step{'s' if steps > 1 else ''}",
                    steps=steps,
                    seconds=item.spent,
                    proof=Proof(
                        kind="induction",
                        steps=steps,
                        clauses=self.named_clauses,
                        apart=self.paths.pairs(item.one.node, steps),
                    ),
                )
        if answer == "unknown":
            return self._undecided(steps, self.solver.reason)
        return None

    def accept(
        self, proved: Sequence[tuple[Open, Outcome]], steps: int, outcomes: dict[str, Outcome]
    ) -> None:
        """Take proofs by induction over so many steps, if the second solver agrees to all of them
        together, or else to each that it agrees to."""
        if not proved:
            return
        begin = time.monotonic()
        agreed = self.agreed([item for item, _ in proved], steps)
        each = (time.monotonic() - begin) / len(proved)
        for item, outcome in proved:
            name, item.spent = item.one.name, item.spent + each
            if not agreed and (len(proved) == 1 or not self.agreed([item], steps)):
                outcomes[name] = self._undecided(steps, self.solver.reason, item.spent)
                continue
            if self.questions is not None:
                self.questions.append((name, self.solver.question(item.step)))
            outcomes[name] = replace(outcome, seconds=item.spent)

    def agreed(self, items: Sequence[Open], steps: int) -> bool:
        """Whether the second solver agrees that nothing is broken in the first steps of a run, nor
        in the step after as many as good."""
        aig, moments = self.frames.aig, self.frames.moments[:steps]
        at_first = aig.or_([item.one.bad(moment) for item in items for moment in moments])
        later = aig.or_([aig.and_(item.step) for item in items])
        return self._confirmed(at_first, later, max(item.limit - item.spent for item in items))

    def directed(self, item: Open, given_up: Outcome, seconds: float) -> Outcome:
        """What induction gave up, searched once more for so long.

        If there is a run that breaks it, unrolling looks for the shortest.
        """
        one, deadline = item.one, Deadline(seconds)
        found = self.search(one, deadline)
        outcome = self._directed_outcome(one, given_up, found, deadline)
        return replace(outcome, seconds=item.spent + seconds - deadline.left)

    def search(self, one: Property, deadline: Deadline) -> Found:
        """The property-directed search for one property."""
        self.progress(f"{one.name}: property-directed search")
        return search_directed(
            self.machine,
            self.rounds,
            one.node,
            one.bad,
            deadline,
            lambda text: self.progress(f"{one.name}: property-directed, {text}"),
            self.lemmas,
            tell=self.questions is not None,
        )

    def searched(self, one: Property, found: Found) -> Outcome:
        """The outcome of a property that was proved by the search."""
        if self.questions is not None:
            self.questions += [(f"{one.name}: {q}", text) for q, text in found.questions]
        if not found.words:
            self.lemmas.append(found.invariant)
        count = len(found.invariant)
        return Outcome(
            verdict="never",
            method=f"property-directed, {count} clause{'s' if count != 1 else ''}",
            steps=1,
            seconds=0.0,
            invariant=found.invariant,
            proof=Proof(kind="invariant", clauses=found.invariant, words=found.words),
        )

    def _directed_outcome(
        self, one: Property, given_up: Outcome, found: Found, deadline: Deadline
    ) -> Outcome:
        match found.verdict:
            case "never":
                return self.searched(one, found)
            case "undecided":
                because = f"{given_up.because}; property-directed search: {found.because}"
                return replace(given_up, because=because)
            case "reached":
                return self.shortest(one, given_up, found.steps, deadline)

    def shortest(self, one: Property, given_up: Outcome, known: int, deadline: Deadline) -> Outcome:
        """The shortest run that breaks a property; one of ``known`` steps is known to."""
        done = given_up.steps
        for steps in range(given_up.steps + 1, known + 1):
            if deadline.left <= 0:
                break
            self.progress(f"{one.name}: {steps} of at most {known} steps")
            self.reach(steps)
            bad = one.bad(self.frames.moments[steps])
            answer = self.solver.check([self.frames.initial, bad], deadline.left)
            if answer == "sat":
                return self.reached(one, steps, model=True)
            if answer == "unknown":
                break
            done = steps
        because = f"a run of {known} steps breaks it, but the shortest one was not found in time"
        return self._undecided(done, because)

    def strengthen(self, wanted: Sequence[int], deadline: Deadline) -> None:
        """Find what formulas' memories imply about the board, and assume it from now on."""
        self.progress("looking for invariants")
        told = self.questions is not None
        found = find_invariants(self.machine, self.rounds, wanted, deadline, tell=told)
        self.clauses += found.clauses
        self.named_clauses += named(self.machine, found.clauses)
        for moment in range(len(self.frames.moments)):
            self._require_clauses(moment)
        if self.questions is not None:
            self.questions += [(f"invariant {k}", q) for k, q in enumerate(found.questions)]

    def reached(self, one: Property, steps: int, *, model: bool = False) -> Outcome:
        """The run that a property is broken by; asked again unless the model is at hand."""
        start = time.monotonic()
        bad = one.bad(self.frames.moments[steps])
        if not model and self.solver.check([self.frames.initial, bad], self.seconds) != "sat":
            return self._undecided(steps, self.solver.reason)
        fewest = simplest(self.frames, self.solver, bad, steps, self.seconds)
        if fewest is None:
            return self._undecided(max(0, steps - 1), f"a run of it was lost: {self.solver.reason}")
        trace = extract(self.frames, self.solver, self.frames.moments[: steps + 1])
        return Outcome(
            verdict="reached",
            method="unrolling",
            steps=steps,
            seconds=time.monotonic() - start,
            trace=replace(trace, fewest=fewest),
        )

    def _undecided(self, steps: int, because: str, seconds: float = 0.0) -> Outcome:
        return Outcome(
            verdict="undecided",
            method="",
            steps=steps,
            seconds=seconds,
            because=because,
        )

    def _confirmed(self, at_first: int, later: int, seconds: float) -> bool:
        """Whether the second solver agrees that the one cannot be in a run's first steps, and the
        other nowhere."""
        limit = Deadline(seconds)
        return all(
            asked_again(self.solver, question, limit.left) == "unsat"
            for question in ([self.frames.initial, at_first], [later])
        )

    def in_passing(self, name: str) -> bool:
        """Whether the first step of some run breaks a check of fights between its rounds."""
        self.reach(1)
        passing = self.frames.moments[1].passing.get(name, Aig.false)
        return self.solver.check([self.frames.initial, passing], self.seconds) == "sat"

    def reachable(self, one: Property, steps: int, seconds: float) -> Outcome:
        """Like `alone`, for a condition that is hoped to be reached; no trace."""
        deadline = Deadline(seconds)
        for depth in range(steps + 1):
            self.reach(depth)
            bad = [one.bad(moment) for moment in self.frames.moments[: depth + 1]]
            answer = self.solver.check([self.frames.initial, bad[depth]], deadline.left)
            if answer == "sat":
                return Outcome(verdict="reached", method="unrolling", steps=depth, seconds=0.0)
            if answer == "unsat" and depth >= 1:
                earlier = [literal ^ 1 for literal in bad[:depth]]
                answer = refuted(self.solver, [*earlier, bad[depth]], deadline.left)
                if answer == "unsat":
                    return Outcome(verdict="never", method="induction", steps=depth, seconds=0.0)
            if answer == "unknown":
                break
        return self._undecided(steps, self.solver.reason or "not reached")


def _is_open(name: str, outcomes: dict[str, Outcome]) -> bool:
    return name not in outcomes or outcomes[name].verdict == "undecided"
