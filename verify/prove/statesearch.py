"""All states that count for a strong formula, one by one: whether it can wait for ever.

The part of the machine that decides (`influence`) is run on many states at once, each gate one
operation on a whole number with a bit a state. The runs found are at least those of the board, so
that "no" is a proof; a run that is found here is looked for again in the whole board.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, product
from typing import Literal

import networkx as nx

from breadproof.specs.machine.influence import Influence, influence
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.lasso import fairness, state
from breadproof.verify.prove.proof import Ranking
from breadproof.verify.prove.ranking import ranked, state_names
from breadproof.verify.prove.solver import Deadline

MAX_STARTS = 1 << 17
MAX_WAYS = 1 << 12
"""So many choices there may be in a step."""
MAX_STEPS = 1 << 21
"""So many steps are looked at."""
CHUNK = 1 << 14


class TooLarge(Exception):
    """There are too many states or choices, or no time; the text says which."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """``steps`` is the length of the shortest run that comes back to a state and violates.

    ``ranking`` goes with "none": what shows that there is none, unless the states are too many.
    """

    verdict: Literal["none", "lasso"]
    states: int
    steps: int = 0
    ranking: Ranking | None = None


def search_states(
    machine: Machine,
    rounds: int,
    formula: CompiledFormula,
    assumes: Sequence[CompiledFormula],
    deadline: Deadline,
) -> Searched:
    """Search them all, under some of the assumptions.

    Raises:
        TooLarge: they cannot be searched within the limits.
    """
    part = influence(machine, [formula, *assumes])
    if part.memories:
        raise TooLarge(f"it rests on memory {machine.memories[part.memories[0]].label}")
    space = _Space(machine, rounds, formula, assumes, part, deadline)
    space.explore()
    best = None
    for place in range(len(formula.awaited)):
        best = _shorter(best, _shortest_lasso(space, place, len(formula.awaited)))
    states = len(space.following)
    if best is None:
        names = state_names(machine, part)
        ranking = ranked(names, space.following, len(formula.awaited))
        return Searched(verdict="none", states=states, ranking=ranking)
    return Searched(verdict="lasso", states=states, steps=best)


def _shorter(a: int | None, b: int | None) -> int | None:
    return b if a is None or (b is not None and b < a) else a


# the part as columns of bits ----------------------------------------------------------------------


class _Compiled:
    """Literals of an and-inverter graph as a function of some of its variables, on many rows."""

    def __init__(
        self, aig: Aig, inputs: Sequence[int], outputs: Sequence[int], idle: bool = False
    ) -> None:
        """With ``idle`` what is no input does not matter, and is 0."""
        self.inputs = [literal >> 1 for literal in inputs]
        self.outputs = outputs
        known = set(self.inputs)
        self.gates: list[tuple[int, int, int]] = []
        for variable in aig.cone(outputs, known):
            gate = aig.fanin[variable]
            if gate is None and not idle:
                raise AssertionError("the part of the state that counts is not closed")
            self.gates.append((variable, *(gate or (0, 0))))

    def run(self, rows: Sequence[str]) -> list[str]:
        """Rows of inputs as text of 0 and 1, to rows of outputs."""
        full = (1 << len(rows)) - 1
        columns = {0: 0}
        for variable, column in zip(self.inputs, zip(*rows, strict=True), strict=True):
            columns[variable] = int("".join(column), 2)
        for variable, a, b in self.gates:
            left = columns[a >> 1] ^ (full if a & 1 else 0)
            right = columns[b >> 1] ^ (full if b & 1 else 0)
            columns[variable] = left & right
        found = [columns[x >> 1] ^ (full if x & 1 else 0) for x in self.outputs]
        texts = [bin(column)[2:].zfill(len(rows)) for column in found]
        return ["".join(row) for row in zip(*texts, strict=True)]


# exploring ----------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Space:
    """``nodes`` are (state, labels): a label a strong operator (it still waits) and one a fairness
    assumption (it still waits). ``following`` gives the nodes after each state."""

    machine: Machine
    rounds: int
    formula: CompiledFormula
    assumes: Sequence[CompiledFormula]
    part: Influence
    deadline: Deadline
    distance: dict[str, int] = field(default_factory=dict)
    following: dict[str, dict[tuple[str, str], None]] = field(default_factory=dict)

    def labels(self, moment: Moment) -> list[int]:
        nodes = [one.node for one in self.formula.awaited]
        return [moment.values[node] for node in [*nodes, *fairness(self.assumes)]]

    def allowed(self, frames: Frames, moment: Moment) -> int:
        levels = moment.rounds[-1].levels
        legal = [levels[node] for node in self.part.legal]
        return frames.aig.and_([*legal, *(moment.values[one.bad] ^ 1 for one in self.assumes)])

    def explore(self) -> None:
        waiting = deque(self.starts())
        self.distance = dict.fromkeys(waiting, 0)
        step = _Stepper(self)
        count = 0
        while waiting:
            here = list(islice(waiting, max(1, CHUNK // len(step.ways))))
            for one in here:
                waiting.popleft()
                self.following[one] = {}
            count += len(here) * len(step.ways)
            if count > MAX_STEPS:
                raise TooLarge(f"more than {MAX_STEPS} steps of the states that count for it")
            if self.deadline.left <= 0:
                raise TooLarge("out of time")
            for before, after, labels in step.run(here):
                self.following[before][after, labels] = None
                if after not in self.distance:
                    self.distance[after] = self.distance[before] + 1
                    waiting.append(after)

    def starts(self) -> list[str]:
        """The states of all first quiet moments."""
        frames = Frames(self.machine, checks=False)
        moment = frames.first()
        aig, part, now = frames.aig, self.part, moment.rounds[0]
        conditions = [frames.initial, self.allowed(frames, moment)]
        for bit in self.machine.stores:
            if bit.leaf in part.leaves:
                conditions.append(aig.xor(moment.store[bit.leaf], now.levels[bit.next]) ^ 1)
        inputs = [lit for leaf, lit in moment.store.items() if leaf in part.leaves]
        inputs += [lit for leaf, lit in moment.controls.items() if leaf in part.leaves]
        inputs += [moment.free[leaf] for leaf in self.machine.free.values() if leaf in part.leaves]
        for loop in self.machine.loops:
            for leaf, function in zip(loop.leaves, loop.functions, strict=True):
                if loop.holds and leaf in part.leaves:
                    inputs.append(moment.loops[leaf])
                    conditions.append(aig.xor(moment.loops[leaf], now.levels[function]) ^ 1)
        for leaf, sure in self.machine.first:
            if leaf in part.leaves:
                conditions.append(moment.store[leaf] ^ 1 ^ sure)
        if 1 << len(inputs) > MAX_STARTS:
            raise TooLarge(f"{len(inputs)} bits of storage and controls count for it")
        known = [frames.initial]
        first = [m for m in self.machine.logic.monitors if m.leaf in part.leaves]
        known += [moment.monitors[m.leaf] for m in first]
        fixed = "1" + "".join(str(int(m.initial)) for m in first)
        outputs = [aig.and_(conditions), *state(self.machine, part, moment)]
        # What was gathered before the first step is cut off by `initial`, so it does not matter.
        work = _Compiled(aig, [*known, *inputs], outputs, idle=True)
        found: dict[str, None] = {}
        rows = (fixed + "".join(bits) for bits in product("01", repeat=len(inputs)))
        while chunk := list(islice(rows, CHUNK)):
            found |= {out[1:]: None for out in work.run(chunk) if out[0] == "1"}
        return list(found)


class _Stepper:
    """One step from any state."""

    def __init__(self, space: _Space) -> None:
        self.space = space
        machine, part = space.machine, space.part
        frames = Frames(machine, checks=False)
        before = frames.quiet_moment()
        before.values = {0: Aig.false, 1: Aig.true}
        for monitor in machine.logic.monitors:
            if monitor.next not in before.values:
                before.values[monitor.next] = frames.aig.input()
        frames.moments.append(before)
        after = frames.step(space.rounds)
        self.state = state(machine, part, before)
        outputs = [space.allowed(frames, after), *state(machine, part, after)]
        outputs += space.labels(after)
        self.size = len(self.state)
        self.leaves = [leaf for leaf in after.controls if leaf in part.leaves]
        self.place = self.state.index(before.controls[self.leaves[0]]) if self.leaves else 0
        inputs = [after.controls[leaf] for leaf in self.leaves]
        chosen = [after.free[leaf] for leaf in machine.free.values() if leaf in part.leaves]
        cone = set(frames.aig.cone(outputs, set()))
        for choices in after.choices:
            chosen += [literal for literal in choices.values() if literal >> 1 in cone]
        self.work = _Compiled(frames.aig, [*self.state, *inputs, *chosen], outputs)
        if 1 << len(chosen) > MAX_WAYS:
            raise TooLarge(f"{len(chosen)} bits may be anything in each step")
        rest = ["".join(bits) for bits in product("01", repeat=len(chosen))]
        changes = list(islice(self.changes(), MAX_WAYS + 1))
        self.ways = [(change, levels) for change in changes for levels in rest]
        if len(self.ways) > MAX_WAYS:
            raise TooLarge(f"there are more than {MAX_WAYS} choices in each step")

    def changes(self) -> Iterator[str]:
        """All sets of control bits that may change in one step, as text of 0 and 1."""
        machine, leaves = self.space.machine, self.leaves
        together = machine.netlist.together
        by_name = {
            name: [leaf for leaf in bits if leaf in leaves]
            for name, bits in machine.controls.items()
            if any(leaf in leaves for leaf in bits)
        }
        names = list(by_name)
        stack: list[tuple[int, tuple[str, ...], frozenset[int]]] = [(0, (), frozenset())]
        while stack:
            at, moved, bits = stack.pop()
            if at == len(names):
                yield "".join(str(int(leaf in bits)) for leaf in leaves)
                continue
            name = names[at]
            if all(may_together(together, name, other) for other in moved):
                for pattern in product((0, 1), repeat=len(by_name[name])):
                    chosen = [b for b, on in zip(by_name[name], pattern, strict=True) if on]
                    if chosen:
                        stack.append((at + 1, (*moved, name), bits | set(chosen)))
            stack.append((at + 1, moved, bits))

    def run(self, states: Sequence[str]) -> Iterator[tuple[str, str, str]]:
        """(state before, state after, labels) of all steps from these states."""
        end = self.place + len(self.leaves)
        rows: list[str] = []
        for one in states:
            now = one[self.place : end]
            for change, rest in self.ways:
                new = "".join("0" if a == b else "1" for a, b in zip(now, change, strict=True))
                rows.append(one + new + rest)
        for row, out in zip(rows, self.work.run(rows), strict=True):
            if out[0] == "1":
                yield row[: self.size], out[1 : self.size + 1], out[self.size + 1 :]


def may_together(together: object, a: str, b: str) -> bool:
    """Whether two controls may change in one step."""
    if together == "all":
        return True
    return isinstance(together, tuple | list) and any({a, b} <= set(group) for group in together)


# loops --------------------------------------------------------------------------------------------

Node = tuple[str, str]


def _shortest_lasso(space: _Space, place: int, operators: int) -> int | None:
    """The fewest steps to, and once round, a loop in which operator ``place`` always waits."""
    graph: nx.DiGraph[Node] = nx.DiGraph()
    nodes = {after for nodes in space.following.values() for after in nodes}
    waits = sorted(node for node in nodes if node[1][place] == "1")
    inside = set(waits)
    for node in waits:
        for after in space.following[node[0]]:
            if after in inside:
                graph.add_edge(node, after)
    fair = len(waits[0][1]) - operators if waits else 0
    best: int | None = None
    for found in nx.strongly_connected_components(graph):
        goes_round = len(found) > 1 or any(graph.has_edge(node, node) for node in found)
        met = [any(node[1][operators + k] == "0" for node in found) for k in range(fair)]
        if not goes_round or not all(met):
            continue
        for node in sorted(found, key=lambda one: (space.distance[one[0]], one)):
            stem = space.distance[node[0]]
            if best is not None and stem + 1 >= best:
                break
            room = None if best is None else best - stem - 1
            length = _round_trip(graph, found, node, operators, room)
            if length is not None:
                best = _shorter(best, stem + length)
    return best


def _round_trip(
    graph: nx.DiGraph[Node], inside: set[Node], start: Node, operators: int, room: int | None
) -> int | None:
    """The shortest way from a node back to it on which each fairness is met; at most ``room``."""
    fair = len(start[1]) - operators
    full = (1 << fair) - 1
    level = {(start, 0)}
    seen = set(level)
    length = 0
    while level and (room is None or length < room):
        length += 1
        following = set()
        for node, met in level:
            for after in graph.successors(node):
                if after not in inside:
                    continue
                now = met
                for k in range(fair):
                    if after[1][operators + k] == "0":
                        now |= 1 << k
                if after == start and now == full:
                    return length
                if (after, now) not in seen:
                    seen.add((after, now))
                    following.add((after, now))
        level = following
    return None
