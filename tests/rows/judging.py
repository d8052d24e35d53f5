"""Rows of the data sheet against what a chip does.

The rows of `specs/parts` were written from data-book tables (each table names its own), and never
from the formulas that are under test. `expand` makes stimuli of them; here they are put to a
`Subject`, and what it does is compared with the row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from random import Random
from typing import Protocol

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType, PinKind, RowTable
from breadproof.specs.catalogue.rows import Run, Stimulus, contents, expand
from breadproof.specs.reading.diagnostics import Span
from tests.rows.boards import Placed

CATALOGUE = Catalogue()
NUMBERS = CATALOGUE.numbers()
"""Every part file that ships."""
MAX_ROUNDS = 4
"""No part needs so many rounds after one change of its inputs: two edges, at most, and one more."""


class WrongRow(AssertionError):
    """A chip does not do what a row says."""


def placed(number: str) -> Placed:
    """The chip under its number, with the words that its tables take for granted."""
    part = CATALOGUE.part(number)
    words: dict[int, int] = {}
    for table in part.rows:
        for _, place, word in contents(part, table):
            assert words.setdefault(place, word) == word, f"{number}: two tables, two contents"
    return Placed(name=f"U{number}", part=part, contents=words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One run of a table."""

    chip: Placed
    table: RowTable
    run: Run
    number: int

    def dice(self, seed: int = 0) -> Random:
        """The chances of this run."""
        return Random(f"{seed} {self.chip.part.number} {self.table.origin} {self.number}")

    @property
    def key(self) -> tuple[Span, int]:
        """Which run of which table."""
        return self.table.spans[0], self.number

    def ends(self) -> Iterator[tuple[Stimulus, bool]]:
        """The stimuli, each with whether it is the last one of its row."""
        for this, following in zip(self.run, (*self.run[1:], None), strict=True):
            yield this, following is None or following.span != this.span

    def watched(self) -> tuple[str, ...]:
        """What the rows look at: pins, bits of storage, bits of words."""
        return tuple(dict.fromkeys(name for s in self.run for name, _ in s.expect))


def trials(chip: Placed, seed: int = 0) -> tuple[Trial, ...]:
    """All runs of all tables of a chip."""
    return tuple(
        Trial(chip=chip, table=table, run=run, number=number)
        for table in chip.part.rows
        for number, run in enumerate(expand(chip.part, table, seed))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PinSeen:
    """What is seen of a driving pin.

    ``drives`` and ``level`` tell what the chip puts on it, ``net`` what its net reads, ``outside``
    what is put on it from outside.
    """

    drives: bool
    level: int
    net: int
    outside: int | None

    def letter(self) -> str:
        """``H``, ``L`` or ``Z``; a sentence if the net does not go with the pin."""
        levels = f"drives {self.drives}, level {self.level}, net {self.net}, port {self.outside}"
        if self.drives:
            return "LH"[self.level] if self.outside is None and self.net == self.level else levels
        return "Z" if self.outside is None or self.net == self.outside else levels


class Subject(Protocol):
    """A chip that can be set and looked at."""

    def start(self, trial: Trial) -> None:
        """Power up with any content; each input at any steady level."""

    def apply(self, inputs: Mapping[str, int | None]) -> None:
        """Set pins together (None: not driven) and let the chip become quiet."""

    def see(self, name: str) -> str:
        """``H``, ``L`` or ``Z`` of a pin or bit; or what is wrong with it."""


Way = Callable[[Trial], set[Span]]
"""Runs a run; returns the rows that were compared, or raises `WrongRow`."""


def on(subject: Subject) -> Way:
    """The way that a subject is."""
    return lambda trial: judge(trial, subject)


def idle(chip: Placed, dice: Random) -> dict[str, int | None]:
    """A steady level for every input, no drive on what the chip may drive itself."""
    return {
        pin.name: None if pin.kind.drives else dice.getrandbits(1)
        for pin in chip.part.pins
        if pin.kind.reads or (pin.kind.drives and pin.kind is not PinKind.OUT)
    }


def judge(trial: Trial, subject: Subject) -> set[Span]:
    """Run one run; returns the rows that were compared.

    Raises:
        WrongRow: naming the row and what was seen.
    """
    subject.start(trial)
    watched = trial.watched()
    before: dict[str, str] = {}
    compared: set[Span] = set()
    for stimulus, ends in trial.ends():
        subject.apply(dict(stimulus.inputs))
        seen = {name: subject.see(name) for name in watched}
        for name, says in stimulus.expect:
            wanted = meant(says, before.get(name))
            if seen[name] != wanted:
                raise WrongRow(told(trial, stimulus, f"{name} is to be {wanted}: {seen[name]}"))
            compared.add(stimulus.span)
        if ends:
            before = seen
    return compared


def meant(says: str, before: str | None) -> str:
    """The letter that an expectation comes to."""
    if says == "=":
        return before or "nothing, no row is before"
    if says == "!":
        return {"H": "L", "L": "H"}.get(before or "", "nothing, no level was before")
    return says


def told(trial: Trial, stimulus: Stimulus, what: str) -> str:
    """The row's place and cells, what was set and what is wrong."""
    span, table = stimulus.span, trial.table
    left, right = table.table[table.spans.index(span)]
    inputs = " ".join(f"{name}={'Z' if v is None else v}" for name, v in stimulus.inputs)
    return (
        f"{span.file}:{span.line}: {what}\n"
        f"  columns {' '.join(table.columns_in)} | {' '.join(table.columns_out)}\n"
        f"  row     {' '.join(left)} | {' '.join(right)}\n"
        f"  run {trial.number}, set {inputs}"
    )


def looked_at(part: PartType) -> set[Span]:
    """The rows that say anything of an output."""
    return {
        span
        for table in part.rows
        for span, (_, right) in zip(table.spans, table.table, strict=True)
        if any(cell != "X" for cell in right)
    }


def every_row(part: PartType, compared: set[Span]) -> None:
    """Fail if there is no row, or one was left out."""
    wanted = looked_at(part)
    assert len(wanted) > 0, f"{part.number} has no rows"
    assert len(compared) > 0, f"{part.number}: no row was run"
    missed = sorted(span.line for span in wanted - compared)
    assert not missed, f"{part.number}: the rows of lines {missed} were not run"


def run_all(chip: Placed, way: Way, seed: int = 0) -> None:
    """All rows of a chip in one way."""
    compared: set[Span] = set()
    for trial in trials(chip, seed):
        compared |= way(trial)
    every_row(chip.part, compared)
