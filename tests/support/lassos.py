"""Formulas on endless runs, written from IEEE 1850-2010 and not from the product's monitors.

`Lasso` evaluates a formula on a run that goes round, by the definitions of annex B (under a clock
only its ticks count; all but the strong operators is weak, so that a clock which stops owes
nothing; a level that is never looked at holds, its inversion does not; from memory). `Owing` goes
forward one step at a time like `finite_traces.Progress`, and keeps what strong operators wait for;
`violates_for_ever` searches all runs of a board with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import networkx as nx

from breadproof.specs.formula import syntax as s
from tests.support.brute import Formulas, Key, Space, Step
from tests.support.finite_traces import (
    Owed,
    Progress,
    Read,
    State,
    Violated,
    boolean,
    look,
    steps_back,
)

COPIES = 14
"""So often a loop is written out, that what lies before it is forgotten by prev() and the like."""


@dataclass(slots=True)
class Lasso:
    """A run: ``stem``, then ``loop`` for ever. The last copy of the loop goes back to itself."""

    stem: Sequence[Read]
    loop: Sequence[Read]
    reads: list[Read] = field(init=False)
    known: dict[tuple[s.Expr, int, s.Expr | None], bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.reads = [*self.stem, *(list(self.loop) * COPIES)]

    def after(self, at: int, passes: int) -> list[int]:
        """The places from one on, and then so many times round."""
        end = len(self.reads)
        return [*range(at, end), *(list(range(end - len(self.loop), end)) * passes)]

    def level(self, expr: s.Expr, at: int, clock: s.Expr | None) -> bool:
        key = (expr, at, clock)
        if key not in self.known:
            self.known[key] = self._level(expr, at, clock)
        return self.known[key]

    def _level(self, expr: s.Expr, at: int, clock: s.Expr | None) -> bool:
        def past(call: s.Call) -> int:
            argument, back = call.arguments[0], steps_back(call)
            now = int(self.level(argument, at, clock))
            ticks = [t for t in range(at) if self.ticks(clock, t)]
            if not ticks:
                return look(call, now, None)
            place = ticks[-back] if back <= len(ticks) else ticks[0]
            return look(call, now, int(self.level(argument, place, clock)))

        return bool(boolean(expr, self.reads[at], past))

    def ticks(self, clock: s.Expr | None, at: int) -> bool:
        return clock is None or self.level(clock, at, None)

    def holds(  # noqa: C901  # a closed set of operators, a case each
        self, expr: s.Expr, at: int = 0, clock: s.Expr | None = None
    ) -> bool:
        passes = expr.count + 1 if isinstance(expr, s.Next) else 1
        ticks = [t for t in self.after(at, passes) if self.ticks(clock, t)]
        match expr:
            case s.Clocked():
                return self.holds(expr.operand, at, expr.event)
            case s.Always(never=True):
                return not any(self.level(expr.operand, t, clock) for t in ticks)
            case s.Always():
                return all(self.holds(expr.operand, t, clock) for t in dict.fromkeys(ticks))
            case s.Next():
                return len(ticks) <= expr.count or self.holds(
                    expr.operand, ticks[expr.count], clock
                )
            case s.Eventually():
                return any(self.level(expr.operand, t, clock) for t in ticks)
            case s.Ordering(kind="until"):
                for t in ticks:
                    if self.level(expr.right, t, clock):
                        return True
                    if not self.holds(expr.left, t, clock):
                        return False
                return not expr.strong
            case s.Ordering():
                for t in ticks:
                    if self.level(expr.right, t, clock):
                        return False
                    if self.level(expr.left, t, clock):
                        return True
                return not expr.strong
            case s.Implies(both=False):
                if not ticks:
                    return self.holds(expr.right, at, clock)
                return not self.level(expr.left, ticks[0], clock) or self.holds(
                    expr.right, ticks[0], clock
                )
            case s.Binary(op="&&") if s.is_temporal(expr):
                return self.holds(expr.left, at, clock) and self.holds(expr.right, at, clock)
            case s.Binary(op="||") if s.is_temporal(expr):
                return self.holds(expr.left, at, clock) or self.holds(expr.right, at, clock)
            case _:
                return not ticks or self.level(expr, ticks[0], clock)


# forward ------------------------------------------------------------------------------------------


BEGUN = s.Stretch(start=-1, end=-1)
"""Marks an operator that has begun to wait."""


class Owing(Progress):
    """Also keeps what `eventually!` waits for; a clock must have `always` right under it."""

    def expand(
        self, expr: s.Expr, clock: s.Expr | None, true: Callable[[s.Expr], bool]
    ) -> tuple[list[Owed], list[Owed]]:
        if isinstance(expr, s.Eventually):
            return [], ([] if true(expr.operand) else [(replace(expr, stretch=BEGUN), clock, 0)])
        now, later = Progress.expand(self, expr, clock, true)
        if isinstance(expr, s.Ordering) and expr.strong:
            later = [(replace(expr, stretch=BEGUN), clock, 0) for _ in later]
        return now, later


def waiting(state: State) -> frozenset[Owed]:
    """What strong operators still wait for; not what they are only asked for from the next step."""
    return frozenset(one for one in state.owed if one[0].stretch == BEGUN)


Node = tuple[Key, tuple[State, ...]]


def violates_for_ever(space: Space, assumes: Sequence[s.Expr], formula: s.Expr) -> bool:
    """Whether some endless run that the assumptions allow violates the formula.

    All runs are searched together with what the formula and the assumptions owe: a bad step from
    which the assumptions can be kept for ever, or a cycle on which the formula waits for something.
    """
    search = Formulas(space, assumes)
    work: list[Progress] = [Owing(formula), *(Owing(one) for one in assumes)]
    start = tuple(one.start() for one in work)
    graph: nx.DiGraph[Node] = nx.DiGraph()
    bad: set[Node] = set()
    level: list[tuple[Node | None, Step, tuple[State, ...]]]
    level = [(None, step, start) for step in space.first]
    while level:
        following: dict[Node, None] = {}
        for origin, step, states in level:
            read = search.read(step, origin is None)
            try:
                rest = [w.step(o, read) for w, o in zip(work[1:], states[1:], strict=True)]
            except Violated:
                continue
            mine, broken = states[0], False
            try:
                if mine.owed:
                    mine = work[0].step(mine, read)
            except Violated:
                mine, broken = State(frozenset(), ()), True
            node = (step.to, (mine, *rest))
            if broken:
                bad.add(node)
            if node not in graph:
                graph.add_node(node)
                following[node] = None
            if origin is not None:
                graph.add_edge(origin, node)
        level = [(n, step, n[1]) for n in following for step in space.steps[n[0]]]
    if bad and can_go_on(graph, bad):
        return True
    tuples = {one for node in graph for one in waiting(node[1][0])}
    return any(
        fair_cycles(graph.subgraph([n for n in graph if one in waiting(n[1][0])])) for one in tuples
    )


def fair_cycles(graph: nx.DiGraph[Node]) -> list[set[Node]]:
    """The components that can be gone round in, all assumptions being met."""
    found = []
    for component in nx.strongly_connected_components(graph):
        inner = graph.subgraph(component)
        if inner.number_of_edges() and not any(
            all(one in waiting(node[1][k]) for node in component)
            for k in range(1, len(next(iter(component))[1]))
            for one in {w for node in component for w in waiting(node[1][k])}
        ):
            found.append(component)
    return found


def can_go_on(graph: nx.DiGraph[Node], nodes: set[Node]) -> bool:
    """Whether an endless run that the assumptions allow goes on from one of these."""
    cycles = {node for component in fair_cycles(graph) for node in component}
    return any(cycles & (nx.descendants(graph, node) | {node}) for node in nodes)
