"""Property-directed search for an invariant (IC3: Bradley 2011; Eén, Mishchenko, Brayton 2011).

Frame k is a set of clauses that all moments within k steps of power-up meet. A state from which a
step breaks the property is an obligation: it is blocked in its frame by a clause that steps from
the frame before keep, or a state before it becomes the next obligation. When a frame is equal to
the next, its clauses are an invariant. Clauses are made general by unsatisfiable cores and by
leaving out literals, states before by the core of "with these inputs the step leads nowhere else".

What comes out is only a proposal: `inductive` checks it. A run that is found is not shown: it need
not be the shortest.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from breadproof.verify.prove.cubes import Bit, Step
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.solver import Deadline, Solver

MAX_FRAMES = 5_000
"""Steps that are looked at; what would need more stays undecided."""

Cube = frozenset[int]
"""Literals of the moment before the step, all of which hold."""


class GaveUp(Exception):
    """Out of time, or the solver was."""


class Reached(Exception):
    """A run of ``steps`` steps after the first moment breaks the property."""

    def __init__(self, steps: int) -> None:
        """Note how many."""
        super().__init__(f"a run of {steps} steps breaks it")
        self.steps = steps


@dataclass(order=True, slots=True)
class _Obligation:
    """``cube`` must not be reached within ``level`` steps: ``steps`` more break the property."""

    level: int
    number: int
    cube: Cube = field(compare=False)
    steps: int = field(compare=False)


class Search:
    """One property's frames. ``bad`` is the literal, after the step, of what must not be.

    ``memories`` tells that contents of memories may decide about it.
    """

    def __init__(
        self,
        step: Step,
        bad: int,
        deadline: Deadline,
        progress: Callable[[str], None],
        *,
        memories: bool = False,
    ) -> None:
        """Nothing is searched before `run`."""
        self.step = step
        self.aig = step.aig
        self.bad = self.aig.and2(bad, step.counts)
        self.deadline = deadline
        self.progress = progress
        self.bits = step.bits()
        self.of: dict[int, Bit] = {}
        for bit in self.bits:
            self.of[bit.now] = bit
            self.of[bit.now ^ 1] = Bit(bit.name, bit.now ^ 1, bit.then ^ 1)
        self.initial = step.frames.initial
        self.memories = memories
        self.known: list[int] = []
        self.go = Solver(step.aig)
        for literal in (*step.here, *step.held, *step.there, *step.read):
            self.go.require(literal)
        self.inputs = [*step.inputs, *step.contents] if memories else step.inputs
        self.lift(exact=not memories)
        self.parts, self.plain = self._comparisons()
        self.frames: list[list[Cube]] = [[]]
        self.switches = [self.initial]
        self.numbers = itertools.count()

    def lift(self, *, exact: bool) -> None:
        """Begin to find states before by what such a state must meet.

        What a memory holds is chosen for the step like its inputs: there must be such a content. It
        must also be one with which the moment is quiet; where that is not ``exact``, any content
        will do for it, which is found much sooner, but lets in states that have no such step.
        """
        self.exact = exact
        step, resting = self.step, list[int]()
        here, contents = step.here, [*step.held, *step.read]
        if self.memories and exact:
            chosen, parts = self.aig.depending(step.contents), self.aig.conjuncts(step.here)
            resting = [literal for literal in parts if literal >> 1 in chosen]
            here = [literal for literal in parts if literal >> 1 not in chosen]
        self.before = Solver(step.aig)
        for literal in (*here, *self.known, *(() if self.memories else contents)):
            self.before.require(literal)
        chosen_too = [*resting, *contents] if self.memories else []
        self.able = self.aig.and_([*step.there, *chosen_too])
        self.begins = [self.initial, self.aig.and_([*resting, *step.held])]

    def _comparisons(self) -> tuple[dict[int, frozenset[int]], list[set[int]]]:
        """The variables of the comparisons of tracked words, and of the bits that they compare.

        What is compared comes in layers: levels, comparisons of levels, comparisons of all places.
        """
        now, parts = self.step.now, dict[int, frozenset[int]]()
        for bit in self.bits:
            if bit.name in self.step.parts:
                behind = (now[name] >> 1 for name in self.step.parts[bit.name])
                parts[bit.now >> 1] = frozenset(behind)
        compared = {one for behind in parts.values() for one in behind}
        levels = compared - {*parts}
        return parts, [compared, levels] if levels else []

    # the search -------------------------------------------------------------------------------

    def run(self) -> list[Clause]:
        """The clauses of an invariant from which no step breaks the property.

        Raises:
            GaveUp: out of time.
            Reached: there is a run that breaks it.
        """
        while len(self.frames) <= MAX_FRAMES:
            try:
                self.clear_last()
            except Reached:
                if self.exact:
                    raise
                self.lift(exact=True)
                continue
            self.frames.append([])
            self.switches.append(self.aig.input())
            equal = self.push()
            if equal is not None:
                return [self.clause(cube) for level in self.frames[equal + 1 :] for cube in level]
            count = sum(len(level) for level in self.frames)
            self.progress(f"{len(self.frames) - 1} steps, {count} clauses")
        raise GaveUp(f"no invariant within {MAX_FRAMES} steps")

    def know(self, clauses: Sequence[Clause]) -> None:
        """Take clauses for granted that every moment of every run meets."""
        self.known = self.step.holds(clauses, self.step.now)
        for solver in (self.go, self.before):
            for literal in self.known:
                solver.require(literal)

    def clear_last(self) -> None:
        """Block all states of the last frame from which a step breaks the property."""
        last = len(self.frames) - 1
        while self.ask(self.go, [*self.within(last), self.bad]):
            if last == 0:
                raise Reached(1)
            self.block(self.state_before(self.bad), last)

    def block(self, cube: Cube, level: int) -> None:
        """Show that a state is not reached within ``level`` steps, and all that this needs."""
        self.not_first(cube, 1)
        heap = [_Obligation(level, next(self.numbers), cube, 1)]
        while heap:
            one = heapq.heappop(heap)
            if self.is_blocked(one.cube, one.level):
                continue
            if self.ask_step(one.cube, one.level - 1):
                steps = one.steps + 1
                if one.level == 1:
                    raise Reached(steps)
                then = self.aig.and_([self.of[literal].then for literal in one.cube])
                earlier = self.state_before(then)
                self.not_first(earlier, steps)
                heapq.heappush(heap, _Obligation(one.level - 1, next(self.numbers), earlier, steps))
                heapq.heappush(heap, one)
                continue
            general = self.generalise(one.cube, one.level - 1)
            reached = one.level
            while reached < len(self.frames) - 1 and not self.ask_step(general, reached):
                reached += 1
            self.add(general, reached)
            if reached < len(self.frames) - 1:
                later = _Obligation(reached + 1, next(self.numbers), one.cube, one.steps)
                heapq.heappush(heap, later)

    def push(self) -> int | None:
        """Move clauses on to later frames; the first frame that is then equal to the next."""
        for level in range(1, len(self.frames) - 1):
            for cube in list(self.frames[level]):
                if cube in self.frames[level] and not self.ask_step(cube, level):
                    self.add(cube, level + 1)
            if not self.frames[level]:
                return level
        return None

    # frames -----------------------------------------------------------------------------------

    def within(self, level: int) -> list[int]:
        """Assumptions: the moment before the step is in this frame."""
        return [self.initial] if level == 0 else self.switches[level:]

    def add(self, cube: Cube, level: int) -> None:
        """Block a cube in the frames up to ``level``."""
        for earlier in self.frames[: level + 1]:
            earlier[:] = [other for other in earlier if not cube <= other]
        self.frames[level].append(cube)
        blocked = [literal ^ 1 for literal in sorted(cube)]
        self.go.require(self.aig.or_([self.switches[level] ^ 1, *blocked]))

    def is_blocked(self, cube: Cube, level: int) -> bool:
        """Whether a clause of a frame from ``level`` on excludes the cube."""
        return any(other <= cube for frame in self.frames[level:] for other in frame)

    def clause(self, cube: Cube) -> Clause:
        """A blocked cube as a clause over names."""
        found = []
        for bit in self.bits:
            if bit.now in cube or bit.now ^ 1 in cube:
                found.append((bit.name, int(bit.now ^ 1 in cube)))
        return tuple(found)

    # cubes ------------------------------------------------------------------------------------

    def state_before(self, target: int) -> Cube:
        """States like the last model's, all of which the same inputs lead to ``target``."""
        now = [bit.now for bit in self.bits]
        values = self.go.values([*now, *self.inputs])
        cube = frozenset(literal ^ 1 ^ values[literal] for literal in now)
        inputs = [one ^ 1 ^ values[one] for one in self.inputs if one > 1]
        elsewhere = self.aig.and2(target, self.able) ^ 1
        for tried in self.short(cube):
            question = [elsewhere, *inputs, *sorted(tried)]
            if not self.ask(self.before, question):
                return self.with_comparisons(tried & self.before.core(question), cube)
        return cube

    def short(self, cube: Cube) -> list[Cube]:
        """The cube without levels that are compared, comparisons instead; at last the cube."""
        shorter = (frozenset(one for one in cube if one >> 1 not in out) for out in self.plain)
        return list(dict.fromkeys((*shorter, cube)))

    def with_comparisons(self, core: Cube, cube: Cube) -> Cube:
        """A part of a cube with the comparisons that follow from it."""
        for _ in self.plain:
            there = {one >> 1 for one in core}
            none = frozenset({0})
            core |= {one for one in cube if self.parts.get(one >> 1, none) <= there}
        return core

    def not_first(self, cube: Cube, steps: int) -> Cube:
        """Literals of the cube that no first moment meets. Raises `Reached` if one meets all."""
        question = [*self.begins, *sorted(cube)]
        if self.ask(self.before, question):
            raise Reached(steps)
        return cube & self.before.core(question)

    def is_first(self, cube: Cube) -> bool:
        """Whether some first moment is in the cube."""
        return self.ask(self.before, [*self.begins, *sorted(cube)])

    def ask_step(self, cube: Cube, level: int) -> bool:
        """Whether a step leads from a frame, but not from the cube, into the cube."""
        return self.ask(self.go, self.step_question(cube, level))

    def step_question(self, cube: Cube, level: int) -> list[int]:
        """That question's assumptions."""
        outside = self.aig.or_([literal ^ 1 for literal in sorted(cube)])
        then = sorted({self.of[literal].then for literal in cube})
        return [*self.within(level), outside, *then]

    def generalise(self, cube: Cube, level: int) -> Cube:
        """A cube around this one that steps from a frame do not lead into either.

        The last answer must be that of `ask_step` for it.
        """
        found = self.by_core(cube, level)
        for rest in self.short(cube)[:-1]:
            if rest and not self.is_first(rest) and not self.ask_step(rest, level):
                found = self.by_core(rest, level)
                break
        for literal in sorted(found, key=self.worth):
            if literal not in found or len(found) == 1:
                continue
            smaller = found - {literal}
            if self.is_first(smaller) or self.ask_step(smaller, level):
                continue
            found = self.by_core(smaller, level)
        return found

    def worth(self, literal: int) -> tuple[int, int]:
        """The order in which literals are left out: comparisons stay if they can."""
        return sum(literal >> 1 not in out for out in self.plain), literal

    def by_core(self, cube: Cube, level: int) -> Cube:
        """The part of a cube that the last answer needs, and that keeps first moments out."""
        core = self.go.core(self.step_question(cube, level))
        needed: set[int] = set()
        met: set[int] = set()
        for literal in sorted(cube):
            then = self.of[literal].then
            if then in core and then not in met:
                met.add(then)
                needed.add(literal)
        part = frozenset(needed)
        return part if part and not self.is_first(part) else part | self.not_first(cube, 0)

    def ask(self, solver: Solver, assumptions: Sequence[int]) -> bool:
        """Whether there is such a step. Raises `GaveUp` if that is not found out."""
        answer = solver.check(assumptions, self.deadline.left)
        if answer == "unknown":
            raise GaveUp(solver.reason)
        return answer == "sat"
