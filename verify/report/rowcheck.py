"""What a check of part files found, as text and for programs."""

from __future__ import annotations

from typing import Any

from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.report.page import Page
from breadproof.verify.report.words import count, listed, wrapped
from breadproof.verify.rows.checking import WAYS, Failure, PartCheck, TableCheck
from breadproof.verify.rows.gaps import Gap

MOST = 10
"""So many failing cells of a table are shown; ``--json`` has all."""


def check_lines(check: PartCheck, page: Page) -> list[str]:
    """A part file's tables, each with what fails, and what its rows leave open."""
    part = check.part
    verdict = page.paint("pass", "green") if check.passed else page.paint("FAIL", "red")
    lines = [f"{check.path}: {verdict}  {part.number}, {part.title}"]
    for table in check.tables:
        lines += _table(check, table, page)
    for form, gap in check.gaps:
        lines += wrapped(f"{_of(form)}{gap.pin}: {gap.what}", page.width, "  gap   ")
    if check.gaps:
        lines += wrapped(_advice([gap for _, gap in check.gaps]), page.width, "        ")
    lines += wrapped(part.source, page.width, "  from  ")
    return lines


def _of(form: str) -> str:
    return f"as {form}: " if form else ""


def _table(check: PartCheck, table: TableCheck, page: Page) -> list[str]:
    verdict = page.paint("FAIL", "red") if table.failures else page.paint("pass", "green")
    size = f"{count(table.rows, 'row')}, {count(table.runs, 'run')}"
    place = f"{check.path}:{table.line}"
    lines = [f"  {verdict}  {_of(table.form)}{table.origin}: {size}  ({place})"]
    cells: dict[Span, list[Failure]] = {}
    for failure in table.failures:
        cells.setdefault(failure.span, []).append(failure)
    for cell in list(cells.values())[:MOST]:
        lines += _cell(table, cell)
    if len(cells) > MOST:
        lines.append(f"        and {len(cells) - MOST} more; --json has them all")
    return lines


def _cell(table: TableCheck, failures: list[Failure]) -> list[str]:
    """The first failure of a cell, and which other pins fail in the same."""
    failure, *others = failures
    where = "" if failure.ways == WAYS else f" (only in {listed(failure.ways)})"
    if failure.name:
        what = f"{failure.name} is to be {_word(failure.expected)}, and is {_word(failure.seen)}"
    else:
        what = failure.seen
    if others:
        where += f"; wrong there, too: {listed([other.name for other in others])}"
    return [
        f"        {failure.span.where()}: {what}{where}",
        f"          columns  {table.columns}",
        f"          row      {failure.row}",
        f"          set      {failure.given or 'nothing'}",
    ]


def _word(letter: str) -> str:
    return {"H": "high (H)", "L": "low (L)", "Z": "off (Z)"}.get(letter, letter)


def _advice(gaps: list[Gap]) -> str:
    pins = listed(list(dict.fromkeys(gap.pin for gap in gaps))[:6])
    return (
        f"Add rows of the data sheet that tell what {pins} do; what no row looks at is unchecked."
    )


def summary(checks: list[PartCheck], page: Page) -> list[str]:
    """How the rows were run, and the verdict over all files."""
    failed = [check for check in checks if not check.passed]
    rows = sum(table.rows for check in checks for table in check.tables)
    text = (
        f"{count(len(checks), 'file')} with {count(rows, 'row')}, run through the {WAYS[0]} and in "
        f"{WAYS[1]}'s simulator, X cells filled in several ways. The equations are held against "
        "these rows and nothing else: check the rows against the data sheet."
    )
    verdict = f"{count(len(failed), 'file')} failed" if failed else "all passed"
    return ["", *wrapped(text, page.width), f"parts: {verdict}."]


def check_object(check: PartCheck) -> dict[str, Any]:
    """A checked part file for ``--json``."""
    return {
        "file": str(check.path),
        "number": check.part.number,
        "verdict": "pass" if check.passed else "fail",
        "source": check.part.source,
        "tables": [
            {
                "variant": table.form or None,
                "from": table.origin,
                "columns": table.columns,
                "line": table.line,
                "rows": table.rows,
                "runs": table.runs,
                "verdict": "fail" if table.failures else "pass",
                "failures": [_failure_object(failure) for failure in table.failures],
            }
            for table in check.tables
        ],
        "gaps": [
            {"variant": form or None, "pin": gap.pin, "what": gap.what} for form, gap in check.gaps
        ],
    }


def _failure_object(failure: Failure) -> dict[str, Any]:
    return {
        "file": failure.span.file,
        "line": failure.span.line,
        "column": failure.span.column,
        "row": failure.row,
        "name": failure.name or None,
        "expected": failure.expected or None,
        "seen": failure.seen,
        "set": failure.given,
        "ways": list(failure.ways),
    }
