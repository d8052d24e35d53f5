"""Formulas on finite traces, written from IEEE 1850-2010 and not from the product's monitors.

`Weak` is the standard's weak view of a truncated path (annex B; Eisner, Fisman, Havlicek, Lustig,
McIsaac and Van Campenhout, "Reasoning with temporal logic on truncated paths", 2003): what lies
beyond the end is taken to be in order. A trace violates a formula in the first step whose prefix
fails in the weak view. `Progress` does the same forward, one step at a time, by rewriting what is
still owed (formula progression, Bacchus and Kabanza 1996), so that a search over states can use it.

Both share the reading of one-bit Boolean expressions (IEEE 1364) and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from breadproof.specs.formula import syntax as s

Read = Callable[[s.Expr], int]
"""The level of a name, or of a call that is not about the past, in one step."""
PAST = ("rose", "fell", "stable", "prev")


def boolean(expr: s.Expr, read: Read, past: Callable[[s.Call], int]) -> int:
    """A one-bit expression; ``past`` gives what rose(), prev() and the like are."""
    match expr:
        case s.Number():
            return int(expr.value != 0)
        case s.Call() if expr.function in PAST:
            return past(expr)
        case s.Name() | s.Index() | s.Part() | s.Call():
            return read(expr)
        case s.Unary(op="!" | "~"):
            return 1 - boolean(expr.operand, read, past)
        case s.Binary():
            if expr.op in ("==", "!=") and isinstance(expr.right, s.Name | s.Number):
                known = _compared(expr, read)
                if known is not None:
                    return known
            left, right = boolean(expr.left, read, past), boolean(expr.right, read, past)
            table = {
                "&&": left & right, "&": left & right, "||": left | right, "|": left | right,
                "^": left ^ right, "!=": left ^ right, "==": 1 - (left ^ right),
            }  # fmt: skip
            return table[expr.op]
        case s.Conditional():
            chosen = expr.then if boolean(expr.test, read, past) else expr.other
            return boolean(chosen, read, past)
        case s.Implies():
            left, right = boolean(expr.left, read, past), boolean(expr.right, read, past)
            return int(left == right) if expr.both else (1 - left) | right
    raise ValueError(f"no one-bit expression: {expr}")


def _compared(expr: s.Binary, read: Read) -> int | None:
    """A vector against a number: ``read`` gives the vector's value."""
    if isinstance(expr.right, s.Number) and isinstance(expr.left, s.Name | s.Part):
        return int((read(expr.left) == expr.right.value) == (expr.op == "=="))
    return None


def look(call: s.Call, now: int, before: int | None) -> int:
    """What a call about the past says; ``before`` is None in the first (clocked) step."""
    was = now if before is None else before
    return {
        "rose": now & (1 - was), "fell": was & (1 - now), "stable": int(now == was), "prev": was,
    }[call.function]  # fmt: skip


def steps_back(call: s.Call) -> int:
    if len(call.arguments) == 2 and isinstance(call.arguments[1], s.Number):
        return call.arguments[1].value
    return 1


@dataclass(slots=True)
class Weak:
    """The weak view of a trace; ``reads`` has one step an entry."""

    reads: Sequence[Read]

    def violated(self, expr: s.Expr) -> int | None:
        """The first step whose prefix violates the formula."""
        for length in range(1, len(self.reads) + 1):
            if not Weak(self.reads[:length]).holds(expr, 0, None):
                return length - 1
        return None

    def true(self, expr: s.Expr, at: int, clock: s.Expr | None) -> bool:
        def past(call: s.Call) -> int:
            ticks = [t for t in range(at) if self.ticks(clock, t)]
            back = steps_back(call)
            argument = call.arguments[0]
            now = int(self.true(argument, at, clock))
            if not ticks:
                return look(call, now, None)
            place = ticks[-back] if back <= len(ticks) else ticks[0]
            return look(call, now, int(self.true(argument, place, clock)))

        return bool(boolean(expr, self.reads[at], past))

    def ticks(self, clock: s.Expr | None, at: int) -> bool:
        return clock is None or self.true(clock, at, None)

    def from_(self, at: int, clock: s.Expr | None) -> list[int]:
        return [t for t in range(at, len(self.reads)) if self.ticks(clock, t)]

    def holds(  # noqa: C901  # a closed set of operators, a case each
        self, expr: s.Expr, at: int, clock: s.Expr | None
    ) -> bool:
        ticks = self.from_(at, clock)
        match expr:
            case s.Clocked():
                return self.holds(expr.operand, at, expr.event)
            case s.Always():
                if expr.never:
                    return not any(self.true(expr.operand, t, clock) for t in ticks)
                return all(self.holds(expr.operand, t, clock) for t in ticks)
            case s.Next():
                later = ticks[expr.count :]
                return not later or self.holds(expr.operand, later[0], clock)
            case s.Ordering(kind="until"):
                for t in ticks:
                    if self.true(expr.right, t, clock):
                        return True
                    if not self.holds(expr.left, t, clock):
                        return False
                return True
            case s.Ordering():
                for t in ticks:
                    if self.true(expr.right, t, clock):
                        return False
                    if self.true(expr.left, t, clock):
                        return True
                return True
            case s.Eventually():
                return True
            case s.Implies(both=False):
                if not ticks or not self.true(expr.left, ticks[0], clock):
                    return True
                return self.holds(expr.right, ticks[0], clock)
            case s.Binary(op="&&") if s.is_temporal(expr):
                return self.holds(expr.left, at, clock) and self.holds(expr.right, at, clock)
            case s.Binary(op="||") if s.is_temporal(expr):
                return self.holds(expr.left, at, clock) or self.holds(expr.right, at, clock)
            case _:
                return not ticks or self.true(expr, ticks[0], clock)


