"""Memories that are only read: every word, against the list that was put in."""

from __future__ import annotations

from random import Random

import pytest

from tests.against.chips import Board, Judge, Shown, machine, part_of
from tests.against.functions import numbered
from tests.against.memories import READ_ONLY
from tests.against.model import bits, shown

EVERY_WORD_OF = 1 << 14


@pytest.mark.parametrize("number", READ_ONLY)
def test_words(number: str) -> None:
    """One lane a word: of the large ones as many as a medium one has, the first, the last, those
    at one address bit each, and any."""
    width = READ_ONLY[number]
    dice = Random(number)
    words = dice.randbytes(1 << width)
    asked = list(range(1 << width))
    if len(words) > EVERY_WORD_OF:
        single = [0, len(words) - 1, *(1 << place for place in range(width))]
        asked = [*single, *(dice.randrange(len(words)) for _ in range(EVERY_WORD_OF))]
    part = part_of(number)
    board = Board(machine({"U1": number}, contents=words), len(asked))
    board.every(**{pin.name: 1 for pin in part.pins if pin.kind.reads})
    for place in range(width):
        column = [address >> place & 1 for address in asked]
        board.put(f"A{place}", int("".join(map(str, reversed(column))), 2))
    data = numbered("IO", range(8))
    off: dict[str, Shown] = dict.fromkeys(data, "Z")
    judge = Judge(board, part)
    board.set(CE_n=0, OE_n=0)
    judge.compare([shown(data, bits(words[address], 8)) for address in asked], asked)
    for pin in ("CE_n", "OE_n"):
        board.set(**({"CE_n": 0, "OE_n": 0} | {pin: 1}))
        judge.compare([off] * len(asked), asked)
    judge.everything()
