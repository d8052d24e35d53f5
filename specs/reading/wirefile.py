"""A wire list from a spreadsheet: comma-separated values, two ends a row, under a header.

RFC 4180 is the form; what spreadsheets make of it is taken as well: semicolons or tabs between the
values, a byte order mark, rows that are blank, separators behind the last value, and a first row
``sep=;``. What a row means is taken strictly: two ends, or it is an error.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Text, near, read_text

MAX_WIRES = 50_000
"""More rows are refused: a machine of 300 chips has under 10,000 wires."""
COLUMNS: dict[str, tuple[str, ...]] = {
    "from": ("from", "source", "start", "begin", "a", "end a", "end 1", "from pin", "from end"),
    "to": ("to", "destination", "target", "end", "b", "end b", "end 2", "to pin", "to end"),
    "colour": ("colour", "color", "wire colour", "wire color"),
    "note": ("note", "notes", "comment", "comments", "remark", "remarks"),
    "": ("", "#", "no", "nr", "item", "wire", "net", "signal", "length", "gauge", "done"),
}
"""The words of the trade for each column (common practice); those under "" mean nothing here."""
_MEANING = {word: column for column, words in COLUMNS.items() for word in words}
_HINT = "Write 'from,to,colour' in the first row; colour may be left out, and a note may follow."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """The values of a row, each with its place."""

    cells: tuple[Text, ...]
    span: Span


def read_wire_file(name: Text, folder: Path, problems: Problems) -> tuple[WireEntry, ...]:
    """The wires of the file ``name`` beside the board file; problems are collected.

    The ends are not looked up yet, and point at file, line and column.
    """
    path = folder / name.value
    try:
        text = read_text(path)
    except BadInput as bad:
        first = bad.diagnostics[0]
        problems.error(
            "wires-unreadable",
            f"'{name.value}': {first.message}",
            name.span,
            hint=first.hint
            if first.code == "not-utf8"
            else "The name is taken beside the board file.",
        )
        return ()
    rows = list(_rows(text, str(path), problems))
    if not rows:
        problems.error(
            "wires-empty", f"'{name.value}' has no header", Span(file=str(path), line=1, column=1),
            hint=_HINT,
        )  # fmt: skip
        return ()
    columns = _header(rows[0], problems)
    if columns is None:
        return ()
    named = max(place for place, cell in enumerate(rows[0].cells) if cell.value) + 1
    found = (_wire(row, columns, named, problems) for row in rows[1:])
    return tuple(wire for wire in found if wire is not None)


def _header(row: _Row, problems: Problems) -> dict[str, int] | None:
    """The number of each column; None if these are no columns of a wire list."""
    before = len(problems.found)
    found: dict[str, int] = {}
    spans: dict[str, Span] = {}
    for number, cell in enumerate(row.cells):
        word = re.sub(r"[\s_-]+", " ", cell.value).strip(" .:").lower()
        meaning = _MEANING.get(word)
        if meaning is None:
            problems.error(
                "wires-column",
                f"a wire list has no column '{cell.value}'",
                cell.span,
                hint=near(word, [w for w in _MEANING if len(w) > 1]) or _HINT,
            )
        elif meaning and meaning in found:
            problems.error(
                "wires-column",
                f"a second column '{meaning}'",
                cell.span,
                hint="A row has two ends; give each end a row of its own, or remove the column.",
                related=(("first here", spans[meaning]),),
            )
        elif meaning:
            found[meaning] = number
            spans[meaning] = cell.span
    missing = [column for column in ("from", "to") if column not in found]
    if len(missing) == 2 and not spans:
        del problems.found[before:]
        problems.error("wires-column", "the first row is no header", row.span, hint=_HINT)
    elif missing:
        what = f"there is no column '{missing[0]}'"
        problems.error("wires-column", what, row.span, hint=_HINT)
    return None if len(problems.found) > before else found


def _wire(row: _Row, columns: dict[str, int], named: int, problems: Problems) -> WireEntry | None:
    """The wire of a row; ``named`` is how many columns the header has."""
    strange = [cell for cell in row.cells[named:] if cell.value]
    if strange:
        problems.error(
            "wires-row",
            f"'{strange[0].value}' stands under no heading",
            strange[0].span,
            hint="Put a value that has separators in it between double quotes.",
        )
        return None
    cells = {
        column: row.cells[place]
        for column, place in columns.items()
        if place < len(row.cells) and row.cells[place].value
    }
    first, second = cells.get("from"), cells.get("to")
    if first is None or second is None:
        one = first or second
        problems.error(
            "wires-row",
            f"this wire has one end, '{one.value}'" if one else "this wire has no end",
            (one or row).span,
            hint="Give both ends, or remove the row.",
        )
        return None
    colour = cells.get("colour")
    return WireEntry(ends=(first, second), colour=colour.value if colour else "", span=first.span)


def _rows(text: str, file: str, problems: Problems) -> Iterator[_Row]:
    """The rows that are not blank."""
    lines = re.split(r"\r\n|\r|\n", text)
    start = 0
    told = re.fullmatch(r"sep=(.)", lines[0].strip("\ufeff "))
    while start < len(lines) and ((start == 0 and told) or not lines[start].strip(' ,;\t"')):
        start += 1
    separator = told[1] if told else _separator(lines[start] if start < len(lines) else "")
    reader = csv.reader(
        (line + "\n" for line in lines[start:]),
        delimiter=separator,
        skipinitialspace=True,
        strict=True,
    )
    first = count = 0
    while True:
        try:
            values = next(reader, None)
        except csv.Error as error:
            problems.error(
                "wires-malformed",
                f"this row cannot be read: {error}",
                _span(file, lines, start + first, 0, len(lines[start + first])),
                hint="Each double quote that opens must close; one inside a value is doubled.",
            )
            return
        if values is None:
            return
        last, count = reader.line_num, count + 1
        if count > MAX_WIRES:
            problems.error(
                "wires-too-many",
                f"more than {MAX_WIRES:,} rows",
                _span(file, lines, start + first, 0, 1),
                hint="Check that this is the right file.",
            )
            return
        if any(value.strip() for value in values):
            yield _placed(values, separator, file, lines, range(start + first, start + last))
        first = last


def _separator(header: str) -> str:
    """The separator that a header is written with: what it has most of, the comma if none."""
    return max(",;\t", key=lambda one: (re.sub(r'"[^"]*"', "", header).count(one), one == ","))


def _placed(values: list[str], separator: str, file: str, lines: list[str], own: range) -> _Row:
    """The values of a row with their places; the row's text is walked beside them."""
    places = [(own.start, 0)]
    quoted, fresh, closed = False, True, False
    for number in own:
        for column, character in enumerate(lines[number]):
            if quoted:
                quoted = character != '"'
                closed = not quoted
                continue
            # One opens at the beginning of a value; a doubled one closes and opens again.
            quoted = character == '"' and (fresh or closed)
            closed = False
            fresh = character == separator or (fresh and character == " ")
            if character == separator:
                places.append((number, column + 1))
    if len(places) != len(values):
        places = [(own.start, 0)] * len(values)
    cells: list[Text] = []
    for value, (number, column) in zip(values, places, strict=True):
        line = lines[number]
        while column < len(line) and line[column] in ' \u00a0"' and line[column] != separator:
            column += 1
        plain = value.strip()
        span = _span(file, lines, number, min(column, len(line)), len(plain.split("\n")[0]))
        cells.append(Text(value=plain, span=span))
    line = lines[own.start]
    blank = len(line) - len(line.lstrip())
    return _Row(
        cells=tuple(cells),
        span=_span(file, lines, own.start, blank, len(line.strip())),
    )


def _span(file: str, lines: list[str], number: int, column: int, length: int) -> Span:
    return Span(
        file=file,
        line=number + 1,
        column=column + 1,
        length=max(1, length),
        text=lines[number],
    )
