"""What the rows of a part leave open: inputs and outputs that no row would notice.

An input is shown to matter if some row comes out otherwise when the chip is given a level that
stands still at that input, low or high: rows that all pass with the input held low would pass on a
chip that has no such input as well. An output is exercised if the rows expect it both high and low,
and off if it can let go.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import zip_longest

from breadproof.specs.catalogue.part import PartType, PinKind, PinType, Role
from breadproof.specs.catalogue.rows import Stimulus, expand
from breadproof.verify.rows.judging import Subject, Trial, steps

_WORDS = {"H": "high", "L": "low", "Z": "off"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """``pin`` (by name) and ``what`` the rows do not show of it."""

    pin: str
    what: str


def unexercised(part: PartType) -> tuple[Gap, ...]:
    """The outputs that no row expects at each of their levels."""
    found: dict[str, set[str]] = {}
    for table in part.rows:
        for run in expand(part, table):
            for stimulus in run:
                for name, letter in stimulus.expect:
                    found.setdefault(name, set()).add(letter)
    gaps = []
    for pin in part.pins:
        missing = [w for w in _wanted(pin) if w not in found.get(pin.name, ())]
        if missing:
            words = " or ".join(_WORDS[letter] for letter in missing)
            gaps.append(Gap(pin=pin.name, what=f"no row expects it {words}"))
    return tuple(gaps)


def _wanted(pin: PinType) -> str:
    """The letters that an output is to be seen with: what a resistor pulls up, it never drives."""
    if pin.pulled_up:
        return "LZ" if pin.kind.drives else ""
    match pin.kind:
        case PinKind.OUT:
            return "HL"
        case PinKind.THREE_STATE | PinKind.BIDIRECTIONAL:
            return "HLZ"
        case PinKind.OPEN_COLLECTOR | PinKind.WIRED_AND:
            return "LZ"
        case _:
            return ""


def unnoticed(pins: Iterable[str], trials: tuple[Trial, ...], subject: Subject) -> Iterator[Gap]:
    """The inputs, of those in ``pins``, that can stand still without any row failing."""
    usual = [(trial, list(_told(trial, subject))) for trial in trials]
    for name in pins:
        levels = [level for level in (0, 1) if not _noticed(name, level, usual, subject)]
        if levels:
            words = " or ".join(("low", "high")[level] for level in levels)
            yield Gap(pin=name, what=f"no row comes out otherwise while it is held {words}")


def inputs(part: PartType) -> tuple[str, ...]:
    """The names of what can be set from outside, and is to be shown to matter.

    The write pin of a memory that is only programmed is left out: rows read, and do not program.
    """
    programmed = any(memory.program is not None for memory in part.memories)
    return tuple(
        pin.name
        for pin in part.pins
        if pin.kind.reads and not (programmed and pin.role is Role.WRITE)
    )


Told = tuple[tuple[str, str, str], ...]
"""What was wrong after a stimulus: the pin or bit, what it was to be and what was seen."""


def _told(trial: Trial, subject: Subject) -> Iterator[Told]:
    for _, wrong in steps(trial, subject):
        yield tuple((item.name, item.wanted, item.seen) for item in wrong)


def _noticed(
    name: str, level: int, usual: list[tuple[Trial, list[Told]]], subject: Subject
) -> bool:
    """Whether any step comes out otherwise; most inputs are noticed in the first ones."""
    return any(
        told != before
        for trial, all_before in usual
        for told, before in zip_longest(_told(_held(trial, name, level), subject), all_before)
    )


def _held(trial: Trial, name: str, level: int) -> Trial:
    """A run in which an input has the same level all the time, except where nobody drives it."""
    pin = trial.chip.part.pin(name)
    # Held high by its own resistor, and so high where nobody drives it.
    pulled = pin is not None and pin.pulled_up and pin.kind.drives
    held = None if pulled and level else level

    def still(stimulus: Stimulus) -> Stimulus:
        inputs = tuple(
            (n, held if n == name and (pulled or v is not None) else v) for n, v in stimulus.inputs
        )
        return replace(stimulus, inputs=inputs)

    return replace(trial, run=tuple(still(stimulus) for stimulus in trial.run))
