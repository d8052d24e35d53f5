"""A circuit in the BTOR2 format (Niemetz, Preiner, Wolf and Biere 2018), memories as arrays.

Every bit is a bit vector of width 1. States without ``init`` begin at any level.
"""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.verify.exchange.circuit import Circuit
from breadproof.verify.exchange.through import Through
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.system import Array


def btor2(circuit: Circuit, title: Sequence[str] = ()) -> str:
    """The circuit as text; ``title`` are lines of comment."""
    return _Writer(circuit).text(title)


def symbol(name: str) -> str:
    """A name as a symbol, which has no spaces."""
    return "_".join(name.split())


class _Writer:
    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.through = Through(circuit.aig, circuit.reads)
        self.lines: list[str] = []
        self.memo: dict[str, int] = {}
        self.of: dict[int, int] = {}
        self.words: dict[int, int] = {}
        self.arrays: list[int] = []

    def line(self, text: str) -> int:
        """One more line; its number."""
        self.lines.append(f"{len(self.lines) + 1} {text}")
        return len(self.lines)

    def node(self, text: str) -> int:
        """The line that says this, written only once."""
        if text not in self.memo:
            self.memo[text] = self.line(text)
        return self.memo[text]

    def bits(self, width: int) -> int:
        """The sort of vectors of so many bits."""
        return self.node(f"sort bitvec {width}")

    def array_sort(self, array: Array) -> int:
        address, word = self.bits(array.address_bits), self.bits(array.word_bits)
        return self.node(f"sort array {address} {word}")

    def text(self, title: Sequence[str]) -> str:
        one, circuit = self.bits(1), self.circuit
        self.of[0] = self.node(f"zero {one}")
        for given in circuit.inputs:
            self.of[given.literal >> 1] = self.line(f"input {one} {symbol(given.name)}")
        for latch in circuit.latches:
            self.of[latch.literal >> 1] = self.line(f"state {one} {symbol(latch.name)}")
        self.arrays = [
            self.line(f"state {self.array_sort(array)} {symbol(array.name)}")
            for array in circuit.arrays
        ]
        known = set(self.of)
        for variable in self.through.cone(self.roots(), known):
            if variable not in known:
                self.of[variable] = self.variable(variable)
        self.transitions()
        self.properties()
        return "\n".join([*(f"; {line}".rstrip() for line in title), *self.lines, ""])

    def roots(self) -> list[int]:
        circuit = self.circuit
        found = [*circuit.goals(), *(latch.next for latch in circuit.latches)]
        for array in circuit.arrays:
            for write in array.writes:
                found += [write.when, *write.address, *write.word]
        return found

    def at(self, literal: int) -> int:
        """The line of a literal."""
        if literal == Aig.true:
            return self.node(f"one {self.bits(1)}")
        found = self.of[literal >> 1]
        return self.node(f"not {self.bits(1)} {found}") if literal & 1 else found

    def vector(self, literals: Sequence[int]) -> int:
        """Literals, most significant first, as a vector."""
        found = self.at(literals[0])
        for width, literal in enumerate(literals[1:], start=2):
            bit = self.at(literal)
            found = self.node(f"concat {self.bits(width)} {found} {bit}")
        return found

    def variable(self, variable: int) -> int:
        one, number = self.bits(1), self.through.read_of.get(variable)
        if number is not None:
            read = self.circuit.reads[number]
            if number not in self.words:
                sort, address = self.bits(len(read.word)), self.vector(read.address)
                self.words[number] = self.node(f"read {sort} {self.arrays[read.memory]} {address}")
            bit = read.word.index(2 * variable)
            return self.node(f"slice {one} {self.words[number]} {bit} {bit}")
        gate = self.circuit.aig.fanin[variable]
        if gate is None:
            raise AssertionError(f"v{variable} is neither of the state nor an input")
        a, b = self.at(gate[0]), self.at(gate[1])
        return self.node(f"and {one} {a} {b}")

    def transitions(self) -> None:
        one = self.bits(1)
        for latch in self.circuit.latches:
            state = self.of[latch.literal >> 1]
            if latch.reset is not None:
                self.line(f"init {one} {state} {self.at(latch.reset)}")
            self.line(f"next {one} {state} {self.at(latch.next)}")
        for array, state in zip(self.circuit.arrays, self.arrays, strict=True):
            sort, found = self.array_sort(array), state
            for write in array.writes:
                address, word = self.vector(write.address), self.vector(write.word[::-1])
                written = self.node(f"write {sort} {found} {address} {word}")
                found = self.node(f"ite {sort} {self.at(write.when)} {written} {found}")
            self.line(f"next {sort} {state} {found}")

    def properties(self) -> None:
        circuit = self.circuit
        for what, group in (
            ("constraint", circuit.constraints),
            ("bad", circuit.bad),
            ("fair", circuit.fair),
        ):
            for named in group:
                at = self.at(named.literal)
                self.line(f"{what} {at} {symbol(named.name)}")
        for named in circuit.justice:
            lines = " ".join(str(self.at(literal)) for literal in named.literals)
            self.line(f"justice {len(named.literals)} {lines} {symbol(named.name)}")
