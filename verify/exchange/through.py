"""What literals are made of, through the reads of memories: their addresses count too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.system import Read


class Through:
    """Walks an and-inverter graph some of whose variables are words that memories held."""

    def __init__(self, aig: Aig, reads: Sequence[Read]) -> None:
        """Index the words' variables."""
        self.aig = aig
        self.reads = reads
        self.read_of = {
            literal >> 1: number for number, read in enumerate(reads) for literal in read.word
        }

    def behind(self, variable: int) -> list[int]:
        """The variables that a variable is made of; constants left out."""
        number = self.read_of.get(variable)
        args = self.aig.fanin[variable] if number is None else self.reads[number].address
        return [arg >> 1 for arg in args or () if arg > 1]

    def cone(self, roots: Iterable[int], known: Collection[int] = ()) -> list[int]:
        """Variables that literals are made of, in topological order; ``known`` ones end there."""
        seen: set[int] = set()
        stack = [literal >> 1 for literal in roots if literal > 1]
        while stack:
            variable = stack.pop()
            if variable not in seen:
                seen.add(variable)
                if variable not in known:
                    stack += self.behind(variable)
        return sorted(seen)
