"""The part of a transition system that some properties and clauses look at.

What is left out are bits that no kept bit, condition or property depends on, such as what other
formulas remember. Each run of the system is one of the part, so that what no run of the part
does no run of the board does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from breadproof.verify.exchange.through import Through
from breadproof.verify.prove.cubes import WORDS
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.system import System

REMEMBERED = f"{WORDS['monitor']} "


def part_of(
    system: System, names: Iterable[str], clauses: Sequence[Clause], more: Sequence[int] = ()
) -> System:
    """The part of the properties of these names, of the bits of the clauses, and of ``more``.

    Raises:
        KeyError: a clause names a bit that the system has not.
    """
    part = system.only(names)
    part = replace(part, waiting=(), fair=(), nested=())
    through = Through(system.aig, system.reads)
    work = _Cone(part, through, clauses, more)
    kept = work.kept()
    return replace(
        part,
        bits=tuple(bit for bit in system.bits if bit.now >> 1 in kept),
        inputs=tuple(one for one in system.inputs if one.literal >> 1 in kept),
        first=tuple(work.beginnings(kept)),
    )


class _Cone:
    """What decides, now or later, about what the part is asked for."""

    def __init__(
        self, part: System, through: Through, clauses: Sequence[Clause], more: Sequence[int]
    ) -> None:
        self.part = part
        self.through = through
        self.clauses = clauses
        self.more = more
        self.of = {bit.now >> 1: bit.then for bit in part.bits}
        self.first = {literal: set(through.cone([literal])) for literal in part.first}

    def kept(self) -> set[int]:
        """The variables."""
        roots = self.roots()
        kept: set[int] = set()
        while True:
            found = set(self.through.cone([*roots, *self.beginnings(kept)]))
            if found == kept:
                return kept
            roots += [self.of[variable] for variable in found - kept if variable in self.of]
            kept = found

    def roots(self) -> list[int]:
        part = self.part
        found = [*part.here, *part.there, *self.more]
        for goal in part.safety:
            found += [goal.at_first, goal.after]
        found += [part.names[name][0] for clause in self.clauses for name, _ in clause]
        # memories are never left out, since states are compared with their content
        for array in part.arrays:
            for write in array.writes:
                found += [write.when, *write.address, *write.word]
        return found

    def beginnings(self, kept: set[int]) -> list[int]:
        """The conditions on first moments, but for those on what is left out: each of them says
        how one bit begins that formulas remember, or storage."""
        own = {bit.now >> 1 for bit in self.part.bits if bit.name.startswith(REMEMBERED)}
        return [literal for literal, cone in self.first.items() if cone & own <= kept]
