"""Memories that are only read: every word, against the list that was put in."""

from __future__ import annotations

from random import Random

import pytest

from tests.against.chips import CATALOGUE, Board, Judge, Shown, machine
from tests.against.functions import numbered
from tests.against.memories import READ_ONLY
from tests.against.model import bits, shown


@pytest.mark.parametrize("number", READ_ONLY)
def test_every_word(number: str) -> None:
    """One lane a word, and as many with each pin that lets the outputs go."""
    width, low = READ_ONLY[number]
    dice = Random(number)
    words = [dice.getrandbits(8) for _ in range(1 << width)]
    part = CATALOGUE.part(number)
    board = Board(machine({"U1": number}, contents=words), len(words))
    board.every(**{pin.name: 1 for pin in part.pins if pin.kind.reads})
    for place in range(width):
        column = [address >> place & 1 for address in range(len(words))]
        board.put(f"A{place}", int("".join(map(str, reversed(column))), 2))
    data = numbered("IO", range(8))
    off: dict[str, Shown] = dict.fromkeys(data, "Z")
    judge = Judge(board, part)
    told = range(len(words))
    board.set(**dict.fromkeys(low, 0))
    judge.compare([shown(data, bits(word, 8)) for word in words], told)
    for pin in low:
        board.set(**(dict.fromkeys(low, 0) | {pin: 1}))
        judge.compare([off] * len(words), told)
    judge.everything()
