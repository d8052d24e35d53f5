"""A circuit whose memories are written out word by word, for formats that know only bits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from breadproof.verify.exchange.circuit import Circuit, Latch, Named
from breadproof.verify.exchange.through import Through
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.memory import Word
from breadproof.verify.prove.system import Array

MAX_BITS = 1 << 16
"""So many bits of memories are written out at most."""


class TooManyWords(Exception):
    """The memories are too large; the text names them and their size."""


def flat(circuit: Circuit, limit: int = MAX_BITS) -> Circuit:
    """The same circuit with a latch for each bit of its memories, over a graph of its own.

    Raises:
        TooManyWords: they have more bits than ``limit``.
    """
    sizes = {array.name: array.word_bits << array.address_bits for array in circuit.arrays}
    if sum(sizes.values()) > limit:
        named = ", ".join(f"{name} ({bits} bits)" for name, bits in sizes.items())
        raise TooManyWords(f"memory {named}; at most {limit} bits are written out as latches")
    return _Flat(circuit).circuit()


class _Flat:
    def __init__(self, old: Circuit) -> None:
        self.old = old
        self.aig = Aig()
        self.through = Through(old.aig, old.reads)
        self.inputs = [replace(one, literal=self.aig.input()) for one in old.inputs]
        self.latches = [replace(one, literal=self.aig.input()) for one in old.latches]
        self.words = [
            [
                tuple(self.aig.input() for _ in range(array.word_bits))
                for _ in range(1 << array.address_bits)
            ]
            for array in old.arrays
        ]
        self.of = {0: Aig.false}
        for given, new in zip(old.inputs, self.inputs, strict=True):
            self.of[given.literal >> 1] = new.literal
        for latch, kept in zip(old.latches, self.latches, strict=True):
            self.of[latch.literal >> 1] = kept.literal

    def circuit(self) -> Circuit:
        old = self.old
        roots = [*old.goals(), *(latch.next for latch in old.latches)]
        for array in old.arrays:
            for write in array.writes:
                roots += [write.when, *write.address, *write.word]
        for variable in self.through.cone(roots, self.of):
            if variable not in self.of:
                self.variable(variable)
        latches = [
            replace(new, next=self.at(before.next))
            for before, new in zip(old.latches, self.latches, strict=True)
        ]
        for array, words in zip(old.arrays, self.words, strict=True):
            latches += self.written(array, words)
        return replace(
            old,
            aig=self.aig,
            inputs=tuple(self.inputs),
            latches=tuple(latches),
            arrays=(),
            reads=(),
            constraints=self.named(old.constraints),
            bad=self.named(old.bad),
            justice=self.named(old.justice),
            fair=self.named(old.fair),
        )

    def at(self, literal: int) -> int:
        """A literal of the old graph in the new one."""
        return self.of[literal >> 1] ^ (literal & 1)

    def named(self, old: Iterable[Named]) -> tuple[Named, ...]:
        return tuple(Named(one.name, tuple(map(self.at, one.literals))) for one in old)

    def variable(self, variable: int) -> None:
        """One more variable of the old graph; what it is made of is there."""
        number = self.through.read_of.get(variable)
        if number is not None:
            read = self.old.reads[number]
            address = [self.at(literal) for literal in read.address]
            word = self.selected(self.words[read.memory], address)
            for literal, found in zip(read.word, word, strict=True):
                self.of[literal >> 1] = found
            return
        gate = self.old.aig.fanin[variable]
        if gate is None:
            raise AssertionError(f"v{variable} is neither of the state nor an input")
        self.of[variable] = self.aig.and2(self.at(gate[0]), self.at(gate[1]))

    def selected(self, words: Sequence[Word], address: Sequence[int]) -> Word:
        """The word at an address (most significant first)."""
        for bit in reversed(address):
            pairs = zip(words[::2], words[1::2], strict=True)
            words = [
                tuple(self.aig.mux(bit, b, a) for a, b in zip(low, high, strict=True))
                for low, high in pairs
            ]
        (word,) = words
        return word

    def written(self, array: Array, words: Sequence[Word]) -> list[Latch]:
        """The latches of a memory, with what its writes make of them."""
        then = list(words)
        for write in array.writes:
            when = self.at(write.when)
            address = [self.at(literal) for literal in write.address]
            word = [self.at(literal) for literal in write.word]
            for place, hit in enumerate(self.decoded(when, address)):
                then[place] = tuple(
                    self.aig.mux(hit, new, old) for new, old in zip(word, then[place], strict=True)
                )
        return [
            Latch(
                name=f"{array.name}[{place}][{bit}]",
                literal=words[place][bit],
                next=then[place][bit],
                reset=None,
            )
            for place in range(len(words))
            for bit in range(array.word_bits)
        ]

    def decoded(self, when: int, address: Sequence[int]) -> list[int]:
        """For each place, whether it is the one that the address names."""
        found = [when]
        for bit in address:
            found = [self.aig.and2(one, way) for one in found for way in (bit ^ 1, bit)]
        return found
