"""A part file's rows run through the Machine and in Amaranth, and all that comes out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from breadproof.specs.catalogue.cells import looped, output_bits
from breadproof.specs.catalogue.part import PartType, RowTable
from breadproof.specs.catalogue.partfile import load_part
from breadproof.specs.catalogue.parttimes import read_times
from breadproof.specs.catalogue.rows import contents
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.gaps import Gap, inputs, unexercised, unnoticed
from breadproof.verify.rows.judging import Subject, Trial, Wrong, compare, trials_of
from breadproof.verify.rows.ways import OnBench, OnMachine, machine_of

WAYS = ("Machine", "Amaranth")
"""How the rows are run: by the board's finite-state machine, and by the modules that are exported
in Amaranth's simulator. The solver's encoding is left to the tests of the project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A cell that does not come true: its place, its row, and what was expected and seen.

    ``name`` is the pin or bit, "" if the chip did not become quiet; ``given`` the levels that were
    set just before; ``ways`` those in which it was so.
    """

    span: Span
    row: str
    name: str
    expected: str
    seen: str
    given: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableCheck:
    """One table of rows, of one variant of the part ("" if it has none)."""

    form: str
    origin: str
    columns: str
    line: int
    rows: int
    runs: int
    failures: tuple[Failure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCheck:
    """All that a check of a part file found out."""

    path: Path
    part: PartType
    tables: tuple[TableCheck, ...]
    gaps: tuple[tuple[str, Gap], ...]
    """With the variant ("" if there is none)."""

    @property
    def passed(self) -> bool:
        """Whether every row came true and the rows look at every input and output."""
        return not self.gaps and not any(table.failures for table in self.tables)


def check_part(path: Path, progress: Callable[[str], None] = lambda text: None) -> PartCheck:
    """Run the rows of a part file.

    Raises:
        BadInput: the file has errors.
    """
    progress(f"reading {path.name}")
    part = load_part(path)
    read_times(part)  # which raises what is wrong with them
    tables: list[TableCheck] = []
    gaps: list[tuple[str, Gap]] = []
    for form in part.forms():
        name = f"{part.number} {form.form}".rstrip()
        chips = _chips(form, path.parent)
        for chip in chips:
            progress(f"{name}: rows")
            tables += _tables(chip)
        gaps += [(form.form, gap) for gap in unexercised(form)]
        progress(f"{name}: looking for inputs that no row shows to matter")
        gaps += [(form.form, gap) for gap in _unnoticed(form, chips)]
    return PartCheck(path=path, part=part, tables=tuple(tables), gaps=tuple(gaps))


@dataclass(slots=True)
class _Chip:
    """A part with the words that its ROM has in some tables, and those tables."""

    placed: Placed
    tables: list[RowTable]
    folder: Path
    ways: Mapping[str, Subject] = field(init=False)

    def __post_init__(self) -> None:
        machine = machine_of([self.placed], (self.folder,))
        ways = (OnMachine(self.placed, machine), OnBench(self.placed, machine))
        self.ways = dict(zip(WAYS, ways, strict=True))


def _chips(part: PartType, folder: Path) -> list[_Chip]:
    """One chip for all tables that take the same words of a ROM for granted."""
    groups: dict[tuple[tuple[int, int], ...], list[RowTable]] = {}
    for table in part.rows:
        words = sorted((place, word) for _, place, word in contents(part, table))
        groups.setdefault(tuple(words), []).append(table)
    return [
        _Chip(Placed(name="U1", part=part, contents=dict(words)), tables, folder)
        for words, tables in groups.items()
    ]


def _tables(chip: _Chip) -> Iterator[TableCheck]:
    for table in chip.tables:
        trials = trials_of(chip.placed, table)
        yield TableCheck(
            form=chip.placed.part.form,
            origin=table.origin,
            columns=f"{' '.join(table.columns_in)} | {' '.join(table.columns_out)}",
            line=table.spans[0].line,
            rows=len(table.table),
            runs=len(trials),
            failures=_failures(chip, table, trials),
        )


def _failures(chip: _Chip, table: RowTable, trials: tuple[Trial, ...]) -> tuple[Failure, ...]:
    """Of each cell that ever fails the first time, in the order of the rows."""
    first: dict[tuple[Span, str], Wrong] = {}
    ways: dict[tuple[Span, str], list[str]] = {}
    for way, subject in chip.ways.items():
        for trial in trials:
            for wrong in compare(trial, subject).wrong:
                key = (_place(chip.placed.part, table, wrong), wrong.name)
                first.setdefault(key, wrong)
                if way not in ways.setdefault(key, []):
                    ways[key].append(way)
    return tuple(
        Failure(
            span=key[0],
            row=_row(table, wrong.stimulus.span),
            name=wrong.name,
            expected=wrong.wanted,
            seen=wrong.seen,
            given=" ".join(
                f"{n}={'Z' if v is None else 'LH'[v]}" for n, v in wrong.stimulus.inputs
            ),
            ways=tuple(ways[key]),
        )
        for key, wrong in sorted(first.items(), key=lambda item: _order(item[0]))
    )


def _order(key: tuple[Span, str]) -> tuple[int, int, str]:
    return key[0].line, key[0].column, key[1]


def _row(table: RowTable, span: Span) -> str:
    left, right = table.table[table.spans.index(span)]
    return f"{' '.join(left)} | {' '.join(right)}"


def _place(part: PartType, table: RowTable, wrong: Wrong) -> Span:
    """The place of the cell that says what was not seen; of the row if there is no such cell."""
    row = wrong.stimulus.span
    left, right = table.table[table.spans.index(row)]
    for index, column in enumerate(table.columns_out):
        for loop in table.loops:
            if wrong.name in output_bits(part, looped(column, loop)):
                return _cell(row, (*left, "|", *right), len(left) + 1 + index)
    return row


def _cell(row: Span, words: tuple[str, ...], number: int) -> Span:
    """The word ``number`` of a row; the row itself where it is written in an unusual way."""
    at = row.column - 1
    for index, word in enumerate(words):
        at = row.text.find(word, at)
        if at < 0:
            return row
        if index == number:
            return row.within(at - row.column + 1, len(word))
        at += len(word)
    return row


def _unnoticed(part: PartType, chips: list[_Chip]) -> Iterator[Gap]:
    """An input is noticed if a row of any of the chips notices it."""
    left = list(inputs(part))
    found: dict[str, Gap] = {}
    for chip in chips:
        trials = tuple(t for table in chip.tables for t in trials_of(chip.placed, table))
        found = {gap.pin: gap for gap in unnoticed(left, trials, chip.ways[WAYS[0]])}
        left = list(found)
    yield from found.values()


def part_files(paths: list[Path]) -> list[Path]:
    """The part files that are meant: a folder stands for all in it.

    Raises:
        BadInput: a folder has none.
    """
    found: dict[Path, None] = {}
    for path in paths:
        inside = sorted(path.glob("*.yaml")) if path.is_dir() else [path]
        if not inside:
            raise BadInput([_no_files(path)])
        found |= dict.fromkeys(inside)
    return list(found)


def _no_files(folder: Path) -> Diagnostic:
    return Diagnostic(
        code="catalogue-folder",
        message="there is no part file in this folder",
        span=Span(file=str(folder), line=1, column=1),
        hint="A part file is named after its number: 157.yaml.",
    )
