"""A board's runs as literals: a chain of quiet moments and the rounds between them.

The first moment is any quiet one: storage, controls and loops stand anywhere, and one more round
would change nothing. Since real storage powers up holding anything, every quiet moment is a
possible first step, so the chain covers exactly the runs of the board (design.md section 4). Only
where a part is made to come up in one way (`Machine.first`) a run begins in fewer of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.order import formula_order
from breadproof.specs.machine.settle import Round, Settler
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.checks import RoundChecks, count_roots, standing_checks, swing_roots
from breadproof.verify.prove.memory import MemoryLog


@dataclass(slots=True)
class Moment:
    """One step: what was chosen in it, its rounds, and what holds at its quiet moment.

    ``start_store`` is the storage in the first of ``rounds``, ``store`` what it is afterwards.
    ``since`` and ``until`` count each memory's writes before and after. ``broken`` has each
    standing check's literal, ``passing`` that of fights while changing. ``quiet`` tells that the
    last round changed nothing.
    """

    controls: dict[int, int]
    free: dict[int, int]
    choices: list[dict[int, int]]
    rounds: list[Round[int]]
    start_store: dict[int, int]
    store: dict[int, int]
    monitors: dict[int, int]
    until: list[int]
    broken: dict[str, int] = field(default_factory=dict)
    passing: dict[str, int] = field(default_factory=dict)
    quiet: int = Aig.true
    values: dict[int, int] = field(default_factory=dict)
    loops: dict[int, int] = field(default_factory=dict)


class Frames:
    """Builds the chain. ``constraints`` are literals that must hold; take them as they come."""

    def __init__(self, machine: Machine, *, checks: bool = True) -> None:
        """Nothing is built before `first`. Without ``checks`` the standing checks are left out:
        a chain about formulas alone is built much sooner."""
        self.machine = machine
        self.graph = machine.graph
        self.aig = Aig()
        self.checks = standing_checks(machine) if checks else ()
        swinging = swing_roots(machine) if checks else []
        counted = count_roots(machine) if checks else []
        self._settle_with(swinging, counted)
        self.leaves: dict[str, list[int]] = {}
        for leaf, node in self.graph.leaf_nodes().items():
            self.leaves.setdefault(leaf.kind, []).append(node)
        self.memories = [MemoryLog(self.aig, unit) for unit in machine.memories]
        self.constraints: list[int] = []
        self.initial = self.aig.input()
        """Assume this literal for runs from power-up."""
        known = frozenset(entry for entry in machine.order if entry >= 0) | frozenset(
            leaf for loop in machine.loops for leaf in loop.leaves
        )
        self.beyond = formula_order(machine, known)
        self.moments: list[Moment] = []

    def _settle_with(self, swinging: Sequence[int], counted: Sequence[int]) -> None:
        told = [g.node for g in self.machine.logic.gathered if g.pulses]
        self.settler = Settler(self.machine, self.aig, swinging, [*told, *counted])
        self.round_checks = RoundChecks(self.machine, self.settler, self.checks)
        self.floats = {check.name for check in self.checks if check.kind == "floats"}

    def leave_checks(self) -> None:
        """From now on the chain is about formulas alone: later moments have no standing checks."""
        self.checks = ()
        self._settle_with((), ())

    def inputs(self, kind: str) -> dict[int, int]:
        """A fresh variable for each leaf of a kind."""
        return {node: self.aig.input() for node in self.leaves.get(kind, ())}

    def take_constraints(self) -> list[int]:
        """What must hold and was not taken yet."""
        for memory in self.memories:
            self.constraints += memory.take_constraints()
        taken, self.constraints = self.constraints, []
        return taken

    # rounds -----------------------------------------------------------------------------------

    def settle(
        self,
        leaves: dict[int, int],
        until: Sequence[int],
        before: Round[int] | None,
        quiet: dict[int, int] | None = None,
        choices: dict[int, int] | None = None,
    ) -> Round[int]:
        """A round from the levels of its leaves; ``choices`` takes the new ones for loops."""

        def leaf(node: int) -> int:
            if node in leaves:
                return leaves[node]
            found = self.graph.leaf_of(node)
            if found is not None and found.kind == "open":
                return Aig.true
            if choices is None:
                return Aig.false
            return choices.setdefault(node, self.aig.input())

        def read(memory: int, bit: int, address: Sequence[int]) -> int:
            return self.memories[memory].read(address, until[memory])[bit]

        loops = None if quiet is None else quiet.__getitem__
        return self.settler.settle(leaf, read, before, loops)

    def advance(self, store: dict[int, int], now: Round[int]) -> tuple[dict[int, int], int]:
        """Storage after a round, and whether any of it (memories included) changed."""
        aig, changes = self.aig, []
        following: dict[int, int] = {}
        for bit in self.machine.stores:
            following[bit.leaf] = now.levels[bit.next]
            changes.append(aig.xor(store[bit.leaf], now.levels[bit.next]))
        for log in self.memories:
            unit = log.unit
            when = now.levels[unit.write]
            if when == Aig.false:
                continue
            address = tuple(now.levels[bit] for bit in unit.address)
            word = tuple(now.levels[bit] for bit in unit.data)
            same = aig.equal(log.read(address, len(log.writes)), word)
            changes.append(aig.and2(when, same ^ 1))
            log.write(when, address, word)
        return following, aig.or_(changes)

    def quiet_moment(self) -> Moment:
        """Any quiet moment: one more round would change nothing."""
        controls, free = self.inputs("control"), self.inputs("free")
        store, loops = self.inputs("store"), self.inputs("loop")
        until = [len(log.writes) for log in self.memories]
        now = self.settle({**controls, **free, **store}, until, None, loops)
        for loop in self.machine.loops:
            if loop.holds:
                for leaf, function in zip(loop.leaves, loop.functions, strict=True):
                    self.constraints.append(self.aig.xor(loops[leaf], now.levels[function]) ^ 1)
        unchanged = self.still(store, now)
        self.constraints += [unchanged, now.levels[self.machine.legal]]
        moment = Moment(
            controls=controls,
            free=free,
            choices=[],
            rounds=[now],
            start_store=store,
            store=store,
            monitors=self.inputs("monitor"),
            until=until,
            loops={
                leaf: loops[leaf]
                for loop in self.machine.loops
                if loop.holds
                for leaf in loop.leaves
            },
        )
        return moment

    def still(self, store: dict[int, int], now: Round[int]) -> int:
        """Whether a round leaves all storage as it is; nothing is written down."""
        aig = self.aig
        same = [aig.xor(store[b.leaf], now.levels[b.next]) ^ 1 for b in self.machine.stores]
        for log in self.memories:
            unit = log.unit
            when = now.levels[unit.write]
            if when != Aig.false:
                address = tuple(now.levels[bit] for bit in unit.address)
                word = tuple(now.levels[bit] for bit in unit.data)
                kept = aig.equal(log.read(address, len(log.writes)), word)
                same.append(aig.and2(when, kept ^ 1) ^ 1)
        return aig.and_(same)

    # the chain --------------------------------------------------------------------------------

    def first(self) -> Moment:
        """Start the chain; under `initial` it is the first step of a run."""
        moment = self.quiet_moment()
        aig, now = self.aig, moment.rounds[0]
        for monitor in self.machine.logic.monitors:
            level = moment.monitors[monitor.leaf]
            set_up = level if monitor.initial else level ^ 1
            self.constraints.append(aig.or_([self.initial ^ 1, set_up]))
        for leaf, sure in self.machine.first:
            level = moment.store[leaf]
            self.constraints.append(aig.or_([self.initial ^ 1, level if sure else level ^ 1]))
        gathered = {
            leaf: aig.or_([here, aig.and2(self.initial ^ 1, aig.input())])
            for leaf, here in self.gathered_at(now).items()
        }
        self.check_at_rest(moment)
        self.finish(moment, gathered)
        return moment

    def gathered_at(self, now: Round[int]) -> dict[int, int]:
        """What is gathered in a first step: what holds at its quiet moment, and no pulses."""
        gathered = self.machine.logic.gathered
        return {one.leaf: Aig.false if one.pulses else now.levels[one.node] for one in gathered}

    def check_at_rest(self, moment: Moment) -> None:
        """Note what is broken at a quiet moment with nothing before it."""
        rest = self.settler.at_rest(moment.rounds[-1])
        for check in self.checks:
            moment.broken[check.name] = Aig.false
            if check.kind in ("fights", "floats", "float", "program"):
                moment.broken[check.name] = self.round_checks.one(check, [], [], rest)

    def step(self, rounds: int) -> Moment:
        """One more step, of so many rounds."""
        last, aig = self.moments[-1], self.aig
        controls, free = self.inputs("control"), self.inputs("free")
        self.one_at_a_time(last.controls, controls)
        moment = Moment(
            controls=controls,
            free=free,
            choices=[],
            rounds=[],
            start_store=last.store,
            store=last.store,
            monitors={m.leaf: last.values[m.next] for m in self.machine.logic.monitors},
            until=[],
        )
        before = self.settler.at_rest(last.rounds[-1])
        gathered = {one.leaf: Aig.false for one in self.machine.logic.gathered}
        broken: dict[str, list[int]] = {check.name: [] for check in self.checks}
        for _ in range(rounds):
            before = self.add_round(moment, before, gathered, broken)
        self.constraints.append(before.levels[self.machine.legal])
        steady = self.settler.steady(before) if self.floats else before
        for check in self.checks:
            literals = broken[check.name]
            if check.kind == "fights":
                moment.broken[check.name] = literals[-1]
                moment.passing[check.name] = aig.or_(literals[:-1])
            elif check.kind == "floats":
                shown = self.round_checks.one(check, [], [], steady)
                moment.broken[check.name] = aig.or_([*literals, shown])
            else:
                moment.broken[check.name] = aig.or_(literals)
        self.finish(moment, gathered)
        return moment

    def add_round(
        self,
        moment: Moment,
        before: Round[int],
        gathered: dict[int, int],
        broken: dict[str, list[int]],
    ) -> Round[int]:
        """One more round of a step; what it gathers and breaks is added to the two tables."""
        aig = self.aig
        choices: dict[int, int] = {}
        until = [len(log.writes) for log in self.memories]
        leaves = {**moment.controls, **moment.free, **moment.store}
        now = self.settle(leaves, until, before, None, choices)
        if self.checks:
            # a step ends with its first quiet round; with rounds that come after it, it would not
            # be the same to what looks back a round whether a level floats or stands
            over = moment.quiet if moment.rounds else Aig.false
            for name, literal in self.round_checks.round(before, now).items():
                floats = name in self.floats
                broken[name].append(aig.and2(literal, over ^ 1) if floats else literal)
        for one in self.machine.logic.gathered:
            here = self.round_checks.pulses(one.node, now) if one.pulses else now.levels[one.node]
            gathered[one.leaf] = aig.or_([gathered[one.leaf], here])
        moment.store, changed = self.advance(moment.store, now)
        moment.quiet = aig.and_([changed ^ 1, now.unsettled ^ 1])
        moment.rounds.append(now)
        moment.choices.append(choices)
        return now

    def one_at_a_time(self, old: dict[int, int], new: dict[int, int]) -> None:
        """At most one control changes, but for those that may together."""
        together = self.machine.netlist.together
        if together == "all":
            return
        aig = self.aig
        changed = {
            name: aig.or_([aig.xor(old[leaf], new[leaf]) for leaf in leaves if leaf in new])
            for name, leaves in self.machine.controls.items()
        }
        names = [name for name, literal in changed.items() if literal != Aig.false]
        allowed = {frozenset((a, b)) for group in together for a in group for b in group}
        for place, a in enumerate(names):
            for b in names[place + 1 :]:
                if frozenset((a, b)) not in allowed:
                    self.constraints.append(aig.and2(changed[a], changed[b]) ^ 1)

    def finish(self, moment: Moment, gathered: dict[int, int]) -> None:
        """Evaluate the formulas at the quiet moment, keep the assumptions, and note it down."""
        self.evaluate(moment, gathered)
        for formula in self.machine.logic.formulas:
            if formula.kind == "assume":
                self.constraints.append(moment.values[formula.bad] ^ 1)
        self.moments.append(moment)

    def evaluate(self, moment: Moment, gathered: dict[int, int]) -> None:
        """Evaluate the formulas at the quiet moment."""
        moment.until = [len(log.writes) for log in self.memories]
        values = {**gathered, **moment.monitors}
        levels = moment.rounds[-1].levels

        def at(node: int) -> int:
            return values[node] if node in values else levels[node]

        def read(memory: int, bit: int, address: Sequence[int]) -> int:
            return self.memories[memory].read(address, moment.until[memory])[bit]

        for node in self.beyond:
            values[node] = self.settler.level(node, at, read)
        logic = self.machine.logic
        wanted = [monitor.next for monitor in logic.monitors]
        for formula in logic.formulas:
            wanted += formula.nodes()
        for node in wanted:
            values[node] = at(node)
        moment.values = values
