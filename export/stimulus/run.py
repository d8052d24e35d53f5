"""A script played to its end, to a failed check or to a breakpoint, and what was seen."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from breadproof.export.stimulus.player import Pause, Player, Reason, Record
from breadproof.export.stimulus.program import Program
from breadproof.export.stimulus.sights import Evaluator, Sights, Watched
from breadproof.specs.machine.trace import vector_text

PATIENCE = 0.1
"""Seconds that an engine plays before it is asked again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What was looked at, what it was to be ("" where a formula only names it), what it was."""

    name: str
    expected: str
    got: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """``first`` and ``last`` are the recorded rows kept, ``left_out`` how many came between.

    ``step`` counts from 0, which is power-on; ``steps`` and ``rounds`` are all that were played.
    ``levels`` explain a failed check or a breakpoint.
    """

    reason: Reason
    step: int
    rounds: int
    entry: int
    condition: int
    held: int
    first: tuple[Record, ...]
    last: tuple[Record, ...]
    left_out: int
    levels: tuple[Difference, ...]
    interrupted: bool

    @property
    def passed(self) -> bool:
        """Whether the script came to its end, or to a breakpoint, and nothing failed."""
        return self.reason in (Reason.ENDED, Reason.BREAK) and not self.interrupted

    def thinned(self, most: int | None) -> Simulated:
        """The same with at most so many rows, the first and the last; None: as it is."""
        rows = [*self.first, *self.last]
        if most is None or len(rows) <= most:
            return self
        head, tail = (most + 1) // 2, most // 2
        return replace(
            self,
            first=tuple(rows[:head]),
            last=tuple(rows[len(rows) - tail :]),
            left_out=self.left_out + len(rows) - most,
        )


@dataclass(slots=True)
class _Kept:
    """The first and the last rows; all of them if ``most`` is None."""

    most: int | None
    first: list[Record] = field(default_factory=list)
    last: deque[Record] = field(default_factory=deque)
    left_out: int = 0

    def add(self, record: Record) -> None:
        if self.most is None or len(self.first) < (self.most + 1) // 2:
            self.first.append(record)
            return
        self.last.append(record)
        if len(self.last) > self.most // 2:
            self.last.popleft()
            self.left_out += 1


def simulate(
    player: Player,
    program: Program,
    sights: Sights,
    *,
    rows: int | None,
    say: Callable[[str], None],
    each_round: Callable[[Record], None] | None = None,
) -> Simulated:
    """Play a program. Ctrl-C ends it; what was reached is told.

    ``rows``: at most so many records are kept; ``each_round`` gets the records of rounds.
    """
    kept = _Kept(most=rows)
    pause: Pause | None = None
    interrupted = False
    try:
        for pause in _pauses(player, say):
            for record in pause.records:
                if record.whole:
                    kept.add(record)
                elif each_round is not None:
                    each_round(record)
    except KeyboardInterrupt:
        interrupted = True
    reason = Reason.PAUSED if pause is None else pause.reason
    condition = -1 if pause is None else pause.condition
    return Simulated(
        reason=reason,
        step=player.step,
        rounds=player.rounds,
        entry=0 if pause is None else pause.entry,
        condition=condition,
        held=-1 if pause is None else pause.held,
        first=tuple(kept.first),
        last=tuple(kept.last),
        left_out=kept.left_out,
        levels=() if condition < 0 else explained(player, program, sights, condition),
        interrupted=interrupted,
    )


def _pauses(player: Player, say: Callable[[str], None]) -> Iterator[Pause]:
    """All pauses; an engine gets about as many rounds as it plays in `PATIENCE`."""
    most = 64
    while True:
        begun = time.monotonic()
        pause = player.play(most)
        yield pause
        if pause.reason is not Reason.PAUSED:
            return
        say(f"step {player.step:,}, {player.rounds:,} rounds")
        if time.monotonic() - begun < PATIENCE / 2:
            most *= 2


def explained(
    player: Player, program: Program, sights: Sights, condition: int
) -> tuple[Difference, ...]:
    """The levels that a condition speaks of; of a check's single levels those that differ."""
    one = program.conditions[condition]
    row = player.row()
    evaluator = Evaluator(sights, _reading(player, sights), player.leaves())
    found: list[Difference] = []
    for name, value, node in one.levels:
        if evaluator.level(node, row):
            continue
        expected = value if isinstance(value, str) else text_of(value, evaluator, row)
        if not isinstance(value, str):
            number = sum(
                level << bit for bit, level in enumerate(evaluator.levels(value.nodes, row))
            )
            if not number >> len(name.nodes):
                expected = vector_text(len(name.nodes), number)
        found.append(
            Difference(name=name.name, expected=expected, got=text_of(name, evaluator, row))
        )
    found += [
        Difference(name=name.name, expected="", got=text_of(name, evaluator, row))
        for name in one.named
    ]
    return tuple(found)


def _reading(player: Player, sights: Sights) -> Callable[[int, int, int], int]:
    def read(memory: int, bit: int, address: int) -> int:
        inside = address < sights.machine.memories[memory].words
        return player.word(memory, address) >> bit & 1 if inside else 0

    return read


def text_of(watched: Watched, evaluator: Evaluator, row: int) -> str:
    """A level as text: ``8'hA5``, the position of a switch, the lamps that are lit."""
    levels = evaluator.levels(watched.nodes, row)
    if watched.words:
        chosen = [word for word, level in zip(watched.words, levels, strict=True) if level]
        return " ".join(chosen) or watched.none
    return vector_text(len(levels), sum(level << bit for bit, level in enumerate(levels)))
