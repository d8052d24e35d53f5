"""What a proof rests on: an unsatisfiable core of its questions, asked of a board let loose.

The chain is that of `LooseFrames`, in which every chip, tied pin, content and assumption has a
literal that takes it as the board has it. All questions of a proof (nothing is broken in the first
steps, the clauses hold at first and are kept, nothing is broken after as many good steps) are put
into one: can any of them fail? It cannot if all is taken, or the proof is none. A core of that
answer names what was needed; things are then left out one by one as long as time allows.

Why what is named suffices: take any board that has what is named, does anything elsewhere, and
whose every step is over in as many rounds. A quiet moment of it is a first moment of the chain,
each step of it a step of the chain, with the levels that the other chips show for the ``any``
leaves; it meets the assumptions that are named. So its runs are runs of the chain with what is
named taken, and the same induction that proves the property of the board proves it of these. Where
moments are demanded to be in different states, what other chips show is part of the state: run
parts between equal ones can be left out, since what they did once they may do again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from breadproof.specs.machine.loose import Holder, LooseMachine, let_loose
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.cubes import clause_literal, state
from breadproof.verify.prove.engine import Property
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.invariants import DEPTH
from breadproof.verify.prove.looseframes import LooseFrames
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.proof import Clause, Proof
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.verdict import Result

MAX_STEPS = 12
"""A proof by induction over more steps is not looked at: its chain would be long."""


@dataclass(slots=True)
class Rests:
    """Finds what proofs about one board rest on; all share one chain and one solver.

    ``rounds`` is the proved number that a step takes. ``questions`` collects, if it is a list,
    what was asked at last as SMT-LIB 2, by what must be its answer: "unsat", or "sat" for a list
    without one of its things.
    """

    machine: Machine
    rounds: int
    questions: list[tuple[str, str]] | None = None
    loose: LooseMachine = field(init=False)
    frames: LooseFrames = field(init=False)
    solver: Solver = field(init=False)

    def __post_init__(self) -> None:
        """Build the first moment."""
        self.loose = let_loose(self.machine.netlist)
        self.frames = LooseFrames(self.loose)
        self.solver = Solver(self.frames.aig)
        self.frames.first()
        self._take()

    def of(self, name: str, proof: Proof, seconds: float) -> Grounds | None:
        """What the proof of the property ``name`` rests on; None if that was not found in time.

        Raises:
            KeyError: the board has no such property.
        """
        if proof.ranking is not None or proof.words:
            return None
        deadline = Deadline(seconds)
        property_ = property_named(self.loose.machine, name)
        depth = _depth(proof)
        if max(proof.steps, depth) > MAX_STEPS or not self.reach(
            max(proof.steps, depth if proof.clauses else 0), deadline
        ):
            return None
        question = _Question(self.frames, property_, proof, depth)
        if not question.knows_all_bits():
            return None
        clauses = self._needed(question, deadline)
        if clauses is None:
            return None
        fails = question.fails(clauses)
        everything = [*self.frames.held.values(), *self.frames.assumed.values()]
        if self.solver.check([fails, *everything], deadline.left) != "unsat":
            return None
        core = [one for one in everything if one in self.solver.core([fails, *everything])]
        core, least = self._fewer(fails, core, deadline)
        if self.questions is not None:
            self.questions += self._asked(fails, core, least)
        return self._named(core, least)

    def reach(self, steps: int, deadline: Deadline) -> bool:
        """Extend the chain to so many steps after the first, if there is time."""
        while len(self.frames.moments) <= steps:
            if deadline.left <= 0:
                return False
            self.frames.step(self.rounds)
            self._take()
        return True

    def _take(self) -> None:
        for literal in self.frames.take_constraints():
            self.solver.require(literal)

    def _needed(self, question: _Question, deadline: Deadline) -> tuple[Clause, ...] | None:
        """The clauses that the proof needs, and those that these need to be kept."""
        every = [*self.frames.held.values(), *self.frames.assumed.values()]
        clauses = tuple(dict.fromkeys(question.proof.clauses))
        needed: tuple[Clause, ...] = ()
        lost = question.main(())
        while True:
            asked = question.taken(clauses, lost)
            wanted = list(dict.fromkeys([lost.literal, *every, *asked]))
            if self.solver.check(wanted, deadline.left) != "unsat":
                return None
            core = self.solver.core(wanted)
            used = {clause for literal in core for clause in asked.get(literal, ())}
            more = tuple(clause for clause in clauses if clause in used or clause in needed)
            if more == needed:
                return needed
            needed, lost = more, question.kept(more)

    def _fewer(self, fails: int, core: list[int], deadline: Deadline) -> tuple[list[int], bool]:
        """The core without what it can do without, and whether nothing more can be left out."""
        left = list(core)
        for one in core:
            if one not in left:
                continue
            rest = [other for other in left if other != one]
            answer = self.solver.check([fails, *rest], deadline.left)
            if answer == "unknown":
                return left, False
            if answer == "unsat":
                kept = self.solver.core([fails, *rest])
                left = [other for other in rest if other in kept]
        return left, True

    def _asked(self, fails: int, core: list[int], least: bool) -> list[tuple[str, str]]:
        solver = self.solver
        asked = [("unsat", solver.question([*core, fails]))]
        if least:
            for one in core:
                rest = [other for other in core if other != one]
                asked.append(("sat", solver.question([*rest, fails])))
        return asked

    def _named(self, core: Sequence[int], least: bool) -> Grounds:
        """The core's literals by what they take."""
        frames = self.frames
        holders = [h for h, leaf in self.loose.held.items() if frames.held[leaf] in core]
        return Grounds(
            parts=_names(holders, "part"),
            pins=tuple((h.name, h.level) for h in holders if h.kind == "pin"),
            contents=_names(holders, "contents"),
            assumptions=tuple(n for n, literal in frames.assumed.items() if literal in core),
            least=least,
        )


