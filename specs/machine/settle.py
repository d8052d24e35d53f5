"""One round: all levels from controls and storage, in any algebra of levels.

The same evaluation serves numbers (walking a board) and literals of a solver (proving), through
the small `Levels` interface. Beside each level it keeps the swing: the three-valued level while
every changed control and storage bit passes through "unknown" (Eichelberger 1965), which decides
loops and shows what may pulse.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Loop, Machine

L = TypeVar("L")


class Levels(Protocol[L]):
    """An algebra of levels: Booleans, solver literals."""

    false: L
    true: L

    def not_(self, a: L) -> L:
        """Inversion."""

    def and_(self, parts: Sequence[L]) -> L:
        """Conjunction."""

    def or_(self, parts: Sequence[L]) -> L:
        """Disjunction."""

    def xor(self, a: L, b: L) -> L:
        """Exclusive or."""


Swing = tuple[L, L]
"""(may be high, may be low); both: unknown."""
Reader = Callable[[int, int, Sequence[L]], L]
"""The bit of a memory's word now: memory, bit, address (most significant first)."""


@dataclass(slots=True)
class Round(Generic[L]):
    """The levels and swings of one round, by node; ``unsettled``: some loop found no level."""

    levels: list[L]
    swings: list[Swing[L] | None]
    unsettled: L


