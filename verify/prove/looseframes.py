"""The runs of a board that is let loose: a chain in which each chip's part is taken or not.

What `frames` builds for the board, over `LooseMachine`: each holder has one literal for the whole
chain, each ``any`` leaf a new one in every round. What an ``any`` leaf shows may pulse at any time.
Assumptions are not required but kept as literals, each with a literal of its own that takes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.levels import Swing
from breadproof.specs.machine.loose import LooseMachine
from breadproof.specs.machine.machine import MemoryUnit
from breadproof.specs.machine.settle import Round, Settler
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.checks import RoundChecks, count_roots, swing_roots
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.memory import MemoryLog, Word


class LooseFrames(Frames):
    """The chain. ``held`` has the literal of each holder's leaf, ``assumed`` of each assumption.

    ``allowed`` tells for each moment whether it meets the assumptions that are taken; ``anything``
    has the literals of the ``any`` leaves in its last round, by leaf.
    """

    def __init__(self, loose: LooseMachine) -> None:
        """Nothing is built before `first`."""
        machine = loose.machine
        super().__init__(machine)
        self.loose = loose
        self.held = {leaf: self.aig.input() for leaf in loose.held.values()}
        self.assumed = {
            formula.formula.name: self.aig.input()
            for formula in machine.logic.formulas
            if formula.kind == "assume"
        }
        self.allowed: list[int] = []
        self.anything: list[dict[int, int]] = []
        pulsing = [g.node for g in machine.logic.gathered if g.pulses]
        counted = [*count_roots(machine), *pulsing]
        self.settler = _LooseSettler(machine, self.aig, swing_roots(machine), counted)
        self.round_checks = RoundChecks(machine, self.settler, self.checks)
        self.memories = [self.memory(unit) for unit in machine.memories]
        self._last: dict[int, int] = {}

    def memory(self, unit: MemoryUnit) -> MemoryLog:
        """A memory whose words are its own, or anything."""
        held = self.held[self.loose.held[self.loose.memory_holder(unit)]]
        return _LooseLog(self.aig, unit, held=held)

    def settle(
        self,
        leaves: dict[int, int],
        until: Sequence[int],
        before: Round[int] | None,
        quiet: dict[int, int] | None = None,
        choices: dict[int, int] | None = None,
    ) -> Round[int]:
        """A round; each thing that is let loose does something new."""
        self._last = {leaf: self.aig.input() for leaf in self.loose.any}
        return super().settle({**leaves, **self.held, **self._last}, until, before, quiet, choices)

    def first(self) -> Moment:
        """Start the chain; power-up levels count for parts that are held."""
        moment = super().first()
        for holder, leaf, sure in self.loose.first:
            level = moment.store[leaf] if sure else moment.store[leaf] ^ 1
            held = self.held[self.loose.held[holder]]
            self.constraints.append(self.aig.or_([self.initial ^ 1, held ^ 1, level]))
        return moment

    def finish(self, moment: Moment, gathered: dict[int, int]) -> None:
        """Evaluate the formulas, and note whether the assumptions are met."""
        self.evaluate(moment, gathered)
        kept = [
            self.aig.or_([self.assumed[one.formula.name] ^ 1, moment.values[one.bad] ^ 1])
            for one in self.machine.logic.formulas
            if one.kind == "assume"
        ]
        self.allowed.append(self.aig.and_(kept))
        self.anything.append(self._last)
        self.moments.append(moment)

    def loose_state(self, number: int) -> list[int]:
        """What things that are let loose show at a moment; nothing of those that are held."""
        return [
            self.aig.and2(literal, self.held[self.loose.held[self.loose.any[leaf]]] ^ 1)
            for leaf, literal in self.anything[number].items()
        ]


class _LooseSettler(Settler[int]):
    """A leaf that may be anything may also pulse."""

    def free_of_the_board(self, node: int) -> bool:
        found = self.graph.leaf_of(node)
        return found is not None and found.kind == "any"

    def leaf_swing(self, node: int, before: Round[int] | None, now: Round[int]) -> Swing[int]:
        if self.free_of_the_board(node):
            return self.unknown
        return super().leaf_swing(node, before, now)

    def _node_extra(self, node: int, before: Round[int] | None, now: Round[int]) -> int:
        if self.graph.kinds[node] is Kind.LEAF and self.free_of_the_board(node):
            return Aig.true
        return super()._node_extra(node, before, now)


@dataclass(slots=True)
class _LooseLog(MemoryLog):
    """A memory that is read as it is while ``held`` holds; else any word is read."""

    held: int = Aig.true

    def read(self, address: Sequence[int], until: int) -> Word:
        """See `MemoryLog.read`; of the same address at the same time the same word."""
        key = (tuple(address), until)
        if key in self.cache:
            return self.cache[key]
        own = MemoryLog.read(self, address, until)
        word = tuple(self.aig.mux(self.held, bit, self.aig.input()) for bit in own)
        self.cache[key] = word
        return word
