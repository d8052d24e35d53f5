"""The state of a board at a quiet moment as named bits; clauses over them, and one step.

The state is all that later steps depend on (see `paths`): storage, controls, levels of floating
pins, loops that hold, and what the formulas in question remember. A step goes from any quiet
moment to the next one, so whatever is kept by it is kept in every run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import MonitorBit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.tracked import VIOLATED, Tracked, Tracker
from breadproof.verify.prove.watched import watch

WORDS = {"control": "control", "free": "floating", "loop": "loop", "monitor": "remembered"}


def bit_name(graph: Graph, leaf: int) -> str:
    """The name of a bit of the state, by its leaf."""
    found = graph.leaf_of(leaf)
    if found is None:
        raise AssertionError("a bit of the state is a leaf")
    if found.kind == "store":
        return f"{found.name}[{found.bit}]"
    return f"{WORDS[found.kind]} {found.name}[{found.bit}]"


def naming(machine: Machine) -> Callable[[int], str]:
    """`bit_name` for one board."""
    return lambda leaf: bit_name(machine.graph, leaf)


def state(machine: Machine, monitors: Sequence[MonitorBit], moment: Moment) -> dict[str, int]:
    """The literal of each bit of the state that a moment hands on to the next step, by name."""
    graph, levels = machine.graph, moment.rounds[-1].levels
    bits = {bit.leaf: moment.store[bit.leaf] for bit in machine.stores}
    bits |= moment.controls
    bits |= {leaf: moment.free[leaf] for leaf in machine.free.values()}
    bits |= {leaf: levels[leaf] for loop in machine.loops if loop.holds for leaf in loop.leaves}
    bits |= {monitor.leaf: moment.values[monitor.next] for monitor in monitors}
    return {bit_name(graph, leaf): literal for leaf, literal in bits.items()}


def clause_literal(aig: Aig, clause: Clause, bits: dict[str, int]) -> int:
    """A clause over the literals of one moment."""
    return aig.or_([bits[name] if level else bits[name] ^ 1 for name, level in clause])


def words_matter(machine: Machine, node: int) -> bool:
    """Whether a writable memory's words may decide about a node, or about what is assumed.

    ``node`` is FALSE for a standing check: its cone is not known here, so any memory counts.
    """
    writable = {n for n, unit in enumerate(machine.memories) if unit.contents is None}
    if not writable or node == Graph.FALSE:
        return bool(writable)
    assumed = [one.bad for one in machine.logic.formulas if one.kind == "assume"]
    return bool(closure(machine, [node, *assumed])[1])


@dataclass(frozen=True, slots=True)
class Bit:
    """A bit of the state: its literals before and after the step."""

    name: str
    now: int
    then: int


def nothing(moment: Moment) -> int:
    """What violates a property that nothing violates."""
    return Aig.false


class Step:
    """Any quiet moment of a board and one step from it, built anew; ``words`` are tracked in it.

    ``here`` must hold of the moment alone, ``there`` of the step (a state in which it cannot has no
    such step), ``held`` of what memories held at the moment and ``read`` of that and the step
    (there always is such a content). ``inputs`` are the literals that decide, with the state and
    ``contents``, what the step does. A violation after the step counts only if ``counts`` holds.
    """

    def __init__(
        self,
        machine: Machine,
        rounds: int,
        monitors: Sequence[MonitorBit],
        words: Sequence[Tracked] = (),
        bad: Callable[[Moment], int] = nothing,
        *,
        checks: bool = True,
    ) -> None:
        """Build it; ``rounds`` is the proved number that a step takes.

        ``bad`` is what violates a property; it matters to tracked words alone. ``checks`` as in
        `Frames`.
        """
        self.frames = frames = Frames(machine, checks=checks)
        self.aig = frames.aig
        tracker = Tracker(frames, words)
        tracker.begin()
        first = frames.first()
        if words:
            self._begin(tracker, bad(first))
        self.here, self.held = self._taken()
        second = frames.step(rounds)
        self.there, self.read = self._taken()
        self.first, self.second = first, second
        self.now = state(machine, monitors, first)
        self.then = state(machine, monitors, second)
        chosen = [level for choices in second.choices for level in choices.values()]
        every = [*second.controls.values(), *second.free.values(), *chosen]
        self.inputs = list(dict.fromkeys(every))
        self.parts: dict[str, tuple[str, ...]] = {}
        self.counts = Aig.true
        if words:
            self._track(machine, tracker, bad(second))
        self.contents = self._contents()

    def _taken(self) -> tuple[list[int], list[int]]:
        """What must hold by now: of the board, of its memories."""
        board = list(self.frames.constraints)
        return board, self.frames.take_constraints()[len(board) :]

    def _begin(self, tracker: Tracker, bad: int) -> None:
        """How tracked words begin. A violation now is one that was."""
        aig, frames = self.aig, self.frames
        self.violated = aig.input()
        sure = [*tracker.first_conditions(), aig.or_([self.violated ^ 1, bad])]
        frames.constraints += [aig.or_([frames.initial ^ 1, literal]) for literal in sure]
        frames.constraints.append(aig.or_([bad ^ 1, self.violated]))

    def _track(self, machine: Machine, tracker: Tracker, bad: int) -> None:
        """Add the tracked words to the state."""
        literals = tracker.end(self.first, self.second)
        found = watch(machine, self.aig, literals, self.now, self.then, naming(machine))
        self.parts = found.parts
        self.now |= {name: now for name, (now, _) in found.bits.items()}
        self.then |= {name: then for name, (_, then) in found.bits.items()}
        self.now[VIOLATED], self.then[VIOLATED] = self.violated, self.aig.or_([self.violated, bad])
        match = (word.match_then for word in literals)
        self.counts = self.aig.and_([self.violated ^ 1, *match])

    def _contents(self) -> list[int]:
        """What memories held where they were read, but for the state's part of it."""
        known = {literal >> 1 for literal in self.now.values()}
        return [
            literal
            for log in self.frames.memories
            for word in log.first_reads.values()
            for literal in word
            if literal >> 1 not in known
        ]

    def bits(self) -> list[Bit]:
        """Bits that may differ from state to state; of those always alike or opposite, one."""
        found: dict[int, Bit] = {}
        for name, now in self.now.items():
            if now > Aig.true:
                found.setdefault(now >> 1, Bit(name, now, self.then[name]))
        return list(found.values())

    def has(self, clauses: Iterable[Clause]) -> bool:
        """Whether all that the clauses name belongs to the state."""
        return all(name in self.now for clause in clauses for name, _ in clause)

    def holds(self, clauses: Iterable[Clause], bits: dict[str, int]) -> list[int]:
        """The clauses' literals at one of the two moments."""
        return [clause_literal(self.aig, clause, bits) for clause in clauses]