def with_grounds(
    machine: Machine,
    rounds: int,
    results: Sequence[Result],
    seconds: float,
    progress: Callable[[str], None] = lambda text: None,
) -> tuple[Result, ...]:
    """The results, those that were proved with what they rest on.

    ``rounds`` is the proved number that a step takes, ``seconds`` the limit for each result.
    """
    proved = [one for one in results if one.proof and one.verdict in ("holds", "unreachable")]
    if not proved or not rounds:
        return tuple(results)
    rests = Rests(machine, rounds)
    found: dict[str, Grounds | None] = {}
    for number, one in enumerate(proved):
        progress(f"what {one.name} rests on ({number + 1} of {len(proved)})")
        if one.proof is not None:
            found[one.name] = rests.of(one.name, one.proof, seconds)
    return tuple(replace(one, grounds=found.get(one.name)) for one in results)


def _names(holders: Sequence[Holder], kind: str) -> tuple[str, ...]:
    return tuple(holder.name for holder in holders if holder.kind == kind)


def _depth(proof: Proof) -> int:
    """Over how many steps the clauses of a proof are kept (see `invariants`)."""
    return 1 if proof.kind == "invariant" else DEPTH


@dataclass(frozen=True, slots=True)
class _Lost:
    """Something that must not be: ``literal``, after ``moments`` that meet the clauses."""

    literal: int
    moments: int


@dataclass(slots=True)
class _Question:
    """All that a proof claims of its chain."""

    frames: LooseFrames
    one: Property
    proof: Proof
    depth: int

    def bits(self, moment: Moment) -> dict[str, int]:
        """The state at a moment, with all memories of formulas."""
        machine = self.frames.machine
        return state(machine, machine.logic.monitors, moment)

    def knows_all_bits(self) -> bool:
        """Whether the clauses are about bits of the state alone."""
        known = self.bits(self.frames.moments[0])
        return all(name in known for clause in self.proof.clauses for name, _ in clause)

    def bad(self, moment: int) -> int:
        """The violation at a moment."""
        return self.one.bad(self.frames.moments[moment])

    def met(self, clauses: Sequence[Clause], moment: int) -> int:
        """Whether all clauses hold at a moment."""
        aig, bits = self.frames.aig, self.bits(self.frames.moments[moment])
        return aig.and_([clause_literal(aig, clause, bits) for clause in clauses])

    def allowed(self, moment: int) -> int:
        """Whether all moments up to this one meet the assumptions that are taken."""
        return self.frames.aig.and_(self.frames.allowed[: moment + 1])

    def taken(self, clauses: Sequence[Clause], lost: _Lost) -> dict[int, tuple[Clause, ...]]:
        """What is assumed of the moments before something is lost: literals, by clause."""
        found: dict[int, tuple[Clause, ...]] = {}
        for moment in range(lost.moments):
            for clause in clauses:
                literal = self.met([clause], moment)
                found[literal] = (*found.get(literal, ()), clause)
        return found

    def main(self, clauses: Sequence[Clause]) -> _Lost:
        """A violation after moments that are good and meet the clauses."""
        aig, steps = self.frames.aig, self.proof.steps
        before = [self.met(clauses, moment) for moment in range(steps)]
        if self.proof.kind == "induction":
            before += [self.bad(moment) ^ 1 for moment in range(steps)]
            before += [self.differ(*pair) for pair in self.proof.apart]
        literal = aig.and_([self.allowed(steps), *before, self.bad(steps)])
        return _Lost(literal, steps)

    def kept(self, clauses: Sequence[Clause]) -> _Lost:
        """Clauses that are lost after moments that meet them."""
        aig, depth = self.frames.aig, self.depth
        before = [self.met(clauses, moment) for moment in range(depth)]
        lost = self.met(clauses, depth) ^ 1
        return _Lost(aig.and_([self.allowed(depth), *before, lost]), depth)

    def fails(self, clauses: Sequence[Clause]) -> int:
        """Whether any question of the proof, with these clauses, fails."""
        aig, initial = self.frames.aig, self.frames.initial
        ways = [self.main(clauses).literal]
        firsts = self.proof.steps if self.proof.kind == "induction" else 1
        for moment in range(firsts):
            ways.append(aig.and_([initial, self.allowed(moment), self.bad(moment)]))
        if clauses:
            ways.append(self.kept(clauses).literal)
            for moment in range(self.depth):
                lost = self.met(clauses, moment) ^ 1
                ways.append(aig.and_([initial, self.allowed(moment), lost]))
        return aig.or_(ways)

    def differ(self, earlier: int, later: int) -> int:
        """Whether two moments are in different states; a memory that was written counts as one."""
        frames = self.frames
        a, b = self.whole_state(earlier), self.whole_state(later)
        moments = frames.moments
        written = [
            write.when
            for number, log in enumerate(frames.memories)
            for write in log.writes[moments[earlier].until[number] : moments[later].until[number]]
        ]
        return frames.aig.or_([frames.aig.equal(a, b) ^ 1, *written])

    def whole_state(self, number: int) -> list[int]:
        """All that later steps depend on, what is let loose included."""
        machine = self.frames.machine
        moment = self.frames.moments[number]
        monitors = remembered(machine, self.one.node)
        bits = state(machine, monitors, moment).values()
        return [*bits, *self.frames.loose_state(number)]
