"""Registers of a design, and of what synthesis made of it, that may always be alike.

Both are run side by side for one clock, from states by chance in which registers of one class are
alike, with inputs by chance, many at once (a bit of a number each). Registers that then are alike
form the classes of the next run, until these stay as they are: the register correspondence of van
Eijk (1998), of which this is the guess, and `synthesis` the proof. A register is looked at as
differing from its level at power-up, so that one that is kept inverted is like the other.

Memories hold anything by chance, the same in both, or the words of a ROM.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from breadproof.verify.equal.blocks import Kept, own_address, part, ports, shown_words
from breadproof.verify.equal.mapped import Synthesized
from breadproof.verify.equal.patterns import MASK, PATTERNS, Levels, chosen, looked_up, same
from breadproof.verify.equal.readback import Circuit

_RUNS = 60
_MERGES = 6
_REFUTED = 3
_CALM = 6
"""So many runs in which nothing is parted are enough."""

_STATES = 32
_NEAR = 32
_COINS = 5
"""So many states are looked at again, each with what is near it in so many patterns; a register is
elsewhere there if so many coins fall alike."""

Register = tuple[int, int]
"""0 for the design, 1 for the netlist; and the register's bit."""

Classes = dict[Register, int]
"""The number of each register's class; `CONSTANT`: it stays as it powers up."""

CONSTANT = 0


@dataclass(frozen=True, slots=True)
class State:
    """A state that a solver has found: how registers differ from their starts, and what pads
    bring in."""

    registers: dict[Register, int]
    inputs: dict[str, tuple[int, ...]]


