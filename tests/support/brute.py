"""A board searched state by state: all quiet moments, all steps, all choices (design.md section 4).

The rounds are those of the second evaluator. Glitch, race and float are worked out here once more,
from section 4, on levels that are 0, 1 or "either" (X), straight from the part files' formulas.
Formulas go forward by `finite_traces.Progress`. The product's Machine is not used.

Small boards only: a few bits of storage and a few controls.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

from breadproof.specs.catalogue.part import Memory
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import Control, Netlist, Part
from tests.support.brute_checks import Checks
from tests.support.brute_looks import Bench, Look, Script, Seen
from tests.support.finite_traces import Progress, Read, State, Violated, boolean
from tests.support.second.words import Word, to_word
from tests.support.second_evaluator import Inputs, NeverQuiet

# the graph of quiet moments -----------------------------------------------------------------------

Key = tuple[object, ...]
Controls = dict[str, tuple[int, ...]]
Stored = dict[str, dict[str, Word]]
Words = dict[tuple[str, str], dict[int, int]]
Start = tuple[Controls, Stored, Words, dict[str, int]]
"""Controls, storage, memories, levels of floating nets by reader."""


@dataclass(slots=True)
class Snapshot:
    """A quiet moment, to go on from."""

    controls: dict[str, tuple[int, ...]]
    stored: dict[str, dict[str, Word]]
    memories: dict[tuple[str, str], dict[int, int]]
    sets: list[int]
    last: Inputs
    last_reads: dict[str, dict[str, int]]
    look: Look


@dataclass(slots=True)
class Step:
    """A step (or the first moment): where it leads and what it showed."""

    to: Key
    rounds: list[Seen]
    broken: frozenset[str]


@dataclass(slots=True)
class Space:
    """All quiet moments and steps of a board; ``never_quiet`` if some step does not end."""

    first: list[Step]
    steps: dict[Key, list[Step]]
    rounds: int
    rounds_at_power_up: int
    never_quiet: str


def positions(control: Control) -> Iterator[tuple[int, ...]]:
    for bits in product((0, 1), repeat=len(control.bits)):
        if not control.exclusive or sum(bits) <= 1:
            yield bits


class Explorer:
    """Finds the whole `Space` of a board. ``free`` names the readers that may read a floating net.

    ``memories`` are the contents to start from; all of them if it is None.
    """

    def __init__(self, netlist: Netlist, free: Sequence[str]) -> None:
        self.netlist = netlist
        self.bench = Bench(netlist)
        self.checks = Checks(self.bench)
        self.free = list(free)
        self.snapshots: dict[Key, Snapshot] = {}
        self.space = Space([], {}, 0, 0, "")

    def explore(self) -> Space:
        for controls, stored, memories, free in self.starts():
            prepare = partial(self.bench.set_out, controls, stored, memories)
            for rounds in self.branches(prepare, free):
                if rounds is None:
                    continue
                count = len(rounds)
                self.space.rounds_at_power_up = max(self.space.rounds_at_power_up, count)
                if count == 1:
                    self.space.first.append(
                        Step(self.keep(rounds), rounds, self.checks.broken(None, rounds))
                    )
        waiting = deque(self.snapshots)
        while waiting:
            key = waiting.popleft()
            if key in self.space.steps:
                continue
            self.space.steps[key] = self.follow(key)
            waiting.extend(step.to for step in self.space.steps[key])
        return self.space

    def starts(self) -> Iterator[Start]:
        """Everything that there may be when power comes on."""
        controls = [list(positions(control)) for control in self.netlist.controls]
        units = [
            (p.name, u.name, u.width, dict(p.type.powers_up).get(u.name))
            for p in self.bench.chips
            for u in p.type.storage
        ]
        held = [range(1 << width) if sure is None else (sure,) for _, _, width, sure in units]
        words = [
            ((part.name, memory.name), list(self.contents(part, memory)))
            for part in self.bench.chips
            for memory in part.type.memories
        ]
        names = [control.name for control in self.netlist.controls]
        for chosen in product(*controls):
            for stored in product(*held):
                for contents in product(*(options for _, options in words)):
                    for free in product((0, 1), repeat=len(self.free)):
                        store: dict[str, dict[str, Word]] = {p.name: {} for p in self.bench.chips}
                        for (part, unit, width, _), value in zip(units, stored, strict=True):
                            store[part][unit] = to_word(value, width)
                        yield (
                            dict(zip(names, chosen, strict=True)),
                            store,
                            {key: dict(c) for (key, _), c in zip(words, contents, strict=True)},
                            dict(zip(self.free, free, strict=True)),
                        )

    def contents(self, part: Part, memory: Memory) -> Iterator[dict[int, int]]:
        if memory.write is None:
            yield dict(enumerate(part.contents))
            return
        for words in product(range(1 << memory.bits), repeat=memory.words):
            yield dict(enumerate(words))

    def branches(
        self, prepare: Callable[[], None], free: Mapping[str, int]
    ) -> Iterator[list[Seen] | None]:
        """Runs for all choices of loops; None for one that does not end."""
        script: Script = []
        while True:
            prepare()
            self.bench.script, self.bench.widths = script, []
            try:
                yield self.bench.run(free)
            except NeverQuiet as error:
                self.space.never_quiet = str(error)
                yield None
            taken = [*script, *([0] * (len(self.bench.widths) - len(script)))]
            while taken and taken[-1] + 1 >= self.bench.widths[len(taken) - 1]:
                taken.pop()
            if not taken:
                return
            script = [*taken[:-1], taken[-1] + 1]

    def keep(self, rounds: list[Seen]) -> Key:
        bench = self.bench
        assert bench.last is not None
        key: Key = (
            tuple(sorted(bench.controls.items())),
            tuple(sorted((p, tuple(sorted(u.items()))) for p, u in bench.stored.items())),
            tuple(sorted((k, tuple(sorted(w.items()))) for k, w in bench.memories.items())),
            tuple(bench.sets),
            tuple(bench.last.free[name] for name in self.free),
        )
        if key not in self.snapshots:
            self.snapshots[key] = Snapshot(
                dict(bench.controls),
                {part: dict(units) for part, units in bench.stored.items()},
                {name: dict(words) for name, words in bench.memories.items()},
                list(bench.sets),
                bench.last,
                bench.last_reads,
                rounds[-1].look,
            )
        return key

    def restore(self, here: Snapshot, controls: Mapping[str, tuple[int, ...]]) -> None:
        bench = self.bench
        bench.set_out({**here.controls, **controls}, here.stored, here.memories)
        bench.sets, bench.last, bench.last_reads = list(here.sets), here.last, here.last_reads
        bench.look_before = here.look

    def follow(self, key: Key) -> list[Step]:
        here = self.snapshots[key]
        found: dict[object, Step] = {}
        for change in self.changes(key):
            for levels in product((0, 1), repeat=len(self.free)):
                free = dict(zip(self.free, levels, strict=True))
                for rounds in self.branches(partial(self.restore, here, change), free):
                    if rounds is None:
                        continue
                    self.space.rounds = max(self.space.rounds, len(rounds))
                    step = Step(self.keep(rounds), rounds, self.checks.broken(here.look, rounds))
                    shown = tuple(tuple(sorted(seen.nets.items())) for seen in rounds)
                    found[step.to, shown, step.broken] = step
        return list(found.values())

    def changes(self, key: Key) -> Iterator[Controls]:
        """What the world can do in a step: nothing, or change one control."""
        here = self.snapshots[key]
        yield {}
        for control in self.netlist.controls:
            for bits in positions(control):
                if bits != here.controls[control.name]:
                    yield {control.name: bits}


# formulas -----------------------------------------------------------------------------------------


class Formulas:
    """Searches the space for the shortest run that breaks a formula, or reaches a cover."""

    def __init__(self, space: Space, assumes: Sequence[s.Expr]) -> None:
        self.space = space
        self.assumes = [Progress(expr) for expr in assumes]

    def read(self, step: Step, first: bool) -> Read:
        """What names and our own functions are in a step; in the first only its quiet moment."""
        rounds = step.rounds[-1:] if first else step.rounds
        controls = dict(step.to[0])  # type: ignore[call-overload]  # the first entry of a key

        def one(expr: s.Expr) -> int:
            if isinstance(expr, s.Name):
                if expr.path in controls:
                    return int(controls[expr.path][0])
                return rounds[-1].nets[expr.path]
            assert isinstance(expr, s.Call)
            inner = expr.arguments[0]
            match expr.function:
                case "ever":
                    return int(any(self.in_round(inner, seen) for seen in rounds))
                case "writes":
                    assert isinstance(inner, s.Name)
                    return int(any(inner.path in seen.writes for seen in rounds))
                case "fights":
                    assert isinstance(inner, s.Name)
                    return int(inner.path in rounds[-1].look.fights)
                case "floats":
                    assert isinstance(inner, s.Name)
                    return int(inner.path in rounds[-1].look.floats)
            raise AssertionError(expr.function)

        return one

    def in_round(self, expr: s.Expr, seen: Seen) -> int:
        def one(name: s.Expr) -> int:
            assert isinstance(name, s.Name)
            return seen.nets[name.path]

        def past(call: s.Call) -> int:
            raise AssertionError("no past within a round")

        return boolean(expr, one, past)

    def shortest(self, formula: s.Expr, cover: bool) -> int | None:
        """Steps after the first to the violation (or to what is covered); None if there is none."""
        target = (
            s.Always(operand=formula, never=True, stretch=formula.stretch) if cover else formula
        )
        work = [Progress(target), *self.assumes]
        start = tuple(one.start() for one in work)
        level = [(step, start) for step in self.space.first]
        seen: set[tuple[Key, tuple[State, ...]]] = set()
        depth = 0
        while level:
            following: list[tuple[Step, tuple[State, ...]]] = []
            for step, states in level:
                read = self.read(step, depth == 0)
                try:
                    rest = tuple(
                        one.step(state, read)
                        for one, state in zip(work[1:], states[1:], strict=True)
                    )
                except Violated:
                    continue
                try:
                    mine = work[0].step(states[0], read)
                except Violated:
                    return depth
                state = (step.to, (mine, *rest))
                if state not in seen:
                    seen.add(state)
                    following += [(after, (mine, *rest)) for after in self.space.steps[step.to]]
            level, depth = following, depth + 1
        return None

    def shortest_broken(self, names: frozenset[str]) -> int | None:
        """Steps after the first to a step that breaks one of these checks."""
        work = self.assumes
        level = [(step, tuple(one.start() for one in work)) for step in self.space.first]
        seen: set[tuple[Key, tuple[State, ...]]] = set()
        depth = 0
        while level:
            following: list[tuple[Step, tuple[State, ...]]] = []
            for step, states in level:
                read = self.read(step, depth == 0)
                try:
                    rest = tuple(
                        one.step(state, read) for one, state in zip(work, states, strict=True)
                    )
                except Violated:
                    continue
                if names & step.broken:
                    return depth
                if (step.to, rest) not in seen:
                    seen.add((step.to, rest))
                    following += [(after, rest) for after in self.space.steps[step.to]]
            level, depth = following, depth + 1
        return None
