"""Two runs of one board side by side, alike in all but what a question is about.

Both start at a quiet moment and go on step by step, unless `Pair.loose` holds with the same levels
where nets float or fight and the same choices in loops. Only levels are compared, no checks made.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.assumptions import allowed, of_controls
from breadproof.verify.prove.frames import Frames


@dataclass(slots=True)
class Run:
    """One of the two: where it stands, and what it wrote in the last step."""

    frames: Frames
    controls: dict[int, int] = field(default_factory=dict)
    store: dict[int, int] = field(default_factory=dict)
    loops: dict[int, int] = field(default_factory=dict)
    monitors: dict[int, int] = field(default_factory=dict)
    last: Round[int] | None = None
    written: list[tuple[int, int, tuple[int, ...]]] = field(default_factory=list)
    """(memory, whether, address and word) of each round of the last step."""

    @property
    def now(self) -> Round[int]:
        """The quiet moment at which it stands."""
        if self.last is None:
            raise AssertionError("a run that was not begun")
        return self.last


class Pair:
    """Two runs over one and-inverter graph. ``constraints`` are literals that must hold."""

    def __init__(self, machine: Machine, rounds: int) -> None:
        """Nothing is built before `begin`."""
        self.machine = machine
        self.rounds = rounds
        one, two = Frames(machine, checks=False), Frames(machine, checks=False)
        self.aig: Aig = one.aig
        self.initial = one.initial
        self.loose = self.aig.input()
        """Lets what floats, fights or is chosen differ between the two."""
        two.aig = self.aig
        for frames in (one, two):
            frames.settler = Settler(machine, self.aig, [])
        for log in two.memories:
            log.aig = self.aig
        self.runs = (Run(one), Run(two))
        self.constraints: list[int] = []

    def share_memory(self, number: int) -> None:
        """Both runs begin with the same content of a memory."""
        one, two = (run.frames.memories[number] for run in self.runs)
        two.first_reads = one.first_reads

    def inputs(self, kind: str) -> dict[int, int]:
        """A fresh variable for each leaf of a kind."""
        return self.runs[0].frames.inputs(kind)

    def take(self) -> list[int]:
        """What must hold and was not taken yet."""
        for run in self.runs:
            self.constraints += run.frames.take_constraints()
        taken, self.constraints = self.constraints, []
        return taken

    def needed_monitors(self) -> list[int]:
        """Numbers of the formulas' memories that the assumptions look at."""
        machine = self.machine
        by_leaf = {m.leaf: k for k, m in enumerate(machine.logic.monitors)}
        stack = [f.bad for f in machine.logic.formulas if f.kind == "assume"]
        seen: set[int] = set()
        while stack:
            node = stack.pop()
            if node not in seen:
                seen.add(node)
                stack.extend(machine.graph.operands(node))
                if node in by_leaf:
                    stack.append(machine.logic.monitors[by_leaf[node]].next)
        return sorted(by_leaf[node] for node in seen if node in by_leaf)

    def begin(
        self,
        controls: Sequence[Mapping[int, int]],
        stores: Sequence[Mapping[int, int]],
        loops: Sequence[Mapping[int, int]],
    ) -> None:
        """The first moments: quiet, and under `initial` those of runs from power-up."""
        aig, free = self.aig, self.inputs("free")
        both = (free, self.loosened(free))
        needed = self.needed_monitors()
        wanted = zip(self.runs, controls, stores, loops, both, strict=True)
        for run, control, store, loop, levels in wanted:
            run.controls, run.store, run.loops = dict(control), dict(store), dict(loop)
            for number in needed:
                monitor = self.machine.logic.monitors[number]
                level = run.monitors[monitor.leaf] = aig.input()
                set_up = level if monitor.initial else level ^ 1
                self.constraints.append(aig.or_([self.initial ^ 1, set_up]))
            for leaf, sure in self.machine.first:
                level = run.store[leaf] if sure else run.store[leaf] ^ 1
                self.constraints.append(aig.or_([self.initial ^ 1, level]))
            self._quiet(run, levels)

    def loosened(self, levels: Mapping[int, int]) -> dict[int, int]:
        """Levels of the second run that differ from those of the first only under `loose`."""
        aig = self.aig
        return {leaf: aig.mux(self.loose, aig.input(), x) for leaf, x in levels.items()}

    def _quiet(self, run: Run, free: dict[int, int]) -> None:
        frames, aig = run.frames, self.aig
        until = [len(log.writes) for log in frames.memories]
        leaves = {**run.controls, **free, **run.store}
        now = run.last = frames.settle(leaves, until, None, run.loops)
        for loop in self.machine.loops:
            if loop.holds:
                for leaf, function in zip(loop.leaves, loop.functions, strict=True):
                    same = aig.xor(run.loops[leaf], now.levels[function]) ^ 1
                    self.constraints.append(same)
        self.constraints += [frames.still(run.store, now), self._allowed(run)]

    def _allowed(self, run: Run) -> int:
        return allowed(run.frames.settler, {**run.controls, **run.monitors})

    def step(self, controls: Sequence[Mapping[int, int]]) -> None:
        """One more step of both."""
        free = self.inputs("free")
        both = (free, self.loosened(free))
        choices: list[dict[int, int]] = [{} for _ in range(self.rounds)]
        for run, control, levels in zip(self.runs, controls, both, strict=True):
            frames = run.frames
            monitors = [m for m in self.machine.logic.monitors if m.leaf in run.monitors]
            leaves = {**run.controls, **run.monitors}
            nexts = of_controls(frames.settler, [m.next for m in monitors], leaves)
            frames.one_at_a_time(run.controls, dict(control))
            run.controls = dict(control)
            run.monitors = {m.leaf: n for m, n in zip(monitors, nexts, strict=True)}
            self.constraints.append(self._allowed(run))
            run.written = []
            before = frames.settler.at_rest(run.now)
            for chosen in choices:
                until = [len(log.writes) for log in frames.memories]
                leaves = {**run.controls, **levels, **run.store}
                before = frames.settle(leaves, until, before, None, chosen)
                run.store, _ = frames.advance(run.store, before)
                run.written += self._writes(before)
            run.last = before
            choices = [self.loosened(chosen) for chosen in choices]
            run.loops = {n: before.levels[n] for x in self.machine.loops for n in x.leaves}

    def _writes(self, now: Round[int]) -> list[tuple[int, int, tuple[int, ...]]]:
        return [
            (
                number,
                now.levels[unit.write],
                tuple(now.levels[node] for node in (*unit.address, *unit.data)),
            )
            for number, unit in enumerate(self.machine.memories)
        ]

    def writes_differ(self, memories: frozenset[int]) -> int:
        """Whether the last step wrote differently into one of the memories."""
        aig, found = self.aig, []
        one, two = self.runs
        for (number, when, word), (_, other, another) in zip(one.written, two.written, strict=True):
            if number in memories:
                differ = aig.and2(when, aig.equal(word, another) ^ 1)
                found += [aig.xor(when, other), differ]
        return aig.or_(found)

    def levels_differ(self, nodes: Sequence[int]) -> int:
        """Whether one of the nodes differs at the quiet moments at which the runs stand."""
        one, two = (run.now.levels for run in self.runs)
        return self.aig.or_([self.aig.xor(one[node], two[node]) for node in nodes])
