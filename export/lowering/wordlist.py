"""The words of a ROM in generated Python."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from breadproof.export.lowering.layout import INDENT, lay_out

ROW = 8
RUN = 8 * ROW
"""So many equal words in a row are written as one, and how often."""


def lay_out_made(target: str, words: Sequence[int] | None, depth: int, comment: str) -> list[str]:
    """``self.U9 = Chip28C16([0x12, 0x34])``: a call with a list of words, or (None) with nothing.

    Zeros at the end are left out, since Amaranth fills them in. Many words stand in rows.
    """
    if words is None:
        return lay_out(f"{target}()", depth, comment)
    last = max((place for place, word in enumerate(words) if word), default=-1)
    if last < ROW:
        listed = ", ".join(_number(word) for word in words[: last + 1])
        return lay_out(f"{target}([{listed}])", depth, comment)
    pad, inner = INDENT * depth, INDENT * (depth + 1)
    above = [f"{pad}# {comment}"] if comment else []
    rows = [f"{inner}{INDENT}{row}," for row in _rows(words[: last + 1])]
    return [*above, f"{pad}{target}(", f"{inner}[", *rows, f"{inner}]", f"{pad})"]


def _rows(words: Sequence[int]) -> list[str]:
    """Rows of words, and runs of equal ones as ``*[0xFF] * 1000``."""
    rows: list[str] = []
    row: list[str] = []

    def ended() -> None:
        if row:
            rows.append(", ".join(row))
            row.clear()

    for word, equals in groupby(words):
        count = sum(1 for _ in equals)
        if count >= RUN:
            ended()
            rows.append(f"*[{_number(word)}] * {count}")
            continue
        for _ in range(count):
            row.append(_number(word))
            if len(row) == ROW:
                ended()
    ended()
    return rows


def _number(word: int) -> str:
    return f"0x{word:02X}"
