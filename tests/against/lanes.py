"""Many copies of a board at once: bit k of every level belongs to lane k.

The round is the Machine's own (`Settler`), in an algebra whose levels are Python integers, so that
hundreds of boards run as fast as one. A lane can have its own controls, its own contents and its
own faults.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Reader, Round, Settler

MAX_ROUNDS = 12
"""No board of these tests takes so many rounds after one change."""


class Bits:
    """Levels of all lanes as one integer."""

    false = 0

    def __init__(self, lanes: int) -> None:
        self.true = (1 << lanes) - 1

    def not_(self, a: int) -> int:
        """Inversion."""
        return self.true ^ a

    def and_(self, parts: Sequence[int]) -> int:
        """Conjunction."""
        found = self.true
        for part in parts:
            found &= part
        return found

    def or_(self, parts: Sequence[int]) -> int:
        """Disjunction."""
        found = 0
        for part in parts:
            found |= part
        return found

    def xor(self, a: int, b: int) -> int:
        """Exclusive or."""
        return a ^ b


class FaultySettler(Settler[int]):
    """Rounds in which nodes are stuck, or operands of nodes inverted.

    ``stuck[node]`` is (lanes held low, lanes held high), ``turned[node]`` the lanes in which an
    operand counts for its inverse, by operand.
    """

    stuck: Mapping[int, tuple[int, int]] = {}
    turned: Mapping[int, Mapping[int, int]] = {}

    def level(self, node: int, at: Callable[[int], int], read: Reader[int]) -> int:
        turned = self.turned.get(node)
        if turned is None:
            return super().level(node, at, read)
        return super().level(node, lambda arg: at(arg) ^ turned.get(arg, 0), read)

    def _node(
        self,
        node: int,
        leaf: Callable[[int], int],
        read: Reader[int],
        before: Round[int] | None,
        now: Round[int],
    ) -> None:
        super()._node(node, leaf, read, before, now)
        if node in self.turned:
            now.levels[node] = self.level(node, now.levels.__getitem__, read)
        if node in self.stuck:
            low, high = self.stuck[node]
            now.levels[node] = now.levels[node] & ~low | high


@dataclass(slots=True)
class Lanes:
    """A board in ``count`` lanes. What was never set is seeded chance, lane by lane.

    ``storage`` maps ``U3.R[2]`` to a level; ``words`` holds the words that were written or looked
    at, for each memory and lane.
    """

    machine: Machine
    count: int
    dice: Random
    stuck: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    turned: Mapping[int, Mapping[int, int]] = field(default_factory=dict)
    alike: bool = False
    """All lanes begin with the same contents and floating levels."""
    bits: Bits = field(init=False)
    settler: FaultySettler = field(init=False)
    storage: dict[str, int] = field(default_factory=dict)
    controls: dict[str, list[int]] = field(default_factory=dict)
    words: list[list[dict[int, int]]] = field(default_factory=list)
    placed: tuple[Sequence[int], list[int]] = ((), [])
    """The last address, and what it is in each lane."""
    now: Round[int] | None = None
    free: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.bits = Bits(self.count)
        self.settler = FaultySettler(self.machine, self.bits, [])
        self.settler.stuck = self.stuck
        self.settler.turned = self.turned
        self.begin()

    def begin(self) -> None:
        """Other contents; no part has seen an edge."""
        self.storage = {store.label: self.any() for store in self.machine.stores}
        self.words = [[{} for _ in range(self.count)] for _ in self.machine.memories]
        for control in self.machine.netlist.controls:
            self.controls.setdefault(control.name, [0] * len(control.bits))
        self.now = None

    def any(self) -> int:
        """Any level."""
        if self.alike:
            return self.bits.true * self.dice.getrandbits(1)
        return self.dice.getrandbits(self.count)

    def run(self) -> int:
        """Rounds until no lane changes any more; the lanes that did not become quiet in time."""
        self.free = {name: self.any() for name in self.machine.free}
        if self.now is not None:
            self.now = self.settler.at_rest(self.now)
        restless = 0
        for _ in range(MAX_ROUNDS):
            self.now = self.settler.settle(self._leaf, self._read, self.now)
            restless = self._advance(self.now) | self.now.unsettled
            if not restless:
                break
        return restless

    def level(self, node: int) -> int:
        """The level of a node in the last round."""
        assert self.now is not None
        return self.now.levels[node]

    def _leaf(self, node: int) -> int:
        leaf = self.machine.graph.leaf_of(node)
        assert leaf is not None
        match leaf.kind:
            case "open":
                return self.bits.true
            case "control":
                return self.controls[leaf.name][leaf.bit]
            case "store":
                return self.storage[f"{leaf.name}[{leaf.bit}]"]
            case "free":
                return self.free[leaf.name]
            case "choice":
                return self.any()
            case kind:
                raise AssertionError(f"a round knows no {kind}")

    def _places(self, address: Sequence[int]) -> list[int]:
        """The address in each lane."""
        if all(level in (0, self.bits.true) for level in address):
            place = 0
            for level in address:
                place = 2 * place + (level & 1)
            return [place] * self.count
        key = tuple(address)
        if self.placed[0] != key:
            self.placed = key, self._columns(key)
        return self.placed[1]

    def _columns(self, address: Sequence[int]) -> list[int]:
        texts = [f"{level:0{self.count}b}" for level in address]
        return [int("".join(column), 2) for column in zip(*texts, strict=True)][::-1]

    def _read(self, memory: int, bit: int, address: Sequence[int]) -> int:
        found, contents = 0, self.machine.memories[memory].contents
        if contents is not None:
            places = reversed(self._places(address))
            return int("".join("01"[contents[place] >> bit & 1] for place in places), 2)
        for lane, place in enumerate(self._places(address)):
            found |= (self.word(memory, lane, place) >> bit & 1) << lane
        return found

    def word(self, memory: int, lane: int, place: int) -> int:
        """A word of a lane; one that nobody wrote is any."""
        unit = self.machine.memories[memory]
        if place >= unit.words:
            return 0
        words = self.words[memory][lane]
        if place not in words:
            words[place] = self.dice.getrandbits(unit.bits)
            if self.alike:
                for other in self.words[memory]:
                    other.setdefault(place, words[place])
        return words[place]

    def _advance(self, now: Round[int]) -> int:
        """All storage looks at the settled levels; the lanes in which any of it changed."""
        changed = 0
        for store in self.machine.stores:
            level = now.levels[store.next]
            changed |= level ^ self.storage[store.label]
            self.storage[store.label] = level
        for number, memory in enumerate(self.machine.memories):
            write = now.levels[memory.write]
            if not write:
                continue
            places = self._places([now.levels[bit] for bit in memory.address])
            for lane, place in enumerate(places):
                if write >> lane & 1 and place < memory.words:
                    word = sum((now.levels[b] >> lane & 1) << k for k, b in enumerate(memory.data))
                    if self.words[number][lane].get(place) != word:
                        self.words[number][lane][place] = word
                        changed |= 1 << lane
        return changed
