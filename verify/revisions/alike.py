"""Proof that two boards behave alike, and the shortest run that tells them apart.

The proof is induction over one step with the board's own correspondences as hypothesis (van Eijk
2000, signal correspondence): begin with all that may be equal - shared storage, memories, nets that
are paired, what is compared - and drop what a counterexample shows not to be, until one step from
any quiet moments at which all the rest is equal leaves all of it equal. What is left then is equal
in runs of any length, if it is equal when they begin. What was proved is asked once more, of a
second solver.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.extract import extract
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.simplest import simplest
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.guesses import guesses
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.start import Rounds, Start, begin
from breadproof.verify.revisions.strolls import stroll
from breadproof.verify.revisions.twin import Twin

MAX_STEPS = 40
"""Runs that are longer are not searched for a difference."""
DEEPEST = 6
"""Induction goes over up to so many steps."""
SOON = 2
"""Differences that show after so few steps are looked for before anything is proved."""
STROLLS, STROLL_SECONDS = 4, 10.0
"""So often, and so long, a longer run is looked for by chance where no shortest one was found."""
REST_SECONDS = 10.0
"""Once there is a difference it is not asked longer what else is the same."""
NEVER = "the assumptions never let the comparison begin"
Fate = Literal["same", "differs", "undecided"]


@dataclass(slots=True)
class Answered:
    """``fates`` by item; ``because`` tells of what is undecided. ``searched``: no run of so many
    steps shows a difference in what is not settled."""

    fates: dict[str, Fate]
    difference: Difference | None = None
    because: str = ""
    searched: int = -1
    method: str = ""
    seconds: float = 0.0


@dataclass(slots=True)
class _Held:
    """What is still taken for equal: leaves of storage and loops (of the new machine), memories,
    and items."""

    leaves: set[int]
    memories: set[int]
    items: list[Item]


@dataclass(slots=True)
class Comparison:
    """``items`` are asked for, ``helpers`` are nets that may be equal and help with the proof.

    ``when`` are the nodes, old and new, of a formula while which alone is compared (None: the new
    machine has no part in it); ``told`` and ``often``: see `guesses`.
    """

    old: Machine
    new: Machine
    links: Links
    rounds: Rounds
    items: tuple[Item, ...]
    helpers: tuple[Item, ...]
    start: Start
    seconds: float
    progress: Callable[[str], None] = lambda text: None
    when: tuple[int, int | None] | None = None
    told: Mapping[int, int] = field(default_factory=dict)
    often: tuple[str, ...] = ()
    beats: tuple[str, ...] = ()
    """What moves while the reset is held: see `start.begin`."""
    comes: bool = False
    """It is known that what is compared comes in some run."""
    deadline: Deadline = field(init=False)

    def __post_init__(self) -> None:
        self.deadline = Deadline(self.seconds)

    @property
    def both(self) -> tuple[Machine, Machine, Links, Rounds, Start, tuple[str, ...]]:
        """What `start.begin` needs."""
        return self.old, self.new, self.links, self.rounds, self.start, self.beats

    def answer(self, *, search: bool = True) -> Answered:
        """Prove all that can be proved, and look for the shortest difference in the rest."""
        begun = time.monotonic()
        answered = Answered(fates={item.name: "undecided" for item in self.items})
        self.progress("do the boards behave alike?")
        if search:
            self.apart([item for item in self.items if item.outside], None, answered, SOON)
        if answered.difference is not None:
            self.deadline = Deadline(min(REST_SECONDS, self.deadline.left))
        held = self.proved(answered)
        names = self.settled(held, answered)
        if search and answered.difference is None and len(names) < len(self.items):
            held = self.guessed(answered) or held
        for outside in (True, False):  # what people see first, then what they must probe for
            left = [
                item
                for item in self.items
                if answered.fates[item.name] == "undecided" and item.outside is outside
            ]
            if search and left and answered.difference is None:
                self.apart(left, held, answered, MAX_STEPS)
        open_ = "undecided" in answered.fates.values() and answered.because != NEVER
        if search and answered.difference is None and open_:
            self.strolled(answered)
        if answered.difference is None and "same" in answered.fates.values():
            never = self.never()
            if never:  # nothing can differ in what never comes, and that is no answer
                answered.fates = dict.fromkeys(answered.fates, "undecided")
                answered.because = never
        answered.seconds = time.monotonic() - begun
        return answered

    def never(self) -> str:
        """Why it is not known that what is compared comes in any run; empty if it is."""
        if self.comes or (self.when is None and not any(item.when for item in self.items)):
            return ""
        twin, first = begin(*self.both)
        solver = self.solver(twin)
        for steps in range(MAX_STEPS + 1):
            self.progress(f"does what is compared come? runs of {steps} steps")
            twin.reach(first + steps)
            compared = self.counts(twin, first + steps)
            for literal in twin.take():
                solver.require(literal)
            answer = self.ask(solver, [twin.initial, compared])
            if answer != "unsat":
                return "" if answer == "sat" else solver.reason
        return f"no run of {MAX_STEPS} steps gets to where anything is compared"

    def counts(self, twin: Twin, step: int) -> int:
        """Whether anything is compared at a quiet moment."""
        levels = twin.old.moments[step].rounds[-1].levels
        found = twin.aig.or_(
            [
                twin.aig.and_([levels[node] ^ int(not level) for node, level in item.when])
                for item in self.items
            ]
        )
        return twin.aig.and_([found, *self.while_holds(twin, step)])

    def settled(self, held: _Held | None, answered: Answered) -> set[str]:
        """Note what is proved to be the same; the names of it."""
        proved = set() if held is None else set(held.items)
        names = {item.name for item in self.items if item in proved}
        for name in names:
            answered.fates[name] = "same"
        return names

    def guessed(self, answered: Answered) -> _Held | None:
        """The proof once more, with nets that went alike in some runs."""
        self.progress("do the boards behave alike? some runs")
        known = {*self.items, *self.helpers}
        more = guesses(
            self.old, self.new, self.links, self.start, self.told, self.often, self.beats
        )
        more = tuple(item for item in more if item not in known)
        if not more:
            return None
        self.helpers = (*self.helpers, *more)
        held = self.proved(answered)
        self.settled(held, answered)
        return held

    # the proof --------------------------------------------------------------------------------

    def proved(self, answered: Answered) -> _Held | None:
        """What is equal in all runs; None if there is no answer in time."""
        held = _Held(
            leaves={*self.links.of("store"), *self.links.of("loop")},
            memories={two for _, two in self.links.memories},
            items=[*self.items, *self.helpers],
        )
        if not self.at_first(held, answered):
            return None
        count = 0
        while True:
            count += 1
            answer = self.one_step(held, answered)
            if answer == "unsat":
                answered.method = "induction over one step from any two moments that are alike"
                return held
            if answer == "unknown":
                return None
            self.progress(f"do the boards behave alike? ({count} looks)")

    def at_first(self, held: _Held, answered: Answered) -> bool:
        """Drop what can differ when a run begins."""
        twin, step = begin(*self.both)
        solver = self.solver(twin)
        begins = self.ask(solver, [twin.initial])
        if begins != "sat":  # nothing can differ in no run, and that is no answer
            answered.because = NEVER if begins == "unsat" else solver.reason
            return False
        diffs = self.diffs(twin, held, step)
        while True:
            anything = twin.aig.or_(list(diffs.values()))
            for literal in twin.take():
                solver.require(literal)
            answer = self.ask(solver, [twin.initial, anything])
            if answer == "unsat":
                return self.sure(solver, [twin.initial, anything], answered)
            if answer == "unknown":
                answered.because = solver.reason
                return False
            self.drop(solver, diffs, held)

    def one_step(self, held: _Held, answered: Answered) -> Answer:
        """Drop what a step can make differ: "sat" if more may have to be; "unsat" if none does."""
        twin = Twin(self.old, self.new, self.shared(held), self.rounds.step)
        twin.reach(1)
        solver = self.solver(twin)
        before = {
            item: self.item_differs(item, twin, 0) for item in held.items if item.kind != "memory"
        }
        diffs = self.diffs(twin, held, 1)
        structure = (len(held.leaves), len(held.memories))
        while True:
            equal = [before[item] ^ 1 for item in held.items if item in before]
            anything = twin.aig.or_(list(diffs.values()))
            for literal in twin.take():
                solver.require(literal)
            answer = self.ask(solver, [*equal, anything])
            if answer == "unknown":
                answered.because = solver.reason
                return "unknown"
            if answer == "sat":
                self.drop(solver, diffs, held)
                continue
            # what was dropped is still one variable here, which only hides differences
            if structure != (len(held.leaves), len(held.memories)):
                return "sat"
            return "unsat" if self.sure(solver, [*equal, anything], answered) else "unknown"

    def shared(self, held: _Held) -> Links:
        """The links with the storage alone that is taken for equal."""
        leaves = dict(self.links.leaves)
        for kind in ("store", "loop"):
            leaves[kind] = {k: v for k, v in self.links.of(kind).items() if k in held.leaves}
        memories = tuple(pair for pair in self.links.memories if pair[1] in held.memories)
        return replace(self.links, leaves=leaves, memories=memories)

    def diffs(self, twin: Twin, held: _Held, step: int) -> dict[object, int]:
        """The literal of a difference for each leaf, memory and item."""
        found: dict[object, int] = {}
        one, two = twin.moments(step)
        for kind in ("store", "loop"):
            for mine, other in self.links.of(kind).items():
                if mine not in held.leaves:
                    continue
                if kind == "store":
                    a, b = one.store[other], two.store[mine]
                else:
                    a, b = one.rounds[-1].levels[other], two.rounds[-1].levels[mine]
                found["leaf", mine] = twin.aig.xor(a, b)
        for before, after in self.links.memories:
            if after in held.memories:
                item = Item(name="", kind="memory", old=(before,), new=(after,))
                found["memory", after] = item.differs(twin, step)
        for item in held.items:
            found[item] = self.item_differs(item, twin, step)
        return found

    def item_differs(self, item: Item, twin: Twin, step: int) -> int:
        """That an item differs, where it is compared."""
        return twin.aig.and_([item.differs(twin, step), *self.while_holds(twin, step)])

    def while_holds(self, twin: Twin, step: int) -> list[int]:
        """The literals of the formula while which alone is compared, at a quiet moment."""
        nodes = self.when or (None, None)
        moments = twin.moments(step)
        return [
            moment.values[node]
            for moment, node in zip(moments, nodes, strict=True)
            if node is not None
        ]

    def drop(self, solver: Solver, diffs: dict[object, int], held: _Held) -> None:
        """Take nothing for equal any more that differs in the last model."""
        values = solver.values(sorted(set(diffs.values())))
        gone = [key for key, literal in diffs.items() if values[literal]]
        if not gone:
            raise AssertionError("a model of a difference shows one")
        for key in gone:
            del diffs[key]
            if isinstance(key, Item):
                held.items.remove(key)
            elif isinstance(key, tuple) and key[0] == "leaf":
                held.leaves.discard(key[1])
            elif isinstance(key, tuple):
                held.memories.discard(key[1])

    def solver(self, twin: Twin) -> Solver:
        """A solver that knows what must hold so far."""
        solver = Solver(twin.aig)
        for literal in twin.take():
            solver.require(literal)
        return solver

    def ask(self, solver: Solver, wanted: Sequence[int]) -> Answer:
        """Whether all of it can hold together, if that is known in time."""
        return solver.check(list(wanted), self.deadline.left)

    def sure(self, solver: Solver, wanted: Sequence[int], answered: Answered) -> bool:
        """Whether the second solver confirms it."""
        if refuted(solver, wanted, max(1.0, self.deadline.left)) == "unsat":
            return True
        answered.because = solver.reason
        return False

    # the difference ---------------------------------------------------------------------------

    def apart(self, left: list[Item], held: _Held | None, answered: Answered, most: int) -> None:
        """The shortest run in which one of the items differs; or that there is none, by induction
        over more steps."""
        twin, first = begin(*self.both)
        solver = self.solver(twin)
        for steps in range(most + 1 if left else 0):
            self.progress(f"do the boards behave alike? runs of {steps} steps")
            twin.reach(first + steps)
            literals = {item: self.item_differs(item, twin, first + steps) for item in left}
            for literal in twin.take():
                solver.require(literal)
            anything = twin.aig.or_(list(literals.values()))
            answer = self.ask(solver, [twin.initial, anything])
            if answer == "sat":
                self.found(twin, solver, literals, first + steps, steps, answered)
                return
            if answer == "unknown":
                answered.because = solver.reason
                return
            answered.searched = steps
            if held is not None and 2 <= steps <= DEEPEST and self.deeper(left, held, steps):
                for item in left:
                    answered.fates[item.name] = "same"
                answered.method = f"induction over {steps} steps"
                return
        if most == MAX_STEPS and answered.because != NEVER:
            answered.because = f"no proof, and no difference in runs of {MAX_STEPS} steps"

    def strolled(self, answered: Answered) -> None:
        """A run by chance that shows a difference: any, since the shortest was not found."""
        left = [item for item in self.items if answered.fates[item.name] == "undecided"]
        self.progress("do the boards behave alike? longer runs")
        walking = Deadline(min(STROLL_SECONDS, self.seconds))
        for seed in range(STROLLS):
            stands = stroll(
                self.old, self.new, self.links, self.start, left, self.often, self.beats,
                walking, seed,
            )  # fmt: skip
            if stands is None:
                return
            self.deadline = Deadline(STROLL_SECONDS)  # whatever is left: this is soon asked
            twin, first = begin(*self.both)
            last = len(stands) - 1
            twin.reach(last)
            solver = self.solver(twin)
            for moment, standing in zip(twin.old.moments, stands, strict=True):
                for name, bits in standing.items():
                    for leaf, bit in zip(self.old.controls[name], bits, strict=True):
                        solver.require(moment.controls[leaf] ^ 1 ^ bit)
            steps = [
                {item: self.item_differs(item, twin, step) for item in left}
                for step in range(first, last + 1)
            ]
            bad = [twin.aig.or_(list(literals.values())) for literals in steps]
            for literal in twin.take():
                solver.require(literal)
            if self.ask(solver, [twin.initial, twin.aig.or_(bad)]) == "sat":
                levels = solver.values(bad)
                step = next(step for step, literal in enumerate(bad) if levels[literal])
                self.found(twin, solver, steps[step], first + step, step, answered, shortest=False)
                return

    def deeper(self, left: list[Item], held: _Held, steps: int) -> bool:
        """Whether so many steps without a difference are never followed by one with one."""
        twin = Twin(self.old, self.new, self.shared(held), self.rounds.step)
        twin.reach(steps)
        solver = Solver(twin.aig)
        equal: list[int] = []
        for step in range(steps):
            known = [*held.items, *left]
            equal += [
                self.item_differs(item, twin, step) ^ 1 for item in known if item.kind != "memory"
            ]
        wanted = twin.aig.or_([self.item_differs(item, twin, steps) for item in left])
        for literal in twin.take():
            solver.require(literal)
        return refuted(solver, [*equal, wanted], min(10.0, self.deadline.left)) == "unsat"

    def found(
        self,
        twin: Twin,
        solver: Solver,
        literals: dict[Item, int],
        last: int,
        steps: int,
        answered: Answered,
        *,
        shortest: bool = True,
    ) -> None:
        """Take down the run."""
        bad = twin.aig.or_(list(literals.values()))
        fewest = simplest(twin.old, solver, bad, last, max(1.0, self.deadline.left))
        if fewest is None:
            answered.because = f"a run that tells them apart was lost: {solver.reason}"
            return
        values = solver.values(sorted(set(literals.values())))
        names = tuple(item.name for item, literal in literals.items() if values[literal])
        for name in names:
            answered.fates[name] = "differs"
        old, new = (
            extract(frames, solver, frames.moments[: last + 1]) for frames in (twin.old, twin.new)
        )
        answered.difference = Difference(
            items=names, steps=steps, old=old, new=new, fewest=fewest and shortest,
            shortest=shortest,
        )  # fmt: skip
