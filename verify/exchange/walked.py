"""A run that is walked with numbers, to hold a relation against: it must be one of the relation's.

The relation and the proofs come from one and-inverter graph. Were a step too much forbidden in it,
all questions would be answered as they should, and prove nothing of the board. The walk knows no
such graph: it is that of `specs.machine.walk`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import NotQuiet
from breadproof.specs.machine.watch import Watcher
from breadproof.verify.prove.cubes import bit_name

Controls = dict[str, tuple[int, ...]]


@dataclass(slots=True)
class Walk:
    """Steps that move one bit of a control each, as the assumptions allow; all bits in turn.

    ``turn`` is the bit with which it begins. ``moments`` are the levels of storage and controls at
    each quiet moment, by the names that the bits of the state have.
    """

    machine: Machine
    turn: int = 0
    moments: list[dict[str, int]] = field(default_factory=list)
    path: list[Controls] = field(default_factory=list)

    def go(self, steps: int) -> bool:
        """Walk so many steps; whether there was a way."""
        bits = [(n, k) for n, leaves in self.machine.controls.items() for k in range(len(leaves))]
        rest = {name: (0,) * len(leaves) for name, leaves in self.machine.controls.items()}
        watcher = self.first_of([rest, *(flipped(rest, *bit) for bit in bits)])
        for number in range(steps):
            if watcher is None:
                return False
            here = self.path[-1]
            turned = [*bits[self.turn :], *bits[: self.turn]]
            self.turn = (self.turn + 1) % len(bits) if bits else 0
            ways = [flipped(here, *bit) for bit in turned]
            # that nothing moves may be all that is allowed
            watcher = self.next_of(watcher, [*ways, here], number)
        return watcher is not None

    def first_of(self, ways: list[Controls]) -> Watcher | None:
        """Begin with the first of the ways in which the controls may stand."""
        return next((w for way in ways if (w := self.again([way])) is not None), None)

    def next_of(self, watcher: Watcher, ways: list[Controls], done: int) -> Watcher | None:
        """Go the first of the ways that is allowed. A step cannot be taken back, so after one that
        is not the walk is walked again."""
        for number, way in enumerate(ways):
            if number:
                again = self.again(self.path[: done + 1])
                assert again is not None, "it was walked before"
                watcher = again
            try:
                watcher.step(way)
            except NotQuiet:
                continue
            if self.allowed(watcher):
                self.note(watcher, way)
                return watcher
        return None

    def again(self, path: list[Controls]) -> Watcher | None:
        """A walk anew; None if it is not allowed."""
        sure = {self.machine.graph.leaf_of(leaf): level for leaf, level in self.machine.first}
        storage = {f"{leaf.name}[{leaf.bit}]": level for leaf, level in sure.items() if leaf}
        watcher = Watcher(self.machine, storage=storage, controls=dict(path[0]))
        self.moments, self.path = [], []
        for way in path:
            try:
                watcher.step(way) if self.path else watcher.power_up()
            except NotQuiet:
                return None
            if not self.allowed(watcher):
                return None
            self.note(watcher, way)
        return watcher

    def allowed(self, watcher: Watcher) -> bool:
        """Whether the controls stand as switches can, and no assumption is violated."""
        assumes = [f.formula.name for f in self.machine.logic.formulas if f.kind == "assume"]
        legal = watcher.rounds[-1].levels[self.machine.legal]
        return bool(legal) and not any(watcher.said[name] for name in assumes)

    def note(self, watcher: Watcher, way: Controls) -> None:
        """Keep what is known of a quiet moment."""
        self.path.append(way)
        levels = dict(watcher.storage)
        for name, leaves in self.machine.controls.items():
            for leaf, level in zip(leaves, way[name], strict=True):
                levels[bit_name(self.machine.graph, leaf)] = level
        self.moments.append(levels)


def flipped(controls: Controls, name: str, bit: int) -> Controls:
    """The controls with one bit changed."""
    bits = list(controls[name])
    bits[bit] = 1 - bits[bit]
    return {**controls, name: tuple(bits)}


def walks(machine: Machine, steps: int, count: int) -> Iterator[list[dict[str, int]]]:
    """The moments of some walks of so many steps, which begin with different bits."""
    bits = sum(len(leaves) for leaves in machine.controls.values())
    for number in range(count):
        walk = Walk(machine, turn=number * max(1, bits // count) % bits if bits else 0)
        if walk.go(steps):
            yield walk.moments