# forward ------------------------------------------------------------------------------------------

Owed = tuple[s.Expr, s.Expr | None, int]
"""A formula that must hold from the next tick of a clock on; for `next`, after so many ticks."""
Past = tuple[tuple[int, ...], ...]
"""For each call about the past: its argument at the last ticks, newest last."""


class Violated(Exception):
    """The formula cannot hold any more."""


@dataclass(frozen=True, slots=True)
class State:
    """What a formula still owes, and what it must remember."""

    owed: frozenset[Owed]
    past: Past


@dataclass(slots=True)
class Progress:
    """Steps one formula forward."""

    formula: s.Expr
    calls: list[tuple[s.Call, s.Expr | None]] = field(init=False)

    def __post_init__(self) -> None:
        self.calls = []
        stack: list[tuple[s.Expr, s.Expr | None]] = [(self.formula, None)]
        while stack:
            expr, clock = stack.pop()
            if isinstance(expr, s.Clocked):
                stack += [(expr.operand, expr.event), (expr.event, None)]
                continue
            if isinstance(expr, s.Call) and expr.function in PAST:
                self.calls.append((expr, clock))
            stack += [(part, clock) for part in s.children(expr)]

    def start(self) -> State:
        return State(frozenset([(self.formula, None, 0)]), tuple(() for _ in self.calls))

    def step(self, state: State, read: Read) -> State:
        """What is owed after a step. Raises `Violated`."""

        def true(expr: s.Expr, clock: s.Expr | None) -> bool:
            def past(call: s.Call) -> int:
                now = int(true(call.arguments[0], clock))
                kept = state.past[self.calls.index((call, clock))]
                if not kept:
                    return look(call, now, None)
                return look(call, now, kept[-min(steps_back(call), len(kept))])

            return bool(boolean(expr, read, past))

        def ticks(clock: s.Expr | None) -> bool:
            return clock is None or true(clock, None)

        owed: set[Owed] = set()
        work = list(state.owed)
        done: set[Owed] = set()
        while work:
            one = work.pop()
            if one in done:
                continue
            done.add(one)
            expr, clock, skip = one
            if not ticks(clock):
                owed.add(one)
            elif skip:
                owed.add((expr, clock, skip - 1))
            elif isinstance(expr, s.Clocked):
                while isinstance(expr.operand, s.Clocked):  # the inner clock rules
                    expr = expr.operand
                work.append((expr.operand, expr.event, 0))
            else:
                now, later = self.expand(expr, clock, lambda e, c=clock: true(e, c))  # type: ignore[misc]  # mypy sees no default
                work += now
                owed |= set(later)
        past = tuple(
            (*kept, int(true(call.arguments[0], clock)))[-steps_back(call) :]
            if ticks(clock)
            else kept
            for (call, clock), kept in zip(self.calls, state.past, strict=True)
        )
        return State(frozenset(owed), past)

    def expand(  # noqa: C901  # a closed set of operators, a case each
        self, expr: s.Expr, clock: s.Expr | None, true: Callable[[s.Expr], bool]
    ) -> tuple[list[Owed], list[Owed]]:
        """At a tick: what is owed at once and what from the next tick on."""
        match expr:
            case s.Always():
                if expr.never and true(expr.operand):
                    raise Violated
                return ([] if expr.never else [(expr.operand, clock, 0)]), [(expr, clock, 0)]
            case s.Next():
                if expr.count == 0:
                    return [(expr.operand, clock, 0)], []
                return [], [(expr.operand, clock, expr.count - 1)]
            case s.Ordering(kind="until"):
                if true(expr.right):
                    return [], []
                return [(expr.left, clock, 0)], [(expr, clock, 0)]
            case s.Ordering():
                if true(expr.right):
                    raise Violated
                return [], ([] if true(expr.left) else [(expr, clock, 0)])
            case s.Eventually():
                return [], []
            case s.Implies(both=False):
                return ([(expr.right, clock, 0)] if true(expr.left) else []), []
            case s.Binary(op="&&") if s.is_temporal(expr):
                return [(expr.left, clock, 0), (expr.right, clock, 0)], []
            case s.Binary(op="||") if s.is_temporal(expr):
                level, rest = expr.left, expr.right
                if s.is_temporal(level):
                    level, rest = rest, level
                return ([] if true(level) else [(rest, clock, 0)]), []
            case _:
                if not true(expr):
                    raise Violated
                return [], []
