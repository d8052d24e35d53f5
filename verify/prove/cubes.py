"""The state of a board at a quiet moment as named bits; clauses over them, and one step.

The state is all that later steps depend on (see `paths`): storage, controls, levels of floating
pins, loops that hold, and what the formulas in question remember. A step goes from any quiet
moment to the next one, so whatever is kept by it is kept in every run.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import MonitorBit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.proof import Clause

WORDS = {"control": "control", "free": "floating", "loop": "loop", "monitor": "remembered"}


def bit_name(graph: Graph, leaf: int) -> str:
    """The name of a bit of the state, by its leaf."""
    found = graph.leaf_of(leaf)
    if found is None:
        raise AssertionError("a bit of the state is a leaf")
    if found.kind == "store":
        return f"{found.name}[{found.bit}]"
    return f"{WORDS[found.kind]} {found.name}[{found.bit}]"


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


class Step:
    """Any quiet moment of a board and one step from it, built anew.

    ``here`` must hold of the moment alone, ``words`` of what memories held (there always is such
    a content), ``there`` of the step (a state in which it cannot has no such step). ``inputs`` are
    the literals that decide, with the state, what the step does.
    """

    def __init__(self, machine: Machine, rounds: int, monitors: Sequence[MonitorBit]) -> None:
        """Build it; ``rounds`` is the proved number that a step takes."""
        self.frames = frames = Frames(machine)
        self.aig = frames.aig
        first = frames.first()
        self.here = frames.take_constraints()
        second = frames.step(rounds)
        self.there = list(frames.constraints)
        self.words = frames.take_constraints()[len(self.there) :]
        self.first, self.second = first, second
        self.now = state(machine, monitors, first)
        self.then = state(machine, monitors, second)
        chosen = [level for choices in second.choices for level in choices.values()]
        every = [*second.controls.values(), *second.free.values(), *chosen]
        self.inputs = list(dict.fromkeys(every))

    def bits(self) -> list[Bit]:
        """Bits that may differ from state to state; of those always alike or opposite, one."""
        found: dict[int, Bit] = {}
        for name, now in self.now.items():
            if now > Aig.true:
                found.setdefault(now >> 1, Bit(name, now, self.then[name]))
        return list(found.values())

    def holds(self, clauses: Iterable[Clause], bits: dict[str, int]) -> list[int]:
        """The clauses' literals at one of the two moments."""
        return [clause_literal(self.aig, clause, bits) for clause in clauses]
