"""What starts a pulse: the fewest changes of controls and storage bits that are enough for it.

A glitch check fails in one round of a run. Of all that changes in that round, some may have nothing
to do with it. So the round is settled again with only some of the changes, all else as it was
before: whatever pulses then is started by these. If one change is not enough, it takes several.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from breadproof.specs.machine.graph import LeafKind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import Numbers, Walker
from breadproof.verify.prove.checks import Check, RoundChecks, count_roots, standing_checks

MAX_PAIRED = 16
"""Of more changes than this not every pair is tried; what is told then may not be the fewest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What starts a pulse, and the controls that were changed in the step.

    ``controls`` and ``stores`` (``U3.R[2]``) are enough for it together; none of them can be left
    out.
    """

    controls: tuple[str, ...]
    stores: tuple[str, ...]
    moved: tuple[str, ...]


Source = tuple[LeafKind, str, int]
"""A control (all its bits) or a storage bit."""


def started_by(machine: Machine, trace: Trace, name: str, number: int) -> Start | None:
    """What starts the pulse for which the check ``name`` fails in round ``number`` of the last
    step of a run; None if the check does not fail there."""
    check = next(one for one in standing_checks(machine) if one.name == name)
    work = _Again(machine, check, trace)
    work.walk_to(number)
    moved = work.moved()
    if not work.breaks(moved):
        return None
    fewest = _fewest(work, moved)
    last, before = trace.steps[-1].controls, trace.steps[-2].controls
    return Start(
        controls=tuple(name for kind, name, _ in fewest if kind == "control"),
        stores=tuple(f"{name}[{bit}]" for kind, name, bit in fewest if kind == "store"),
        moved=tuple(name for name in last if last[name] != before[name]),
    )


def _fewest(work: _Again, moved: Sequence[Source]) -> Sequence[Source]:
    for some in _few(moved):
        if work.breaks(some):
            return some
    left = list(moved)
    for one in moved:
        fewer = [other for other in left if other != one]
        if work.breaks(fewer):
            left = fewer
    return left


def _few(moved: Sequence[Source]) -> Iterator[Sequence[Source]]:
    """All sets of one, of two, of three changes; of many changes those of one."""
    for size in (1, 2, 3) if len(moved) <= MAX_PAIRED else (1,):
        yield from combinations(moved, size)


class _Again(Walker):
    """A walker that stops before a round and settles it in several ways."""

    def __init__(self, machine: Machine, check: Check, trace: Trace) -> None:
        Walker.__init__(self, machine)
        self.trace = trace
        self.check = check
        self.place = 0
        self.free = lambda reader: self.trace.steps[self.place].free.get(reader, 0)
        self.choice = self.chosen
        self.storage.update(trace.storage)
        self.controls.update(trace.steps[0].controls)
        for unit, words in zip(machine.memories, self.memories, strict=True):
            for address, word in trace.words.get(unit.label, {}).items():
                words[address] = word
        conditions = [machine.strobes[n].condition for n in check.strobes]
        pins = [machine.pins[check.pin].level] if check.pin in machine.pins else []
        self.roots = [*conditions, *pins]
        self.settler = Settler(machine, Numbers(), self.roots, [*conditions, *count_roots(machine)])
        self.checks = RoundChecks(machine, self.settler, (check,))

    def chosen(self, loop: str, cut: int) -> int:
        rounds = self.trace.steps[self.place].rounds
        if self.round_number >= len(rounds):
            return 0
        return rounds[self.round_number].choices.get(f"{loop}.{cut}", 0)

    def walk_to(self, number: int) -> None:
        """Stop before round ``number`` of the last step."""
        *earlier, last = self.trace.steps
        for place, step in enumerate(earlier):
            self.place = place
            if place:
                self.step(step.controls, len(step.rounds))
            else:
                self.power_up(len(step.rounds))
        self.place = len(earlier)
        if number:
            self.step(last.controls, number)
            return
        self.controls.update(last.controls)
        self.free_now = {name: self.free(name) for name in self.machine.free}
        if self.before is not None:
            self.before = self.settler.at_rest(self.before)

    def old(self) -> Round[int]:
        """The round before."""
        if self.before is None:
            raise AssertionError("no pulse before the first step")
        return self.before

    def source(self, node: int) -> Source | None:
        """The control or storage bit that a leaf belongs to."""
        leaf = self.machine.graph.leaf_of(node)
        if leaf is None or leaf.kind not in ("control", "store"):
            return None
        return leaf.kind, leaf.name, leaf.bit if leaf.kind == "store" else 0

    def moved(self) -> list[Source]:
        """What changes and has a way to the pin."""
        found: dict[Source, None] = {}
        for node in sorted(self.settler.swing_cone(self.roots)):
            source = self.source(node)
            if source is not None and self._leaf(node) != self.old().levels[node]:
                found[source] = None
        return list(found)

    def breaks(self, changes: Sequence[Source]) -> bool:
        """Whether the check fails in a round in which only these change."""
        old = self.old()

        def leaf(node: int) -> int:
            source = self.source(node)
            stays = source is not None and source not in changes
            return old.levels[node] if stays else self._leaf(node)

        now = self.settler.settle(leaf, self._read, old)
        pulses = [self.checks.pulses(n.condition, now) for n in self.machine.strobes]
        none = [0] * len(pulses)
        return bool(self.checks.one(self.check, pulses, none, now))
