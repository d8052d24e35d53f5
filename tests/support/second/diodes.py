"""Diodes between groups of joined nets, three-valued: what they carry on, and what that makes.

Written as a spreading of highs and lows from group to group: a group that is high makes high
whatever hangs at the cathodes of its diodes, one that is low whatever hangs at their anodes. Two
levels on one group are a fight. A level is sure if it is held by a driver of the group's own or
comes from a group that is in no fight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from tests.support.second.words import X, both, either, inverted

LOW, HIGH, NONE, FIGHT, UNSURE = 1, 2, 4, 8, 16
"""What drivers do to a group: a level, nothing, a fight, or a level that may not be there."""


@dataclass(frozen=True, slots=True)
class Own:
    """What a group's own drivers do, each 0, 1 or X: high, low, anything at all, a fight."""

    high: int
    low: int
    active: int
    fight: int


def own_drive(hard: Sequence[tuple[int, int]], sinks: Sequence[int]) -> Own:
    """From (level, drives) of each that drives hard, and whether each that only sinks does."""
    active = [when for _, when in hard]
    sinking = either(list(sinks))
    pairs = [both(pair) for pair in combinations(active, 2)]
    pairs += [both((when, sinking)) for when in active]
    return Own(
        high=either([both((level, when)) for level, when in hard]),
        low=either([*(both((inverted(level), when)) for level, when in hard), sinking]),
        active=either([*active, sinking]),
        fight=either(pairs),
    )


Sources = Mapping[int, Sequence[int]]


def spread(start: Sequence[int], sources: Sources, ends: frozenset[int]) -> list[int]:
    """The least levels with which each group has its own or that of one of its sources.

    Supplies, the ``ends``, carry nothing on but their own.
    """
    found = list(start)
    while True:
        wider = [
            either(
                [
                    own,
                    *(
                        start[source] if source in ends else found[source]
                        for source in sources.get(group, ())
                    ),
                ]
            )
            for group, own in enumerate(start)
        ]
        if wider == found:
            return found
        found = wider


def through_diodes(
    own: Sequence[Own], pairs: Sequence[tuple[int, int]], ends: frozenset[int]
) -> list[int]:
    """What each group is driven to, a sum of the words above.

    ``pairs`` are (anode, cathode); ``ends`` the groups that are supplies.
    """
    above = {k: [a for a, cathode in pairs if cathode == k] for _, k in pairs}
    below = {a: [k for anode, k in pairs if anode == a] for a, _ in pairs}
    high = spread([one.high for one in own], above, ends)
    low = spread([one.low for one in own], below, ends)
    fights = [either([one.fight, both((h, w))]) for one, h, w in zip(own, high, low, strict=True)]
    calm = [inverted(fight) for fight in fights]

    def surely(level: Sequence[int], sources: dict[int, list[int]]) -> list[int]:
        """Whether the level comes from groups in no fight alone."""
        found = [0] * len(own)
        while True:
            wider = [
                either(
                    [
                        both((calm[s], either([level[s], found[s] if s not in ends else 0])))
                        for s in sources.get(g, ())
                    ]
                )
                for g in range(len(own))
            ]
            if wider == found:
                return found
            found = wider

    sure_high = surely([one.high for one in own], above)
    sure_low = surely([one.low for one in own], below)
    return [
        _word(
            either([one.active, high[g], low[g]]),
            fights[g],
            either([one.active, sure_high[g], sure_low[g]]),
            high[g],
        )
        for g, one in enumerate(own)
    ]


def _word(driven: int, fight: int, sure: int, high: int) -> int:
    if X in (driven, fight, sure):
        return LOW | HIGH | NONE | FIGHT | UNSURE
    if fight:
        return FIGHT
    if not driven:
        return NONE
    if not sure:
        return UNSURE
    return LOW | HIGH if high == X else (LOW, HIGH)[high]
