"""Whether a node may change more often than it must: change counting in one round.

A node's levels in a round are a word in which lows and highs alternate, from its level before to
its settled level (hazard algebra C: J. Brzozowski and Z. Esik, Hazard algebras, Formal Methods in
System Design 23, 2003). It must change once or not at all; ``extra`` tells whether it may change
more often: 010 and 101 while its level stays, 0101 and 1010 on its way. That is all that is kept of
a word, and it is enough to work out all the rest without loss:

- Of two words that both have a high, an AND gate makes as many highs as both together, less one; a
  steady low keeps it low. So it is extra if no input is steady low, and an input is extra or two
  move against each other. OR is the same with lows; an inverter keeps the number; an exclusive or
  adds the changes of its inputs.
- Controls and storage bits that change do it once. A memory's bit is extra while an address bit
  moves or its word changes: no data sheet says what it shows on the way.
- Without loops a node moves (`settle`: passes through "unknown") exactly if it changes or is extra.

In a loop the same rules are applied until nothing is added (their algorithm A). Every run of the
loop from a stable state, with any delays, is covered: as long as each gate's changes so far are no
more than were counted, its next change is one that its rule makes of its inputs' changes so far.
Counting stops at extra, so the end is always reached. Where a net of the loop may move although its
level stays, or settling leaves it a choice, it is extra, which may be more than the truth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar, assert_never

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.levels import Levels, Swing

L = TypeVar("L")


@dataclass(frozen=True, slots=True)
class Change(Generic[L]):
    """What a node does in one round: its level before, its swing, and whether it is extra."""

    before: L
    swing: Swing[L]
    extra: L


def extra_of(
    of: Levels[L], graph: Graph, node: int, own: Swing[L], at: Callable[[int], Change[L]]
) -> L:
    """Whether an inner node is extra, from its own swing and what its operands do."""
    parts = [at(arg) for arg in graph.operands(node)]
    match graph.kinds[node]:
        case Kind.CONST | Kind.LEAF | Kind.WAS:
            return of.false
        case Kind.NOT:
            return parts[0].extra
        case Kind.AND:
            high, _ = own  # if none is steady low
            return of.and_((high, _some_or_opposed(of, parts)))
        case Kind.OR:
            _, low = own  # if none is steady high
            return of.and_((low, _some_or_opposed(of, parts)))
        case Kind.XOR:
            both = of.and_([of.and_(part.swing) for part in parts])
            return of.or_([*(part.extra for part in parts), both])
        case Kind.READ:
            return of.and_(own)
        case kind:
            assert_never(kind)


def _some_or_opposed(of: Levels[L], parts: Sequence[Change[L]]) -> L:
    """Whether one is extra, or one may rise and another may fall."""
    rise, fall = [], []
    for part in parts:
        moves = of.and_(part.swing)
        rise.append(of.and_((moves, of.not_(part.before))))
        fall.append(of.and_((moves, part.before)))
    opposed = of.and_((of.or_(rise), of.or_(fall)))
    return of.or_([*(part.extra for part in parts), opposed])
