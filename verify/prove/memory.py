"""Memories over time without their words: writes remembered, first reads made consistent.

A read sees the newest write to its address; older content is a fresh word, equal for equal
addresses (Ackermann's reduction; Ganai, Gupta and Ashar 2004 for the use in unrolling). This is
exact: no content and no address is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import MemoryUnit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.rom import rom_table

Word = tuple[int, ...]
"""Literals, least significant first."""
Address = tuple[int, ...]
"""Literals, most significant first."""


@dataclass(frozen=True, slots=True)
class Write:
    """A write that happens if ``when`` holds."""

    when: int
    address: Address
    word: Word


@dataclass(slots=True)
class MemoryLog:
    """One memory: all writes so far and the reads of its first content."""

    aig: Aig
    unit: MemoryUnit
    writes: list[Write] = field(default_factory=list)
    first_reads: dict[Address, Word] = field(default_factory=dict)
    constraints: list[int] = field(default_factory=list)
    cache: dict[tuple[Address, int], Word] = field(default_factory=dict)

    def write(self, when: int, address: Sequence[int], word: Sequence[int]) -> None:
        """Add the newest write."""
        if when != Aig.false:
            self.writes.append(Write(when, tuple(address), tuple(word)))

    def read(self, address: Sequence[int], until: int) -> Word:
        """The word at an address after the first ``until`` writes."""
        place = tuple(address)
        key = (place, until)
        if key not in self.cache:
            if self.unit.contents is not None:
                word = self.rom(place, self.unit.contents)
            else:
                word = self.first(place)
                for write in self.writes[:until]:
                    hit = self.aig.and2(write.when, self.aig.equal(place, write.address))
                    word = tuple(
                        self.aig.mux(hit, new, old)
                        for new, old in zip(write.word, word, strict=True)
                    )
            self.cache[key] = word
        return self.cache[key]

    def first(self, address: Address) -> Word:
        """The content at an address before all writes: any word, the same for the same address."""
        if address not in self.first_reads:
            word = tuple(self.aig.input() for _ in range(self.unit.bits))
            for other, known in self.first_reads.items():
                same = self.aig.equal(address, other)
                if same != Aig.false:
                    differ = self.aig.equal(word, known) ^ 1
                    self.constraints.append(self.aig.and2(same, differ) ^ 1)
            self.first_reads[address] = word
        return self.first_reads[address]

    def rom(self, address: Address, contents: tuple[int, ...]) -> Word:
        """The word of a ROM."""
        return rom_table(contents, self.unit.bits, len(address)).read(self.aig, address)

    def take_constraints(self) -> list[int]:
        """What must hold for the reads made since the last call."""
        taken, self.constraints = self.constraints, []
        return taken
