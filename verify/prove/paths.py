"""Runs without detours: what makes k-induction complete on a machine of finitely many states.

A shortest run to a violation never is in the same state twice, or the part between could be left
out. So the induction step may take its moments to be in different states (Sheeran, Singh and
Stålmarck 2000); without that, steps in which nothing happens would fill any depth. The demand is
made only where a model breaks it (Eén and Sörensson 2003).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import MonitorBit
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Solver


class Paths:
    """What makes runs of one chain runs without detours."""

    def __init__(self, frames: Frames) -> None:
        """Nothing is demanded yet."""
        self.frames = frames
        self.questions: dict[int, Question] = {}

    def question(self, node: int) -> Question:
        """What makes a run one without detours, where all is about ``node``."""
        if node not in self.questions:
            monitors = remembered(self.frames.machine, node)
            self.questions[node] = Question(self.frames, monitors)
        return self.questions[node]

    def pairs(self, node: int, steps: int) -> tuple[tuple[int, int], ...]:
        """The moments that were demanded to be in different states."""
        return tuple(sorted(pair for pair in self.questions[node].apart if pair[1] < steps))


def remembered(machine: Machine, node: int) -> tuple[MonitorBit, ...]:
    """The memories of formulas that decide about a node, or about what is assumed."""
    graph, logic = machine.graph, machine.logic
    by_leaf = {monitor.leaf: monitor for monitor in logic.monitors}
    stack = [node, *(one.bad for one in logic.formulas if one.kind == "assume")]
    seen: set[int] = set()
    while stack:
        here = stack.pop()
        if here in seen:
            continue
        seen.add(here)
        stack.extend(graph.operands(here))
        if here in by_leaf:
            stack.append(by_leaf[here].next)
    return tuple(monitor for monitor in logic.monitors if monitor.leaf in seen)


@dataclass(slots=True)
class Question:
    """One node's demands so far, by pair of moments."""

    frames: Frames
    monitors: tuple[MonitorBit, ...]
    apart: dict[tuple[int, int], int] = field(default_factory=dict)

    def demands(self, steps: int) -> list[int]:
        """The demands on the moments before step ``steps``, at which the violation is."""
        return [literal for (_, later), literal in self.apart.items() if later < steps]

    def refine(self, solver: Solver, steps: int) -> bool:
        """Demand that moments differ which the last model has alike; whether there are any."""
        states = [self.state(moment) for moment in self.frames.moments[:steps]]
        values = solver.values(sorted({literal for state in states for literal in state}))
        seen: dict[tuple[int, ...], int] = {}
        found = False
        for place, state in enumerate(states):
            earlier = seen.setdefault(tuple(values[literal] for literal in state), place)
            if earlier != place and (earlier, place) not in self.apart:
                self.apart[earlier, place] = self.differ(earlier, place)
                found = True
        return found

    def state(self, moment: Moment) -> list[int]:
        """All that later steps depend on, but for memories: see `differ`."""
        machine, levels = self.frames.machine, moment.rounds[-1].levels
        held = [levels[leaf] for loop in machine.loops if loop.holds for leaf in loop.leaves]
        return [
            *(moment.store[bit.leaf] for bit in machine.stores),
            *moment.controls.values(),
            *(moment.free[leaf] for leaf in machine.free.values()),
            *held,
            *(moment.values[monitor.next] for monitor in self.monitors),
        ]

    def differ(self, earlier: int, later: int) -> int:
        """Whether two moments are in different states; a memory that was written counts as one."""
        aig, moments = self.frames.aig, self.frames.moments
        a, b = self.state(moments[earlier]), self.state(moments[later])
        written = [
            write.when
            for number, log in enumerate(self.frames.memories)
            for write in log.writes[moments[earlier].until[number] : moments[later].until[number]]
        ]
        return aig.or_([aig.equal(a, b) ^ 1, *written])
