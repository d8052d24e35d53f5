"""Walking a board: rounds and steps with numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.machine.trace import TraceRound, TraceStep

MAX_ROUNDS = 200
"""A walk gives up after so many rounds in one step."""


class Numbers:
    """Levels as 0 and 1."""

    false = 0
    true = 1

    def not_(self, a: int) -> int:
        """Inversion."""
        return 1 - a

    def and_(self, parts: Sequence[int]) -> int:
        """Conjunction."""
        return 0 if 0 in parts else 1

    def or_(self, parts: Sequence[int]) -> int:
        """Disjunction."""
        return 1 if 1 in parts else 0

    def xor(self, a: int, b: int) -> int:
        """Exclusive or."""
        return a ^ b


class NotQuiet(Exception):
    """The board did not get quiet."""


Choice = Callable[[str, int], int]
"""A level for a loop, by its name and cut number, when three-valued settling leaves it open."""


@dataclass(slots=True)
class Walker:
    """A board in motion. Storage, memories and controls can be set before `power_up`.

    ``storage`` maps ``U3.R[2]`` to 0 or 1; ``memories`` holds the words of each memory by number.
    """

    machine: Machine
    free: Callable[[str], int] = lambda reader: 0
    choice: Choice = lambda loop, cut: 0
    storage: dict[str, int] = field(default_factory=dict)
    controls: dict[str, tuple[int, ...]] = field(default_factory=dict)
    memories: list[list[int]] = field(default_factory=list)
    before: Round[int] | None = None
    settler: Settler[int] = field(init=False)
    free_now: dict[str, int] = field(default_factory=dict)
    choices_now: dict[str, int] = field(default_factory=dict)
    round_number: int = 0

    def __post_init__(self) -> None:
        """Take defaults: all storage 0, all controls at rest."""
        machine = self.machine
        self.settler = Settler(machine, Numbers(), [s.condition for s in machine.strobes])
        for store in machine.stores:
            self.storage.setdefault(store.label, 0)
        for control in machine.netlist.controls:
            self.controls.setdefault(control.name, (0,) * len(control.bits))
        self.memories = [
            list(memory.contents) if memory.contents is not None else [0] * memory.words
            for memory in machine.memories
        ]

    def power_up(self, limit: int | None = None) -> TraceStep:
        """Rounds from power-on to the first quiet moment, or ``limit`` rounds.

        Raises:
            NotQuiet: not quiet after 200 rounds, and no limit was given.
        """
        self.before = None
        return self._rounds(limit)

    def step(self, controls: Mapping[str, tuple[int, ...]], limit: int | None = None) -> TraceStep:
        """Change controls (those that are named), then rounds until quiet, or ``limit`` rounds.

        Raises:
            NotQuiet: not quiet after 200 rounds, and no limit was given.
        """
        self.controls.update(controls)
        if self.before is not None:
            self.before = self.settler.at_rest(self.before)
        return self._rounds(limit)

    def _rounds(self, limit: int | None) -> TraceStep:
        machine = self.machine
        self.free_now = {name: self.free(name) for name in machine.free}
        found: list[TraceRound] = []
        writes: set[str] = set()
        for number in range(MAX_ROUNDS):
            self.choices_now = {}
            self.round_number = number
            now = self.settler.settle(self._leaf, self._read, self.before)
            changed = self.advance(now)
            self.before = now
            writes |= {m.part for m in machine.memories if now.levels[m.write]}
            found.append(self.record(now))
            if now.unsettled and limit is None:
                raise NotQuiet("a loop of gates found no level at rest")
            if (not changed and not now.unsettled) or number + 1 == limit:
                return TraceStep(
                    controls=dict(self.controls),
                    free=dict(self.free_now),
                    rounds=tuple(found),
                    writes=tuple(sorted(writes)),
                )
        raise NotQuiet(f"not quiet after {MAX_ROUNDS} rounds")

    def _leaf(self, node: int) -> int:
        leaf = self.machine.graph.leaf_of(node)
        if leaf is None:
            raise AssertionError("only leaves are asked for")
        match leaf.kind:
            case "open":
                return 1
            case "control":
                return self.controls[leaf.name][leaf.bit]
            case "store":
                return self.storage[f"{leaf.name}[{leaf.bit}]"]
            case "free":
                return self.free_now[leaf.name]
            case "choice":
                name = leaf.name.partition("#")[0]
                level = self.choice(name, leaf.bit)
                self.choices_now[f"{name}.{leaf.bit}"] = level
                return level
            case kind:
                raise AssertionError(f"a round knows no {kind}")

    def _read(self, memory: int, bit: int, address: Sequence[int]) -> int:
        unit, place = self.machine.memories[memory], 0
        for level in address:
            place = 2 * place + level
        return (self.memories[memory][place] >> bit) & 1 if place < unit.words else 0

    def advance(self, now: Round[int]) -> bool:
        """All storage looks at the settled levels; whether any of it changed."""
        changed = False
        for store in self.machine.stores:
            level = now.levels[store.next]
            changed = changed or level != self.storage[store.label]
            self.storage[store.label] = level
        for words, memory in zip(self.memories, self.machine.memories, strict=True):
            if now.levels[memory.write]:
                place = 0
                for bit in memory.address:
                    place = 2 * place + now.levels[bit]
                word = sum(now.levels[bit] << k for k, bit in enumerate(memory.data))
                if place < memory.words and words[place] != word:
                    words[place] = word
                    changed = True
        return changed

    def record(self, now: Round[int]) -> TraceRound:
        """What a trace keeps of a round."""
        nets = list(zip(self.machine.netlist.nets, self.machine.nets, strict=True))
        return TraceRound(
            nets={net.name: now.levels[level.level] for net, level in nets},
            choices=dict(self.choices_now),
            unknown=tuple(net.name for net, level in nets if not now.levels[level.known]),
        )
