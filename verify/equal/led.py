"""The board's rounds, led by the hardware where a loop is free to take several levels."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from breadproof.specs.machine.levels import Swing
from breadproof.specs.machine.machine import Loop, Machine
from breadproof.specs.machine.settle import Reader, Round, Settler
from breadproof.verify.prove.aig import Aig


class LedSettler(Settler[int]):
    """Settles rounds; for what a loop's past leaves open it wishes the hardware's levels.

    A wish is granted only if it is stable (`Settler`): what comes out is always a level that the
    board may have.
    """

    def __init__(self, machine: Machine, aig: Aig) -> None:
        """Follow nobody yet."""
        super().__init__(machine, aig, ())
        self.held: Mapping[int, int] = {}
        self.wishes: dict[int, int] = {}

    def follow(self, held: Mapping[int, int], wishes: dict[int, int]) -> None:
        """Wish what follows from the levels that the hardware holds, by leaves of loops; put the
        wishes where `settle` finds them, by choice leaf."""
        self.held, self.wishes = held, wishes

    def _choose(
        self,
        loop: Loop,
        settled: dict[int, Swing[int]],
        leaf: Callable[[int], int],
        read: Reader[int],
        now: Round[int],
    ) -> tuple[list[int], int]:
        at = self._following(loop, read, now)
        for variable, choice in zip(loop.leaves[: loop.cut], loop.choices, strict=True):
            self.wishes[choice] = at(variable)
        return super()._choose(loop, settled, leaf, read, now)

    def _following(self, loop: Loop, read: Reader[int], now: Round[int]) -> Callable[[int], int]:
        """The levels of a loop's nodes that follow from those that are held.

        The hardware's cuts leave no net that follows from itself; should one do so all the same,
        it is wished low.
        """
        functions = dict(zip(loop.leaves, loop.functions, strict=True))
        inner = {index for what, index in loop.schedule if what == "node"}
        found: dict[int, int] = {leaf: self.held[leaf] for leaf in functions if leaf in self.held}
        begun: set[int] = set()

        def at(node: int) -> int:
            if node in found:
                return found[node]
            if node not in inner and node not in functions:
                return now.levels[node]
            if node in begun:
                return Aig.false
            begun.add(node)
            found[node] = at(functions[node]) if node in functions else self.level(node, at, read)
            return found[node]

        return at
