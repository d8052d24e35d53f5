"""What the fade engine's head says that it does, and nothing of how it does it."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.boards.corpus import BOARDS

FOLDER = BOARDS / "fade_engine"
CHANNELS = 16

Cue = tuple[Sequence[int], Sequence[int]]
"""Targets and rates of the channels."""


def cue_list(path: Path = FOLDER / "cues.csv") -> tuple[Cue, ...]:
    """The cue list that is shipped with the board; two rows a cue."""
    with path.open(encoding="utf-8") as file:
        rows = [
            [int(row[str(channel)]) for channel in range(CHANNELS)] for row in csv.DictReader(file)
        ]
    return tuple(zip(rows[::2], rows[1::2], strict=True))


def _moved(level: int, target: int, rate: int) -> int:
    if level < target:
        return min(level + rate, target)
    return max(level - rate, target)


@dataclass(slots=True)
class Fade:
    """The lights after RESET, and what STEP and a frame do to them."""

    cues: Sequence[Cue]
    limit: int
    cue: int = 0
    levels: list[int] = field(default_factory=lambda: [0] * CHANNELS)
    goals: Cue = ((0,) * CHANNELS, (0,) * CHANNELS)

    def step(self) -> None:
        """The next cue; behind the last one, the first."""
        self.goals = self.cues[self.cue]
        self.cue += 1
        if self.cues[self.cue][1][0] == 0:
            self.cue = 0

    def frame(self) -> list[int]:
        """Each light a rate nearer to its target; what is to be seen is at most the limit."""
        self.levels = [_moved(*channel) for channel in zip(self.levels, *self.goals, strict=True)]
        return [min(level, self.limit) for level in self.levels]
