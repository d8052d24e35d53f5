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
from breadproof.verify.prove.second import asked_again
from breadproof.verify.prove.simplest import simplest
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.together import possible, possible_runs

SHALLOW = 3
"""Up to so many steps all properties are looked at together; what is still open goes on alone."""

STRENGTHENED = 2
"""After so many steps invariants are looked for."""

EARLY = 6
"""After so many steps the property-directed search gets as much time, before more steps."""

DEEPER = 3
"""Then as many steps as were looked at, divided by this, and the search again."""

AWHILE, SLICE = 1.0, 1 / 3
"""The search has at least so many seconds, at most that part of a property's time."""

TOGETHER = 2.0
"""After so many seconds properties are looked at one by one."""

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
        self.paths = Paths(self.frames)
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
        """One engine after the other, in this process, and each as long as the other: some steps,
        the directed search for a while, more steps, and at last the search with all the time that
        is left."""
        depth, done = min(EARLY, MAX_STEPS), SHALLOW
        while True:
            self.deepen(items, outcomes, range(done + 1, depth + 1))
            if depth == MAX_STEPS:
                break
            for item in items:
                if item.one.name not in outcomes:
                    self.search_awhile(item, depth, outcomes)
            done, depth = depth, min(MAX_STEPS, depth + depth // DEEPER)
        for item in items:
            found = outcomes.get(item.one.name) or self.given_up(item)
            if found.verdict == "undecided" and self.searchable(item.one):
                found = self.directed(item, found, self.seconds - item.spent)
            outcomes[item.one.name] = found

    def search_awhile(self, item: Open, steps: int, outcomes: dict[str, Outcome]) -> None:
        """The directed search for as long as the property has taken until now; without an answer
        it stays open. So many steps were looked at before."""
        if not self.searchable(item.one):
            return
        seconds = min(max(AWHILE, item.spent), self.seconds * SLICE)
        found = self.directed(item, undecided(steps, ""), seconds)
        if found.verdict == "undecided":
            item.spent = found.seconds
        else:
            outcomes[item.one.name] = found

    def given_up(self, item: Open) -> Outcome:
        """The outcome of a property that was looked at in all steps that are tried."""
        because = f"no proof by induction over {MAX_STEPS} steps"
        return undecided(MAX_STEPS, because, item.spent)

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
        start, moment = time.monotonic(), self.frames.moments[step]
        bad = {one.name: one.bad(moment) for one in properties}
        broken, all_known = possible(
            self.solver, [self.frames.initial], bad, Deadline(self.seconds)
        )
        reason, seconds = self.solver.reason, time.monotonic() - start
        for one in properties:
            if one.name in broken:
                outcomes[one.name] = self.reached(one, step)
            elif not all_known:
                outcomes[one.name] = undecided(step, reason, seconds)
        return [one for one in properties if one.name not in outcomes]

    def prove_group(
        self, properties: Sequence[Property], outcomes: dict[str, Outcome]
    ) -> list[Property]:
        """Prove what no single step from any quiet moment breaks; the rest comes back."""
        self.reach(1)
        start, (first, second) = time.monotonic(), self.frames.moments[:2]
        bad = {one.name: one.bad(second) for one in properties}
        broken, all_known = possible(self.solver, [], bad, Deadline(self.seconds))
        never = [one for one in properties if one.name not in broken]
        if not all_known or not never:
            return list(properties)
        anyone = self.frames.aig.or_([bad[one.name] for one in never])
        at_first = self.frames.aig.or_([one.bad(first) for one in never])
        if not self.confirmed(at_first, anyone, self.seconds):
            return list(properties)
        if self.questions is not None:
            self.questions.append(("any step", self.solver.question([anyone])))
        for one in never:
            outcomes[one.name] = Outcome(
                verdict="never",
                method="no step from any quiet moment",
                steps=1,
                seconds=time.monotonic() - start,
                proof=Proof(kind="step", clauses=self.named_clauses),
            )
        return [one for one in properties if one.name in broken]

    # step by step -----------------------------------------------------------------------------

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
            found = self.look(left, steps)
            proved = [item for item in left if item.step and item.one.name in found]
            by_name = {item.one.name: item for item in left}
            outcomes |= {
                name: replace(outcome, seconds=by_name[name].spent)
                for name, outcome in found.items()
                if outcome.verdict != "never"
            }
            self.accept([(item, found[item.one.name]) for item in proved], steps, outcomes)
            nodes = [item.one.node for item in left if item.one.name not in outcomes]
            if steps == STRENGTHENED and nodes:
                self.strengthen(nodes, Deadline(self.seconds))

    def look(self, items: Sequence[Open], steps: int) -> dict[str, Outcome]:
        """Properties at one depth, together if that is soon done, else one by one: reached, given
        up, or never, which is yet to be confirmed (`accept`). What is left out is to go deeper."""
        begin, many = time.monotonic(), len(items) > 1
        who = f"{len(items)} open ones" if many else items[0].one.name
        self.progress(f"{who}: {steps} steps, {max(item.spent for item in items):.0f} s")
        limit = min(item.limit - item.spent for item in items)
        found, all_known = self._look(
            items, steps, Deadline(min(limit, TOGETHER if many else limit))
        )
        for item in items:
            item.spent += (time.monotonic() - begin) / len(items)
        if many and not all_known:
            for item in [item for item in items if item.one.name not in found]:
                found |= self.look([item], steps)
        return found

    def _look(
        self, items: Sequence[Open], steps: int, deadline: Deadline
    ) -> tuple[dict[str, Outcome], bool]:
        """The outcomes at one depth, and whether those are all; a single one gives up."""
        aig, moments, alone = self.frames.aig, self.frames.moments[: steps + 1], len(items) == 1
        bad = {item.one.name: [item.one.bad(moment) for moment in moments] for item in items}
        last = {name: literals[-1] for name, literals in bad.items()}
        broken, all_known = possible(self.solver, [self.frames.initial], last, deadline)
        found = {
            item.one.name: self.reached(item.one, steps, model=alone)
            for item in items
            if item.one.name in broken
        }
        if not all_known:
            if alone:
                found[items[0].one.name] = undecided(max(0, steps - 1), self.solver.reason)
            return found, False
        left = [item for item in items if item.one.name not in found]
        if not steps or not left:
            return found, True
        for item in left:
            *earlier, now = bad[item.one.name]
            item.step = [*(literal ^ 1 for literal in earlier), now]
        questions = {i.one.name: (self.paths.question(i.one.node), aig.and_(i.step)) for i in left}
        deeper, all_known = possible_runs(self.solver, questions, steps, deadline)
        if not all_known:
            for item in left:
                item.step = []
            if alone:
                found[left[0].one.name] = undecided(steps, self.solver.reason)
            return found, False
        for item in left:
            if item.one.name in deeper:
                item.step = []
                continue
            item.step[-1:-1] = questions[item.one.name][0].demands(steps)
            found[item.one.name] = Outcome(
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
        return found, True

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
                outcomes[name] = undecided(steps, self.solver.reason, item.spent)
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
        return self.confirmed(at_first, later, max(item.limit - item.spent for item in items))

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
        return undecided(done, because)

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
            return undecided(steps, self.solver.reason)
        fewest = simplest(self.frames, self.solver, bad, steps, self.seconds)
        if fewest is None:
            return undecided(max(0, steps - 1), f"a run of it was lost: {self.solver.reason}")
        trace = extract(self.frames, self.solver, self.frames.moments[: steps + 1])
        return Outcome(
            verdict="reached",
            method="unrolling",
            steps=steps,
            seconds=time.monotonic() - start,
            trace=replace(trace, fewest=fewest),
        )

    def confirmed(self, at_first: int, later: int, seconds: float) -> bool:
        """Whether the second solver agrees that the one cannot be in a run's first steps, and the
        other nowhere."""
        aig = self.frames.aig
        either = aig.or_([aig.and2(self.frames.initial, at_first), later])
        return asked_again(self.solver, [either], seconds) == "unsat"

    def in_passing(self, name: str) -> bool:
        """Whether the first step of some run breaks a check of fights between its rounds."""
        self.reach(1)
        passing = self.frames.moments[1].passing.get(name, Aig.false)
        return self.solver.check([self.frames.initial, passing], self.seconds) == "sat"


def undecided(steps: int, because: str, seconds: float = 0.0) -> Outcome:
    """What was not found out, after so many steps."""
    return Outcome(verdict="undecided", method="", steps=steps, seconds=seconds, because=because)


def _is_open(name: str, outcomes: dict[str, Outcome]) -> bool:
    return name not in outcomes or outcomes[name].verdict == "undecided"
