"""What somebody does at the fade engine, as a script that any simulation can play.

A line is a thing to do and a number. Controls change in a step of their own, and the board settles.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tests.boards.fade.model import CHANNELS, FOLDER, Cue
from tests.support.microcode import label_addresses, read_lines

ACTIONS = ("clock", "until", "show", "reset", "charged", "step", "load", "frame", "desk", "strobe")
"""``clock N``: N changes of the oscillator; ``until A``: until the microprogram counter is at A;
``show``: what the lights are; the others are controls."""
MOST = 4000
"""Changes of the oscillator until what is waited for must have come."""

Line = tuple[str, int]
LABELS = label_addresses(read_lines(FOLDER.joinpath("microcode.txt").read_text("utf-8")))


def _until(label: str) -> Line:
    return "until", LABELS[label]


def reset() -> Iterator[Line]:
    """RESET, and how it makes dark; the capacitor at the button is charged some time later."""
    yield from (("reset", 1), ("clock", 8), ("reset", 0), ("clock", 5), ("charged", 1))
    yield from (("charged", 0), ("clock", 12), _until("wait"), ("clock", 4), ("show", 0))


def step() -> Iterator[Line]:
    """STEP, pressed and let go."""
    yield from (("step", 1), _until("step"), ("step", 0), _until("take"), _until("wait"))


def frames(count: int) -> Iterator[Line]:
    """So many frames; the lights are shown after each."""
    for _ in range(count):
        yield from (("frame", 1), _until("rest"), ("frame", 0), _until("wait"), ("show", 0))


def load(cues: Sequence[Cue]) -> Iterator[Line]:
    """The cue list from the desk."""
    yield from (("load", 1), _until("target"))
    for targets, rates in cues:
        for channel in range(CHANNELS):
            for level, taken, on in (
                (targets[channel], "again", "rate"),
                (rates[channel], "done", "target"),
            ):
                yield from (("desk", level), ("strobe", 1), _until(taken))
                yield from (("strobe", 0), _until(on))
    yield from (("load", 0), _until("wait"))
