"""ROM tables as shared selectors: every word is where the table has it, whatever is shared.

The expected words are the table's own; the literals are evaluated gate by gate, for all addresses.
"""

from __future__ import annotations

from random import Random

import pytest

from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.rom import Table


def levels(aig: Aig, inputs: dict[int, int], ones: int) -> list[int]:
    """The level of each variable under many assignments at once, one a bit."""
    found: list[int] = []

    def level(literal: int) -> int:
        value = found[literal >> 1]
        return value ^ ones if literal & 1 else value

    for variable, gate in enumerate(aig.fanin):
        found.append(inputs.get(variable, 0) if gate is None else level(gate[0]) & level(gate[1]))
    return found


def words(contents: list[int], bits: int, lines: int, fixed: dict[int, int]) -> list[int]:
    """What is read at each address that agrees with ``fixed`` (bit from the left: level)."""
    aig, size = Aig(), 1 << lines
    address = [fixed[k] if k in fixed else aig.input() for k in range(lines)]
    inputs = {
        address[k] >> 1: sum((a >> (lines - 1 - k) & 1) << a for a in range(size))
        for k in range(lines)
        if k not in fixed
    }
    word = Table(contents, bits, lines).read(aig, address)
    ones = (1 << size) - 1
    found = levels(aig, inputs, ones)
    columns = [found[literal >> 1] ^ (ones if literal & 1 else 0) for literal in word]
    places = (
        a for a in range(size) if all(a >> (lines - 1 - k) & 1 == v for k, v in fixed.items())
    )
    return [sum((column >> a & 1) << bit for bit, column in enumerate(columns)) for a in places]


@pytest.mark.parametrize("seed", range(6))
def test_every_word(seed: int) -> None:
    random = Random(seed)
    lines, bits = random.randrange(1, 8), random.randrange(1, 9)
    few = [random.randrange(1 << bits) for _ in range(random.choice((1, 2, 3, 99)))]
    contents = [random.choice(few) for _ in range(random.randrange(1, (1 << lines) + 1))]
    whole = contents + [0] * ((1 << lines) - len(contents))
    assert words(contents, bits, lines, {}) == whole
    place, level = random.randrange(lines), random.randrange(2)
    expected = [w for a, w in enumerate(whole) if a >> (lines - 1 - place) & 1 == level]
    assert words(contents, bits, lines, {place: level}) == expected


def test_what_is_shared() -> None:
    """Equal and opposite blocks are built once, and what decides nothing not at all."""
    assert len(Table([0, 1, 1, 0], 1, 2).nodes) == 1 + 2
    assert len(Table([5] * 64, 4, 6).nodes) == 1
    assert len(Table([k >> 5 for k in range(64)], 1, 6).nodes) == 1 + 1