@dataclass(slots=True)
class Chance:
    """Both circuits, run from states by chance."""

    pair: Synthesized
    dice: Random = field(default_factory=lambda: Random(1))
    contents: dict[str, list[int]] = field(default_factory=dict)
    parts: dict[str, list[int]] = field(default_factory=dict)
    word_of: dict[int, str] = field(default_factory=dict)
    given: dict[Register, Register] = field(default_factory=dict)
    """Registers of the netlist with those of the design that have a name in common with them."""
    alike: dict[Register, Register] = field(default_factory=dict)
    """Registers that are taken as alike, each with one of them."""
    constant: set[Register] = field(default_factory=set)
    """Those that are taken to stay as they power up."""
    refuted: Counter[frozenset[Register]] = field(default_factory=Counter)
    """How often a solver has parted a pair, or has found that one does not stay as it powers up:
    perhaps only since others were not yet taken as alike."""
    states: list[State] = field(default_factory=list)
    """Those that solvers have found: some patterns are about them, and what is near."""
    behind: dict[Register, list[int]] = field(default_factory=dict)
    """The gates by which a register acts on itself."""
    levels: tuple[Levels, ...] = ()
    """Of the last run."""
    shown: dict[int, Kept] = field(default_factory=dict)
    """Registers of the design that hold what a memory shows, as `blocks` finds them."""

    def __post_init__(self) -> None:
        """Fill the memories, and note which word of the design a bit belongs to."""
        for name, memory in self.pair.design.memories.items():
            fixed = memory.words if not memory.writes else None
            self.contents[name] = [
                *(fixed or (self.dice.getrandbits(memory.width) for _ in range(memory.size)))
            ]
        for name, bits in self.pair.design.names.items():
            if len(bits) > 1:
                self.word_of |= {bit: name for bit in bits if isinstance(bit, int)}
        self.parts = {
            block.name: part(block, self.contents[block.memory]) for block in self.pair.blocks
        }
        self.shown = shown_words(self.pair)
        self.given = self.named()
        self.alike = dict(self.given)

    def classes(self, seconds: float) -> Classes | None:
        """The classes in which registers seem to be alike; None if they are not found in time."""
        end = time.monotonic() + seconds
        found = self.settled()
        for _ in range(_MERGES):
            if time.monotonic() > end:
                return None
            if not self.merged(found):
                break
            found = self.settled()
        return found

    def settled(self) -> Classes:
        """Part registers until all stay together; those of which nothing is known begin as one."""
        sides = ((0, self.pair.design), (1, self.pair.netlist))
        found: Classes = {}
        number: dict[Register, int] = {}
        known = {*self.alike, *self.alike.values()}
        for side, circuit in sides:
            for bit in circuit.registers:
                one = (side, bit)
                if side == 0 and bit in self.shown:
                    continue
                if self.root(one) in self.constant:
                    found[one] = CONSTANT
                elif one in known or circuit.registers[bit].initial is None:
                    found[one] = number.setdefault(self.root(one), len(number) + 2)
                else:
                    found[one] = 1
        calm = 0
        for _ in range(_RUNS):
            self.run(found)
            after = self.parted(found)
            calm = calm + 1 if len({*after.values()}) == len({*found.values()}) else 0
            found = after
            if calm == _CALM:
                break
        return found

    def root(self, one: Register) -> Register:
        """The register that stands for all that are taken as alike with one."""
        while one in self.alike:
            one = self.alike[one]
        return one

    def merged(self, classes: Classes) -> bool:
        """Take as alike what does the same whether it is low or high now; whether any is new.

        So it is found what synthesis has made one register of two, or has left out since it stays
        as it powers up.
        """
        sides: dict[int, set[int]] = {}
        for (side, _), number in classes.items():
            sides.setdefault(number, set()).add(side)
        loose = [one for one, number in classes.items() if len(sides[number]) < 2]
        self.run(classes)
        does: dict[tuple[int, int], Register] = {}
        for one, number in classes.items():
            if len(sides[number]) == 2 and not self.open(one):
                does.setdefault(self.either(one), one)
        new = False
        for one in loose:
            if one in self.constant or self.root(one) != one or self.open(one):
                continue
            low, high = self.either(one)
            other = does.setdefault((low, high), one)
            if low == 0 and classes[one] != CONSTANT and self.refuted[frozenset((one,))] < _REFUTED:
                self.constant.add(one)
                new = True
            elif (to := self.root(other)) != one and self.refuted[frozenset((one, to))] < _REFUTED:
                self.alike[one] = to
                new = True
        return new

    def open(self, one: Register) -> bool:
        """Whether a register comes up at any level."""
        circuit = self.pair.netlist if one[0] else self.pair.design
        return circuit.registers[one[1]].initial is None

    def either(self, one: Register) -> tuple[int, int]:
        """How a register differs from its start a clock after it did not, and after it did."""
        side, bit = one
        run, start = self.levels[side], self.start(side, bit)
        following = run.circuit.registers[bit].following
        if one not in self.behind:
            self.behind[one] = run.between(bit, following)
        path = self.behind[one]
        return (
            run.with_level(following, path, {bit: start}) ^ start,
            run.with_level(following, path, {bit: start ^ MASK}) ^ start,
        )

    def named(self) -> dict[Register, Register]:
        """The register of the design that has a name in common with one of the netlist."""
        number: dict[tuple[str, int], int] = {}
        names = places(self.pair.design)
        for bit in self.pair.design.registers:
            if bit not in self.shown:
                number |= dict.fromkeys(names.get(bit, ()), bit)
        names, found = places(self.pair.netlist), dict[Register, Register]()
        for bit in self.pair.netlist.registers:
            known = [number[name] for name in names.get(bit, ()) if name in number]
            if known:
                found[1, bit] = (0, known[0])
        return found

    def run(self, classes: Classes) -> None:
        """Run both for a clock, from states in which registers of a class are alike."""
        last = self.states[-_STATES:]
        levels = self.drawn(classes)
        for one, number in reversed(classes.items()):
            # The first of a class comes last, and says where all of it is.
            levels[number] = self.near(levels[number], [state.registers[one] for state in last])
        levels[CONSTANT] = 0
        first, second = (self.pair.design, self.pair.netlist)
        known: list[dict[int, int]] = [{}, {}]
        for (side, bit), number in classes.items():
            known[side][bit] = levels[number] ^ self.start(side, bit)
        for name, bits in inputs(first).items():
            drawn = [
                self.near(
                    self.dice.getrandbits(PATTERNS), [one.inputs[name][place] for one in last]
                )
                for place in range(len(bits))
            ]
            known[0] |= dict(zip(bits, drawn, strict=True))
            known[1] |= dict(zip(inputs(second).get(name, ()), drawn, strict=False))
        blocks = {block.name: block for block in self.pair.blocks}

        def read_block(name: str, address: Sequence[int]) -> list[int]:
            return looked_up(self.parts[name], address, len(blocks[name].bits))

        netlist = Levels(second, known[1], read_block)
        for bit, kept in self.shown.items():
            known[0][bit] = kept.view(known[0].__getitem__, netlist.at, chosen, 0)
        design = Levels(first, known[0], lambda name, at: self.read(name, at, netlist))
        self.levels = (design, netlist)

    def parted(self, classes: Classes) -> Classes:
        """Part in each class what is not alike a clock later."""
        after = {
            one: self.levels[one[0]].at(self.levels[one[0]].circuit.registers[one[1]].following)
            ^ self.start(*one)
            for one in classes
        }
        # What is taken as alike stays together, whatever the others made of it.
        key = {one: (classes[one], level) for one, level in after.items()}
        key |= {one: key[self.root(one)] for one in key}
        key |= {one: (CONSTANT, 0) for one in key if self.root(one) in self.constant}
        # The netlist's come up as they like; the design's may come up as the netlist's do.
        key |= {one: (classes[one], -1) for one in key if one[0] == 1 and self.open(one)}
        number_of = {(CONSTANT, 0): CONSTANT}
        return {one: number_of.setdefault(found, len(number_of)) for one, found in key.items()}

    def read(self, name: str, address: Sequence[int], netlist: Levels) -> list[int]:
        """What a memory of the design shows: what its blocks hold, after a write that waits."""
        word = looked_up(self.contents[name], address, self.pair.design.memories[name].width)
        for block in self.pair.blocks:
            if block.memory != name or not block.waits:
                continue
            own, upper = own_address(block, address)
            here = same(upper, [MASK * (block.row >> bit & 1) for bit in range(len(upper))])
            lanes = ports(netlist.circuit.memories[block.name])
            for bit, port in zip(block.bits, lanes, strict=True):
                if bit < len(word):
                    hit = here & netlist.at(port.enable) & same(own, netlist.row(port.address))
                    word[bit] = chosen(hit, netlist.at(port.data), word[bit])
        return word

    def near(self, drawn: int, levels: Sequence[int]) -> int:
        """By chance, but for the first patterns: those are as in a state, and as close by."""
        for place, level in enumerate(levels):
            here = ((1 << _NEAR) - 1) << (place * _NEAR)
            seldom = ~1
            for _ in range(_COINS):
                seldom &= self.dice.getrandbits(_NEAR)
            drawn = drawn & ~here | (here if level else 0) ^ (seldom << (place * _NEAR))
        return drawn

    def learn(self, state: State, members: Sequence[Register]) -> bool:
        """Look at a state that parts a class; whether it was a guess that its members are alike."""
        self.states.append(state)
        guessed = [one for one in members if one not in self.given]
        self.refuted[frozenset(members)] += 1
        for one in self.constant.intersection(guessed):
            self.refuted[frozenset((one,))] += 1
        self.constant -= {*guessed}
        for one in guessed:
            self.alike.pop(one, None)
        return not all(one in self.given or one in self.given.values() for one in members)

    def drawn(self, classes: Classes) -> dict[int, int]:
        """How each class differs from its start. A word of several bits is often all low, or all
        high: counters that have run down are states that chance alone would not find."""
        found: dict[int, int] = {}
        shapes: dict[str, tuple[int, int]] = {}
        for (side, bit), number in classes.items():
            if number in found:
                continue
            level = self.dice.getrandbits(PATTERNS)
            word = self.word_of.get(bit) if side == 0 else None
            if word is not None:
                if word not in shapes:
                    coins = [self.dice.getrandbits(PATTERNS) for _ in range(4)]
                    shapes[word] = ((coins[0] & coins[1]) ^ MASK, coins[2] & coins[3])
                kept, high = shapes[word]
                level = (level | high) & kept ^ self.start(side, bit)
            found[number] = level
        return found

    def start(self, side: int, bit: int) -> int:
        """A register's level at power-up, in all patterns."""
        circuit = self.pair.netlist if side else self.pair.design
        return MASK if circuit.registers[bit].initial else 0


def inputs(circuit: Circuit) -> dict[str, tuple[int, ...]]:
    """The bits that pads bring in, by pad."""
    return {
        name: tuple(bit for bit in bits if isinstance(bit, int))
        for name, bits in circuit.ports.items()
        if any(bit in circuit.inputs for bit in bits)
    }


def places(circuit: Circuit) -> dict[int, list[tuple[str, int]]]:
    """The names of all bits."""
    found: dict[int, list[tuple[str, int]]] = {}
    for name, bits in circuit.names.items():
        for place, bit in enumerate(bits):
            if isinstance(bit, int) and not name.startswith("$plain$"):
                found.setdefault(bit, []).append((name, place))
    return found