class Settler(Generic[L]):
    """Settles rounds of one machine in one algebra."""

    def __init__(self, machine: Machine, levels: Levels[L], swing_of: Sequence[int]) -> None:
        """Keep swings for the cones of the nodes ``swing_of`` and of all loops that hold."""
        self.machine = machine
        self.graph = machine.graph
        self.of = levels
        wanted = list(swing_of)
        for loop in machine.loops:
            if loop.holds:
                wanted += [*loop.externals, *loop.functions, *loop.leaves]
        self.swinging = bytearray(len(machine.graph))
        for node in self.swing_cone(wanted):
            self.swinging[node] = 1

    def swing_cone(self, roots: list[int]) -> set[int]:
        """The nodes whose swing is needed: cones, through loops."""
        loop_of = {leaf: loop for loop in self.machine.loops for leaf in loop.leaves}
        seen: set[int] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            if node in loop_of:
                loop = loop_of[node]
                stack += [*loop.externals, *loop.functions, *loop.leaves]
            elif self.graph.kinds[node] is not Kind.WAS:
                stack.extend(self.graph.operands(node))
        return seen

    # swings -----------------------------------------------------------------------------------

    def known(self, level: L) -> Swing[L]:
        """The swing of what stays at a level."""
        return (level, self.of.not_(level))

    def between(self, a: L, b: L) -> Swing[L]:
        """The swing of what was ``a`` and is ``b``: unknown if they differ."""
        of = self.of
        return (of.or_((a, b)), of.or_((of.not_(a), of.not_(b))))

    @property
    def unknown(self) -> Swing[L]:
        """Both levels are possible."""
        return (self.of.true, self.of.true)

    def is_unknown(self, swing: Swing[L]) -> L:
        """Whether both levels are possible."""
        return self.of.and_(swing)

    def swing(
        self,
        node: int,
        at: Callable[[int], Swing[L]],
        leaf: Callable[[int], Swing[L]],
        read: Callable[[int, Sequence[Swing[L]]], Swing[L]],
    ) -> Swing[L]:
        """The swing of one node from those of its operands."""
        of, args = self.of, self.graph.args[node]
        match self.graph.kinds[node]:
            case Kind.CONST:
                return self.known(of.true if node == Graph.TRUE else of.false)
            case Kind.LEAF | Kind.WAS:
                return leaf(node)
            case Kind.NOT:
                high, low = at(args[0])
                return (low, high)
            case Kind.AND:
                parts = [at(arg) for arg in args]
                return (of.and_([p[0] for p in parts]), of.or_([p[1] for p in parts]))
            case Kind.OR:
                parts = [at(arg) for arg in args]
                return (of.or_([p[0] for p in parts]), of.and_([p[1] for p in parts]))
            case Kind.XOR:
                (ah, al), (bh, bl) = at(args[0]), at(args[1])
                return (
                    of.or_((of.and_((ah, bl)), of.and_((al, bh)))),
                    of.or_((of.and_((ah, bh)), of.and_((al, bl)))),
                )
            case Kind.READ:
                return read(node, [at(arg) for arg in args[2:]])

    # rounds -----------------------------------------------------------------------------------

    def settle(
        self,
        leaf: Callable[[int], L],
        read: Reader[L],
        before: Round[L] | None,
        quiet_loops: Callable[[int], L] | None = None,
    ) -> Round[L]:
        """One round.

        ``leaf`` gives the level of each control, storage, free and choice leaf; ``before`` is the
        round before, None at power-up. ``quiet_loops`` gives the nets of holding loops their
        levels instead of settling them (for a moment that is known to be quiet).
        """
        machine, size = self.machine, len(self.graph)
        now: Round[L] = Round([self.of.false] * size, [None] * size, self.of.false)
        now.levels[Graph.TRUE] = self.of.true
        now.swings[0], now.swings[1] = self.known(self.of.false), self.known(self.of.true)
        for entry in machine.order:
            if entry >= 0:
                self._node(entry, leaf, read, before, now)
                continue
            loop = machine.loops[~entry]
            if loop.holds and quiet_loops is not None:
                for variable in loop.leaves:
                    now.levels[variable] = quiet_loops(variable)
                    now.swings[variable] = self.known(now.levels[variable])
            else:
                self._settle_loop(loop, leaf, read, before, now)
        return now

    def at_rest(self, last: Round[L]) -> Round[L]:
        """A quiet round as the next step finds it: nothing moves any more."""
        swings = [
            None if swing is None else self.known(level)
            for swing, level in zip(last.swings, last.levels, strict=True)
        ]
        return Round(last.levels, swings, last.unsettled)

    def _node(
        self,
        node: int,
        leaf: Callable[[int], L],
        read: Reader[L],
        before: Round[L] | None,
        now: Round[L],
    ) -> None:
        kind = self.graph.kinds[node]
        if kind is Kind.LEAF:
            now.levels[node] = leaf(node)
        elif kind is Kind.WAS:
            source = self.graph.args[node][0]
            now.levels[node] = (now if before is None else before).levels[source]
        else:
            now.levels[node] = self.level(node, now.levels.__getitem__, read)
        if self.swinging[node]:
            now.swings[node] = self._node_swing(node, before, now)

    def level(self, node: int, at: Callable[[int], L], read: Reader[L]) -> L:
        """The level of an inner node from those of its operands."""
        of, args = self.of, self.graph.args[node]
        match self.graph.kinds[node]:
            case Kind.NOT:
                return of.not_(at(args[0]))
            case Kind.AND:
                return of.and_([at(arg) for arg in args])
            case Kind.OR:
                return of.or_([at(arg) for arg in args])
            case Kind.XOR:
                return of.xor(at(args[0]), at(args[1]))
            case Kind.READ:
                return read(args[0], args[1], [at(arg) for arg in args[2:]])
            case kind:
                raise AssertionError(f"no inner node: {kind}")

    def _node_swing(self, node: int, before: Round[L] | None, now: Round[L]) -> Swing[L]:
        def at(arg: int) -> Swing[L]:
            found = now.swings[arg]
            return found if found is not None else self.unknown

        return self.swing(
            node,
            at,
            lambda leaf: self.leaf_swing(leaf, before, now),
            lambda read, address: self.read_swing(read, address, before, now),
        )

    def leaf_swing(self, node: int, before: Round[L] | None, now: Round[L]) -> Swing[L]:
        """Changed bits pass through "unknown"."""
        if before is None:
            return self.unknown
        return self.between(before.levels[node], now.levels[node])

    def read_swing(
        self,
        node: int,
        address: Sequence[Swing[L]],
        before: Round[L] | None,
        now: Round[L],
    ) -> Swing[L]:
        """Unknown altogether while an address bit is; else what the word was and is."""
        if before is None:
            return self.unknown
        moving = self.of.or_([self.is_unknown(bit) for bit in address])
        high, low = self.between(before.levels[node], now.levels[node])
        return (self.of.or_((moving, high)), self.of.or_((moving, low)))

    # loops ------------------------------------------------------------------------------------

    def _settle_loop(
        self,
        loop: Loop,
        leaf: Callable[[int], L],
        read: Reader[L],
        before: Round[L] | None,
        now: Round[L],
    ) -> None:
        of = self.of
        swing = dict.fromkeys(loop.leaves, self.unknown)
        needs_first = loop.holds or any(self.swinging[n] for n in loop.leaves)
        if before is not None and needs_first:
            old = {n: self.known(before.levels[n]) for n in loop.leaves}
            swing = self._iterate(loop, dict(old), old, before, read, lambda n: now.swings[n])
        for n in loop.leaves:
            now.swings[n] = swing[n]
        start = dict(swing) if loop.holds else dict.fromkeys(loop.leaves, self.unknown)
        settled = self._iterate(
            loop, start, None, before, read, lambda n: self.known(now.levels[n])
        )
        unknown = [self.is_unknown(settled[n]) for n in loop.leaves]
        if not loop.holds:
            for n in loop.leaves:
                now.levels[n] = settled[n][0]
            return
        outcome, stable = self._choose(loop, settled, leaf, read, now)
        for n, level in zip(loop.leaves, outcome, strict=True):
            now.levels[n] = level
        bad = of.and_((of.or_(unknown), of.not_(stable)))
        now.unsettled = of.or_((now.unsettled, bad))

    def _iterate(
        self,
        loop: Loop,
        value: dict[int, Swing[L]],
        rising_from: dict[int, Swing[L]] | None,
        before: Round[L] | None,
        read: Reader[L],
        external: Callable[[int], Swing[L] | None],
    ) -> dict[int, Swing[L]]:
        """Passes over the loop until nothing can change: one more than it has cuts.

        With ``rising_from`` levels only become unknown (Eichelberger's first procedure), without
        they only become known (his second); each cut variable does so once, so that ``cut`` + 1
        passes reach the fixed point whatever the order.
        """
        of = self.of
        for _ in range(loop.cut + 1):
            inner: dict[int, Swing[L]] = {}

            def at(node: int, inner: dict[int, Swing[L]] = inner) -> Swing[L]:
                if node in inner:
                    return inner[node]
                if node in value:
                    return value[node]
                found = external(node)
                return self.unknown if found is None else found

            def word(node: int, address: Sequence[Swing[L]]) -> Swing[L]:
                """Unknown while an address bit is; else the word, and while rising what it was."""
                moving = of.or_([self.is_unknown(bit) for bit in address])
                memory, bit = self.graph.args[node][:2]
                level = read(memory, bit, [high for high, _ in address])
                swing = self.known(level)
                if rising_from is not None and before is not None:
                    swing = self.between(before.levels[node], level)
                return (of.or_((moving, swing[0])), of.or_((moving, swing[1])))

            for what, index in loop.schedule:
                if what == "node":
                    inner[index] = self.swing(index, at, at, word)
                    continue
                variable, new = loop.leaves[index], at(loop.functions[index])
                if rising_from is not None:
                    old = rising_from[variable]
                    new = (of.or_((old[0], new[0])), of.or_((old[1], new[1])))
                value[variable] = new
        return value

    def _choose(
        self,
        loop: Loop,
        settled: dict[int, Swing[L]],
        leaf: Callable[[int], L],
        read: Reader[L],
        now: Round[L],
    ) -> tuple[list[L], L]:
        """Levels that are stable: the choice if it is, else the first stable ones there are."""
        of = self.of
        cut = loop.leaves[: loop.cut]

        def take(wish: Sequence[L]) -> tuple[list[L], L]:
            value: dict[int, L] = {}
            for variable, want in zip(cut, wish, strict=True):
                high, low = settled[variable]
                both = of.and_((high, low))
                value[variable] = of.or_((of.and_((both, want)), of.and_((high, of.not_(low)))))
            start = dict(value)

            def at(node: int) -> L:
                return value[node] if node in value else now.levels[node]

            stable: list[L] = []
            for what, index in loop.schedule:
                if what == "node":
                    value[index] = self.level(index, at, read)
                elif index < loop.cut:
                    new = at(loop.functions[index])
                    stable.append(of.not_(of.xor(new, start[loop.leaves[index]])))
                else:
                    value[loop.leaves[index]] = at(loop.functions[index])
            return [value[variable] for variable in loop.leaves], of.and_(stable)

        outcome, stable = take([leaf(choice) for choice in loop.choices])
        if loop.cut > MAX_CUT:
            return outcome, stable
        for code in range(1 << loop.cut):
            wish = [of.true if (code >> k) & 1 else of.false for k in range(loop.cut)]
            other, other_stable = take(wish)
            outcome = [
                of.or_((of.and_((stable, a)), of.and_((of.not_(stable), b))))
                for a, b in zip(outcome, other, strict=True)
            ]
            stable = of.or_((stable, other_stable))
        return outcome, stable


MAX_CUT = 3
"""Loops with more cuts are not searched for a stable level: whether they settle stays undecided."""
