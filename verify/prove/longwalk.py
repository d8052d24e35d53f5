"""Long runs with numbers: one control moves again and again, as a clock does.

The last stage of a divider changes after thousands of steps, when a reset has cleared it: no chain
of questions is that long, and a board is walked that far in a second. A walk shows what happens in
one run. What does not happen in it is not known from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import TraceRound
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.verify.prove.dead import Happening
from breadproof.verify.prove.solver import Deadline

MOVES = tuple(1 << k for k in range(6, 15))
"""How often each control moves before the next one does, round after round: once round a divider of
twelve stages or thirteen, in all."""
SECONDS = 5.0
"""Time for all walks of a board at most."""
CLOCKS = ("oscillator", "moment", "in", "button")
"""What may move for ever."""


class _Illegal(Exception):
    """The walk is no run of the board."""


@dataclass(slots=True)
class _Watching(Walker):
    """Notes what happens, once the board has been quiet: see `Happening`."""

    left: dict[str, Happening] = field(default_factory=dict)
    seen: dict[str, int] = field(default_factory=dict)
    steps: int = 0
    now: set[str] = field(default_factory=set)
    """What happens in a step that is not over yet."""

    def record(self, now: Round[int]) -> TraceRound:
        """Look at a round."""
        for name, one in self.left.items():
            changes = (now.levels[b.leaf] != now.levels[b.next] for b in one.bits)
            if any(now.levels[node] for node in one.nodes) or any(changes):
                self.now.add(name)
        return Walker.record(self, now)

    def begin(self) -> None:
        """Up to the first quiet moment, if that can begin a run.

        Raises:
            _Illegal: it cannot.
            NotQuiet: there is none.
        """
        graph = self.machine.graph
        sure: dict[str, int] = {}
        for node, level in self.machine.first:
            leaf = graph.leaf_of(node)
            if leaf is None:
                raise _Illegal
            sure[f"{leaf.name}[{leaf.bit}]"] = int(level)
        self.storage |= sure
        self.power_up()
        if any(self.storage[label] != level for label, level in sure.items()):
            raise _Illegal
        self.now.clear()

    def go_on(self, control: str) -> None:
        """One step: a control of one bit moves.

        Raises:
            _Illegal: no run goes on so.
            NotQuiet: the step does not end.
        """
        self.steps += 1
        self.step({control: (1 - self.controls[control][0],)})
        if self.before is None or not self.before.levels[self.machine.legal]:
            raise _Illegal
        for name in sorted(self.now):
            self.seen[name] = self.steps
            del self.left[name]
        self.now.clear()


def seen_on_a_walk(machine: Machine, items: Sequence[Happening], seconds: float) -> dict[str, int]:
    """What happens of these in some run, with the step in which it does.

    Nothing is said where the board makes assumptions: the walk does not know of them.
    """
    found: dict[str, int] = {}
    if any(formula.kind == "assume" for formula in machine.netlist.formulas):
        return found
    deadline = Deadline(min(seconds, SECONDS))
    for level in (0, 1):
        left = {one.name: one for one in items if one.name not in found}
        if left:
            walker = _Watching(machine, left=left)
            for control in machine.netlist.controls:
                if control.kind == "in":
                    walker.controls[control.name] = (level,) * len(control.bits)
            with suppress(NotQuiet, _Illegal):
                _walk(walker, deadline)
            found |= walker.seen
    return found


def _walk(walker: _Watching, deadline: Deadline) -> None:
    machine = walker.machine
    clocks = [
        control.name
        for kind in CLOCKS
        for control in machine.netlist.controls
        if control.kind == kind and len(machine.controls[control.name]) == 1
        if not finger_of(control.part or "")
    ]
    moments = [one.name for one in machine.netlist.controls if one.kind == "moment"]
    walker.begin()
    for name in clocks:
        if name in moments:
            walker.go_on(name)  # a reset is let go
    for name in (name for many in MOVES for name in clocks for _ in range(many)):
        if not walker.left or deadline.left <= 0:
            return
        walker.go_on(name)
