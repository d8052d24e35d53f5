"""What memories hold at the end of a run, as a page shows it: the lines in which words changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.export.stimulus.player import Player
from breadproof.export.stimulus.setting import Setting
from breadproof.verify.report.words import count

ACROSS = 16
LINES = 64
"""So many lines of a memory are shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DumpView:
    """``lines``: an address, and words, each with whether it is another one than at power-on."""

    name: str
    says: str
    lines: tuple[tuple[str, tuple[tuple[str, bool], ...]], ...]
    more: int


def dump_views(setting: Setting, player: Player, seed: int | None) -> Iterator[DumpView]:
    """The memories that can be written."""
    start = setting.start(seed)
    for number, unit in enumerate(setting.machine.memories):
        if unit.contents is not None:
            continue
        before = start.words[unit.label]
        now = [player.word(number, address) for address in range(unit.words)]
        changed = [a != b for a, b in zip(before, now, strict=True)]
        digits, places = (unit.bits + 3) // 4, len(f"{unit.words - 1:X}")
        lines = [
            (
                f"{first:0{places}X}",
                tuple(
                    (f"{now[k]:0{digits}X}", changed[k])
                    for k in range(first, min(first + ACROSS, unit.words))
                ),
            )
            for first in range(0, unit.words, ACROSS)
            if any(changed[first : first + ACROSS])
        ]
        size = f"{count(unit.words, 'word')} of {count(unit.bits, 'bit')}"
        yield DumpView(
            name=unit.label,
            says=f"{size}; {sum(changed) or 'none'} other than at power-on",
            lines=tuple(lines[:LINES]),
            more=max(0, len(lines) - LINES),
        )
