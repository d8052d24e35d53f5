"""One round: all levels from controls and storage, in any algebra of levels.

The same evaluation serves numbers (walking a board) and literals of a solver (proving), through
the small `Levels` interface. Beside each level it keeps the swing: the three-valued level while
every changed control and storage bit passes through "unknown" (Eichelberger 1965), which decides
loops and shows what may pulse; and where it is asked for, whether the node may change more often
than it must (`changes`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Generic, NoReturn, TypeVar

from breadproof.specs.machine.changes import Change, extra_of
from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.levels import Levels, Swing
from breadproof.specs.machine.machine import Loop, Machine

L = TypeVar("L")


Reader = Callable[[int, int, Sequence[L]], L]
"""The bit of a memory's word now: memory, bit, address (most significant first)."""


@dataclass(slots=True)
class Round(Generic[L]):
    """The levels and swings of one round, by node; ``unsettled``: some loop found no level.

    ``extra`` tells of the nodes whose changes are counted whether there may be more than must be.
    """

    levels: list[L]
    swings: list[Swing[L] | None]
    unsettled: L
    extra: list[L | None]


class Settler(Generic[L]):
    """Settles rounds of one machine in one algebra."""

    def __init__(
        self,
        machine: Machine,
        levels: Levels[L],
        swing_of: Sequence[int],
        count_of: Sequence[int] = (),
    ) -> None:
        """Keep swings for the cones of the nodes ``swing_of`` and of all loops that hold; count
        changes in the cones of ``count_of``."""
        self.machine = machine
        self.graph = machine.graph
        self.kinds, self.args = machine.graph.kinds, machine.graph.args
        self.of = levels
        wanted = [*swing_of, *count_of]
        for loop in machine.loops:
            if loop.holds:
                wanted += [*loop.externals, *loop.functions, *loop.leaves]
        self.swinging = bytearray(len(machine.graph))
        for node in self.swing_cone(wanted):
            self.swinging[node] = 1
        self.counting = bytearray(len(machine.graph))
        for node in self.swing_cone(count_of):
            self.counting[node] = 1

    def swing_cone(self, roots: Sequence[int]) -> set[int]:
        """The nodes whose swing is needed: cones, through loops and what counts for others."""
        loop_of = {leaf: loop for loop in self.machine.loops for leaf in loop.leaves}
        seen: set[int] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            if node in self.machine.counted:
                stack.append(self.machine.counted[node])
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
        now: Round[L] = Round([self.of.false] * size, [None] * size, self.of.false, [None] * size)
        now.levels[Graph.TRUE] = self.of.true
        now.swings[0], now.swings[1] = self.known(self.of.false), self.known(self.of.true)
        now.extra[0] = now.extra[1] = self.of.false
        for entry in machine.order:
            if entry >= 0:
                self._node(entry, leaf, read, before, now)
                continue
            loop = machine.loops[~entry]
            if loop.holds and quiet_loops is not None:
                for variable in loop.leaves:
                    now.levels[variable] = quiet_loops(variable)
                    now.swings[variable] = self.known(now.levels[variable])
                    now.extra[variable] = self.of.false
            else:
                self._settle_loop(loop, leaf, read, before, now)
        return now

    def at_rest(self, last: Round[L]) -> Round[L]:
        """A quiet round as the next step finds it: nothing moves any more."""
        swings = [
            None if swing is None else self.known(level)
            for swing, level in zip(last.swings, last.levels, strict=True)
        ]
        extra = [None if one is None else self.of.false for one in last.extra]
        return Round(last.levels, swings, last.unsettled, extra)

    def _node(
        self,
        node: int,
        leaf: Callable[[int], L],
        read: Reader[L],
        before: Round[L] | None,
        now: Round[L],
    ) -> None:
        # most of all time goes by here: no calls that can be done without
        kind, args, of, levels = self.kinds[node], self.args[node], self.of, now.levels
        if kind is Kind.AND:
            levels[node] = of.and_([levels[arg] for arg in args])
        elif kind is Kind.OR:
            levels[node] = of.or_([levels[arg] for arg in args])
        elif kind is Kind.NOT:
            levels[node] = of.not_(levels[args[0]])
        elif kind is Kind.LEAF:
            levels[node] = leaf(node)
        elif kind is Kind.WAS:
            levels[node] = (now if before is None else before).levels[args[0]]
        else:
            levels[node] = self.level(node, levels.__getitem__, read)
        if self.swinging[node]:
            now.swings[node] = self._node_swing(node, before, now)
        if self.counting[node]:
            now.extra[node] = self._node_extra(node, before, now)

    def steady(self, last: Round[L]) -> Round[L]:
        """One more round after a quiet one: only what looks a round back may see anything else."""
        levels, args = list(last.levels), self.graph.args
        for node in self.looking_back:
            if self.graph.kinds[node] is Kind.WAS:
                levels[node] = levels[args[node][0]]
            elif self.graph.kinds[node] is not Kind.READ:
                levels[node] = self.level(node, levels.__getitem__, _no_read)
        return replace(self.at_rest(last), levels=levels)

    @cached_property
    def looking_back(self) -> tuple[int, ...]:
        """The nodes of a round that are made of levels of the round before, in order."""
        found: dict[int, None] = {}
        for node in self.machine.order:
            if node >= 0 and (
                self.graph.kinds[node] is Kind.WAS
                or any(arg in found for arg in self.graph.operands(node))
            ):
                found[node] = None
        return tuple(found)

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

    # changes ----------------------------------------------------------------------------------

    def change(self, node: int, before: Round[L], now: Round[L]) -> Change[L]:
        """What a counted node does in a round. Whatever was not counted may do anything."""
        swing, extra = now.swings[node], now.extra[node]
        return Change(
            before.levels[node],
            self.unknown if swing is None else swing,
            self.of.true if extra is None else extra,
        )

    def _node_extra(self, node: int, before: Round[L] | None, now: Round[L]) -> L:
        if before is None:
            return self.of.true
        drawn = self.machine.counted.get(node)
        if drawn is None:
            own = self.change(node, before, now).swing
            return extra_of(self.of, self.graph, node, own, lambda n: self.change(n, before, now))
        return self._stays_moving(node, self.change(drawn, before, now).extra, before, now)

    def _stays_moving(self, node: int, extra: L, before: Round[L], now: Round[L]) -> L:
        """``extra``, or that the node moves though its level stays: then it changes twice."""
        of = self.of
        same = of.not_(of.xor(before.levels[node], now.levels[node]))
        return of.or_((extra, of.and_((same, *self.change(node, before, now).swing))))

    def _loop_extra(
        self, loop: Loop, inner: dict[int, Swing[L]], before: Round[L] | None, now: Round[L]
    ) -> None:
        """Count in a loop whose nets' swings are in ``now``, those of the nodes between in
        ``inner``: passes until no net becomes extra any more (see `_iterate`)."""
        of = self.of
        if before is None:
            for variable in loop.leaves:
                now.extra[variable] = of.true
            return
        extra = dict.fromkeys(loop.leaves, of.false)
        for _ in range(loop.cut + 1):
            between: dict[int, L] = {}

            def at(
                node: int, between: dict[int, L] = between, before: Round[L] = before
            ) -> Change[L]:
                if node in extra or node in between:
                    here = extra[node] if node in extra else between[node]
                    swing = inner.get(node) or now.swings[node] or self.unknown
                    return Change(before.levels[node], swing, here)
                return self.change(node, before, now)

            for what, index in loop.schedule:
                if what == "node":
                    drawn = self.machine.counted.get(index)
                    if drawn in extra:
                        between[index] = extra[drawn]
                    else:
                        between[index] = extra_of(of, self.graph, index, inner[index], at)
                    continue
                variable = loop.leaves[index]
                extra[variable] = of.or_((extra[variable], at(loop.functions[index]).extra))
        for variable in loop.leaves:
            now.extra[variable] = extra[variable]

    # loops ------------------------------------------------------------------------------------

    def _settle_loop(
        self,
        loop: Loop,
        leaf: Callable[[int], L],
        read: Reader[L],
        before: Round[L] | None,
        now: Round[L],
    ) -> None:
        swing, inner = dict.fromkeys(loop.leaves, self.unknown), dict[int, Swing[L]]()
        needs_first = loop.holds or any(self.swinging[n] for n in loop.leaves)
        if before is not None and needs_first:
            old = {n: self.known(before.levels[n]) for n in loop.leaves}
            inner = self._iterate(
                loop, swing := dict(old), old, before, read, now.swings.__getitem__
            )
        for n in loop.leaves:
            now.swings[n] = swing[n]
        if any(self.counting[n] for n in loop.leaves):
            self._loop_extra(loop, inner, before, now)
        settled = dict(swing) if loop.holds else dict.fromkeys(loop.leaves, self.unknown)
        self._iterate(loop, settled, None, before, read, lambda n: self.known(now.levels[n]))
        self._loop_levels(loop, settled, leaf, read, now)
        for n in loop.leaves:
            extra = now.extra[n]
            if extra is not None and before is not None:
                now.extra[n] = self._stays_moving(n, extra, before, now)

    def _loop_levels(
        self,
        loop: Loop,
        settled: dict[int, Swing[L]],
        leaf: Callable[[int], L],
        read: Reader[L],
        now: Round[L],
    ) -> None:
        """The levels of a loop's nets, from what settling leaves of them."""
        of = self.of
        if not loop.holds:
            for n in loop.leaves:
                now.levels[n] = settled[n][0]
            return
        unknown = [self.is_unknown(settled[n]) for n in loop.leaves]
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
        """Passes over the loop until nothing can change: one more than it has cuts. ``value`` has
        the nets' swings and takes the new ones; those of the nodes between come back.

        With ``rising_from`` levels only become unknown (Eichelberger's first procedure), without
        they only become known (his second); each cut variable does so once, so that ``cut`` + 1
        passes reach the fixed point whatever the order.
        """
        of = self.of
        inner: dict[int, Swing[L]] = {}
        for _ in range(loop.cut + 1):
            inner = {}

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
        return inner

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


def _no_read(memory: int, bit: int, address: Sequence[object]) -> NoReturn:
    raise AssertionError("memories are addressed by levels of the same round")
