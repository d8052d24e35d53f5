"""What a proof rests on: an unsatisfiable core of its questions, asked of a board let loose.

The chain is that of `LooseFrames`, in which every chip, tied pin, content and assumption has a
literal that takes it as the board has it. All questions of a proof (nothing is broken in the first
steps, the clauses hold at first and are kept, nothing is broken after as many good steps, ranks
fall while something is waited for) are put into one: can any of them fail? It cannot if all is
taken, or the proof is none. A core of that answer names what was needed; things are then left out
one by one as long as time allows.

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
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.invariants import DEPTH
from breadproof.verify.prove.looseframes import LooseFrames
from breadproof.verify.prove.loosequestion import LooseQuestion
from breadproof.verify.prove.proof import Clause, Proof
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.verdict import Result

MAX_STEPS = 40
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
        if proof.words:
            return None  # what a chip that is let loose does to a tracked word is not worked out
        deadline = Deadline(seconds)
        property_ = property_named(self.loose.machine, name)
        depth = _depth(proof)
        if max(proof.steps, depth) > MAX_STEPS or not self.reach(
            max(proof.steps, depth if proof.clauses else 1), deadline
        ):
            return None
        question = LooseQuestion(self.frames, property_, proof, depth)
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

    def _needed(self, question: LooseQuestion, deadline: Deadline) -> tuple[Clause, ...] | None:
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
