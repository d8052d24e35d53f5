"""Runs by chance that tell two boards apart, where the search for the shortest one gives up.

Both boards are walked with numbers, controls moved alike, until something that is compared differs.
Then moves are left out as long as it still does. A run claims nothing: the solver has to find one
in which controls stand the same (`alike`), and both are walked and replayed as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.revisions.guesses import WEIGHTS, begun, movable, moved, next_move
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.start import Start
from breadproof.verify.revisions.walked import Walked, differ

STEPS = 120
"""So many moves a run has at most."""
MANY = (32, 8, 4, 2, 1)
"""So many moves are left out at once."""

Move = tuple[str, tuple[int, ...]]
Stands = dict[str, tuple[int, ...]]
"""How controls of the old board stand."""
Begin = Callable[[], tuple[list[Walker], list[Stands]]]


def stroll(
    old: Machine,
    new: Machine,
    links: Links,
    start: Start,
    items: Sequence[Item],
    often: Sequence[str],
    beats: tuple[str, ...],
    deadline: Deadline,
    seed: int = 0,
) -> list[Stands] | None:
    """How controls stand after each step of a run at whose end one of the items differs; None if
    none was found in time."""
    random = Random(seed)
    moving = movable(old, links)
    while moving and deadline.left > 0:
        here = random.getrandbits(32)

        def begin(here: int = here) -> tuple[list[Walker], list[Stands]]:
            return begun(old, new, links, start, Random(here), beats)

        weights = [random.choice(WEIGHTS) for _ in moving]
        moves: list[Move] = []
        try:
            walkers, _ = begin()
            while not _differs(walkers, items) and len(moves) < STEPS and deadline.left > 0:
                moves.append(next_move(walkers, moving, weights, often, len(moves), random))
                moved(walkers, links, *moves[-1])
            if _differs(walkers, items):
                return _shortened(begin, moves, links, items, deadline)
        except NotQuiet:
            continue
    return None


def _shortened(
    begin: Begin, moves: list[Move], links: Links, items: Sequence[Item], deadline: Deadline
) -> list[Stands]:
    """The run without the moves that it does not need: many at once, then fewer."""
    found = _replay(begin, moves, links, items)
    assert found is not None, "it was walked"
    for many in MANY:
        place = len(found[1])
        while place > 0 and deadline.left > 0:
            place -= many
            fewer = found[1][: max(0, place)] + found[1][place + many :]
            found = _replay(begin, fewer, links, items) or found
    return found[0]


def _replay(
    begin: Begin, moves: Sequence[Move], links: Links, items: Sequence[Item]
) -> tuple[list[Stands], list[Move]] | None:
    """How controls stand up to where an item differs, and the moves up to there, those left out
    that move nothing; None if no item differs."""
    walkers, stands = begin()
    made: list[Move] = []
    for name, bits in moves:
        if _differs(walkers, items):
            break
        if walkers[0].controls[name] == bits:
            continue
        try:
            moved(walkers, links, name, bits)
        except NotQuiet:
            return None
        stands.append(dict(walkers[0].controls))
        made.append((name, bits))
    return (stands, made) if _differs(walkers, items) else None


def _differs(walkers: Sequence[Walker], items: Sequence[Item]) -> bool:
    one, two = (_walked(walker) for walker in walkers)
    return any(differ(item, one, two) for item in items)


def _walked(walker: Walker) -> Walked:
    assert walker.before is not None, "it was walked"
    words = tuple(tuple(words) for words in walker.memories)
    return Walked(walker.machine, ((walker.before,),), words)
