"""A report as GitHub-flavoured Markdown: for a comment on a change, or the summary of a job.

Names and sentences of the board file are text there, whatever is in them: what Markdown or HTML
would take for its own is written as a character reference or with a backslash (CommonMark 0.31,
2.4 and 2.5; GitHub Flavored Markdown, 4.10 tables).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.findings import summary
from breadproof.verify.report.page import PLAIN
from breadproof.verify.report.replay import replay
from breadproof.verify.report.rests import SAFETY
from breadproof.verify.report.resultwords import how, run_ends
from breadproof.verify.report.storytext import story_lines
from breadproof.verify.report.words import count, printable

_MARKS = {
    "pass": "\N{WHITE HEAVY CHECK MARK}",
    "holds": "\N{WHITE HEAVY CHECK MARK}",
    "covered": "\N{WHITE HEAVY CHECK MARK}",
    "fail": "\N{CROSS MARK}",
    "fails": "\N{CROSS MARK}",
    "unreachable": "\N{CROSS MARK}",
    "error": "\N{CROSS MARK}",
    "undecided": "\N{WHITE QUESTION MARK ORNAMENT}",
    "warning": "\N{WARNING SIGN}",
    "note": "\N{INFORMATION SOURCE}",
}
_SPECIAL = re.compile(r"([\\`*_\[\]|~@#!]|(?<=www)\.|:(?=//))")
"""What begins emphasis, code, links, strikethrough, cells and mentions anywhere in a line."""


def markdown_text(report: BoardReport, path: str) -> str:
    """The summary; ``path`` is the board file as the user typed it."""
    return "\n".join(_lines(report, path)) + "\n"


def escaped(text: str) -> str:
    """A text that stands for itself in Markdown, on one line."""
    plain = printable(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return _SPECIAL.sub(r"\\\1", plain)


def _lines(report: BoardReport, path: str) -> Iterator[str]:
    netlist = report.machine.netlist
    yield f"## {_MARKS[report.verdict]} {escaped(netlist.board)}: {report.verdict}"
    if netlist.title:
        yield f"\n**{escaped(netlist.title.strip())}**"
    formulas = [result for result in report.results if result.kind != "standing"]
    checks = [result for result in report.results if result.kind == "standing"]
    yield from _table("Formulas", formulas)
    loose = [result for result in checks if result.verdict != "holds"]
    yield from _table("Checked on every board, and not well", loose)
    if len(loose) < len(checks):
        good = len(checks) - len(loose)
        yield f"\n{good} of {count(len(checks), 'check')} made on every board hold."
    yield from _wiring(report, path)
    for result in report.results:
        if failing(result) and result.trace is not None:
            yield from _run(report, result)
    yield f"\n{SAFETY}"


def _table(title: str, results: list[Result]) -> Iterator[str]:
    if not results:
        return
    yield f"\n### {title}\n"
    yield "| | name | what it says | |"
    yield "| --- | --- | --- | --- |"
    for result in results:
        told = "; ".join(text for text in (how(result), result.because) if text)
        cells = (
            f"{_MARKS[result.verdict]} {result.verdict}",
            *(escaped(text) for text in (result.name, result.says, told)),
        )
        yield f"| {' | '.join(cells)} |"


def _wiring(report: BoardReport, path: str) -> Iterator[str]:
    yield f"\n### Wiring: {summary(report.wiring) or 'nothing is wrong'}"
    order = list(Severity)
    shown = [finding for finding in report.wiring if not finding.accepted]
    if shown:
        yield ""
    for finding in sorted(shown, key=lambda one: order.index(one.severity)):
        span = finding.span
        file = path if span.file == report.machine.netlist.file else span.file
        place = escaped(f"{file}:{span.line}:{span.column}")
        mark = f"{_MARKS[finding.severity.value]} {finding.severity.value}"
        yield f"- {mark}: {escaped(finding.message)}. {escaped(finding.hint)} ({place})"


def _run(report: BoardReport, result: Result) -> Iterator[str]:
    if result.trace is None:
        return
    story = tell(result, replay(report.machine, result.trace))
    ends = run_ends(result.kind, result.trace)
    yield f"\n#### Run: {escaped(result.name)} {ends}\n"
    # Indented code, which nothing inside can end (CommonMark 0.31, 4.4).
    for line in story_lines(story, result.trace, PLAIN):
        yield f"    {printable(line)}".rstrip()
