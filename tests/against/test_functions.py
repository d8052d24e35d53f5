"""Chips without storage against Python's own `all`, `sum`, `+`, `<` and indexing.

Source: the function tables of the data books, from memory, as `tests.against.functions` says them.
Up to 2^14 combinations of the inputs are all tried; of more, each way to select and enable with
many seeded data, and for comparators and adders every word against words that are near.
"""

from __future__ import annotations

from random import Random

import pytest

from breadproof.specs.catalogue.part import PartType, Role
from tests.against import function_table, functions_more
from tests.against.chips import Board, Judge, machine, part_of, reading
from tests.against.functions import Function

CHIPS: dict[str, Function] = {**function_table.CHIPS, **functions_more.CHIPS}
ALL_UP_TO = 14
SEEDED = 4096


def combinations(part: PartType) -> list[dict[str, int]]:
    """Levels of all inputs, one a lane."""
    inputs = reading(part)
    if len(inputs) <= ALL_UP_TO:
        return [
            {name: code >> place & 1 for place, name in enumerate(inputs)}
            for code in range(1 << len(inputs))
        ]
    dice = Random(part.number)
    steering = [p.name for p in part.pins if p.kind.reads and p.role in (Role.SELECT, Role.ENABLE)]
    found = []
    for number in range(SEEDED):
        levels = {name: dice.getrandbits(1) for name in inputs}
        if number % 3:  # near a level of all inputs, for wide gates; near equality, for words
            base = dice.getrandbits(1)
            pairs = dict.fromkeys(inputs, base)
            if part.pin("P0") is not None:
                pairs = {
                    name: levels[f"P{name[1:]}"] if name[0] == "Q" else levels[name]
                    for name in inputs
                }
            levels = pairs
            for name in dice.sample(inputs, number % 3 - 1):
                levels[name] ^= 1
        levels |= {name: number >> place & 1 for place, name in enumerate(steering)}
        found.append(levels)
    return found


@pytest.mark.parametrize("number", CHIPS)
def test_function(number: str) -> None:
    part = part_of(number)
    lanes = combinations(part)
    board = Board(machine({"U1": number}), len(lanes))
    shows = [CHIPS[number](levels) for levels in lanes]
    for pin in part.pins:
        if not pin.kind.reads:
            continue
        level = board.lanes_of(levels[pin.name] for levels in lanes)
        # A pin that works both ways has a resistor inside: it is pulled low, or nobody drives it.
        free = board.lanes_of(int(show.get(pin.name) == "Z") for show in shows)
        board.put(pin.name, level, free & ~level)
    board.run()
    judge = Judge(board, part)
    judge.compare(shows, lanes)
    judge.everything()
