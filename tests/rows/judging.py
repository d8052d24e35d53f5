"""The rows of every chip that ships, for the ways of this folder and those of the package.

The rows of `specs/parts` were written from data-book tables (each table names its own), and never
from the formulas that are under test.
"""

from __future__ import annotations

from collections.abc import Callable

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.rows import FILLINGS, contents, is_sequential
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.judging import Subject, Trial, compare, told, trials

CATALOGUE = Catalogue()
NUMBERS = tuple(
    f"{number}@{form.form}" if form.form else number
    for number in CATALOGUE.numbers()
    for form in CATALOGUE.part(number).forms()
)
"""Every part file that ships; a variant as NUMBER@FAMILY."""
LARGE_WORDS = 65536
LARGE = tuple(
    number
    for number in NUMBERS
    if any(m.words > LARGE_WORDS for m in CATALOGUE.part(number.partition("@")[0]).memories)
)
"""Memories that take a second or two a filling in Icarus: the long tests try but one."""


class WrongRow(AssertionError):
    """A chip does not do what a row says."""


def placed(number: str) -> Placed:
    """The chip under its number, with the words that its tables take for granted."""
    number, _, form = number.partition("@")
    part = next(p for p in CATALOGUE.part(number).forms() if p.form == form)
    words: dict[int, int] = {}
    for table in part.rows:
        for _, place, word in contents(part, table):
            assert words.setdefault(place, word) == word, f"{number}: two tables, two contents"
    return Placed(name=f"U{number}{form}", part=part, contents=words)


Way = Callable[[Trial], set[Span]]
"""Runs a run; returns the rows that were compared, or raises `WrongRow`."""


def on(subject: Subject) -> Way:
    """The way that a subject is."""
    return lambda trial: judge(trial, subject)


def judge(trial: Trial, subject: Subject) -> set[Span]:
    """Run one run; returns the rows that were compared.

    Raises:
        WrongRow: naming the row and what was seen.
    """
    outcome = compare(trial, subject)
    for wrong in outcome.wrong:
        raise WrongRow(told(trial, wrong.stimulus, wrong.what()))
    return set(outcome.compared)


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


def run_all(chip: Placed, way: Way, seed: int = 0, *, fewer: bool = False) -> None:
    """All rows of a chip in one way; with ``fewer``, of a table with storage, with its X cells all
    high and once by chance."""
    compared: set[Span] = set()
    for trial in trials(chip, seed):
        sequential = is_sequential(chip.part, trial.table)
        if not (fewer and sequential) or trial.number % FILLINGS in (1, 2):
            compared |= way(trial)
    every_row(chip.part, compared)
