"""A comparison on a terminal, and as Markdown for a build log or a code review."""

from __future__ import annotations

import itertools
import re
import shlex
import textwrap
from collections.abc import Iterable, Iterator

from breadproof.verify.report.page import Page
from breadproof.verify.report.words import listed, printable, wrapped
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.words import Section, Table, sections

COLOURS = {"good": "green", "bad": "red", "open": "yellow", "": ""}
VERDICTS = {
    "pass": "the same behaviour, and no verdict is worse",
    "fail": "not the same machine",
    "undecided": "undecided",
}
_LABEL = 22
_WIDEST = 28


def verdict_text(compared: Compared) -> str:
    """The answer in a few words."""
    if compared.wanted.wiring:
        return "the wiring is the same" if compared.same_wiring else "the wiring is not the same"
    if compared.verdict == "fail" and compared.behaviour != "differs":
        return "a verdict is worse"
    if compared.verdict == "undecided" and compared.behaviour == "same":
        return "the same behaviour; some verdicts are open now"
    return VERDICTS[compared.verdict]


def text(compared: Compared, page: Page, paths: tuple[str, str]) -> str:
    """The whole comparison as text, ending in a newline."""
    lines = [
        f"{page.paint(printable(paths[0]), 'bold')} and {page.paint(printable(paths[1]), 'bold')}"
    ]
    for section in sections(compared):
        lines += ["", *section_lines(section, page)]
    lines += _runs(compared, page, paths[1])
    lines += ["", f"{verdict_text(compared)} ({compared.seconds:.1f} s)"]
    return "\n".join(lines) + "\n"


def _runs(compared: Compared, page: Page, path: str) -> Iterator[str]:
    """How the run of a result that got worse is shown."""
    names = {formula.name for formula in compared.new.formulas}
    for row in compared.proved.rows if compared.proved is not None else ():
        own = row.kind == "standing" or row.new_name in names
        if (
            row.effect == "worse"
            and own
            and row.result is not None
            and row.result.trace is not None
        ):
            command = shlex.join(["breadproof", "verify", path, "--only", row.new_name])
            yield from wrapped(f"{command} draws the run", page.width, "  ", "    ")
            return


def section_lines(section: Section, page: Page) -> Iterator[str]:
    """A section's lines: its title and head, what is told one by one, and its table."""
    head = wrapped(section.head, page.width, f"{section.title:<{_LABEL}}")
    yield page.paint(head[0][:_LABEL], "bold") + page.paint(head[0][_LABEL:], COLOURS[section.mark])
    yield from head[1:]
    yield from _lines(section.lines, page)
    if section.table is not None:
        yield from _table(section.table, page)
    yield from _lines(section.after, page)


def _lines(told: Iterable[tuple[str, str]], page: Page) -> Iterator[str]:
    """Labels in a column of their own."""
    told = list(told)
    room = max((min(len(label), _WIDEST) for label, _ in told), default=0)
    for label, words in told:
        yield from _line(label, words, page, room)


def _line(label: str, words: str, page: Page, room: int) -> list[str]:
    if not label:
        return wrapped(words, page.width, "  ", "    ")
    return wrapped(words, page.width, f"  {label:<{room}}  ", " " * (room + 4))


def _table(table: Table, page: Page) -> Iterator[str]:
    """The columns that fit; what is done is wrapped, and what does not fit is named."""
    widths = [max(len(cell) for cell in column) for column in zip(*table.rows, strict=True)]
    shown = _fitting(table, widths, page.width)
    widths[1] = max(
        12, min(widths[1], page.width - 4 - sum(widths[k] + 2 for k in shown if k != 1))
    )
    for row in table.rows:
        cells = [textwrap.wrap(printable(row[k]), widths[k]) or [""] for k in shown]
        for line in itertools.zip_longest(*cells, fillvalue=""):
            padded = (text.ljust(widths[k]) for k, text in zip(shown, line, strict=True))
            yield f"    {'  '.join(padded)}".rstrip()
    left = [printable(name) for k, name in enumerate(table.rows[0]) if k not in shown]
    if left:
        names = dict.fromkeys(re.sub(" (old|new)$", "", name) for name in left)
        text = f"not shown, as the page is too narrow: {listed(list(names))}"
        yield from wrapped(text, page.width, "    ")


def _fitting(table: Table, widths: list[int], width: int) -> list[int]:
    """The columns that fit, one of what differs at least; never the old board without the new."""
    head, room = table.rows[0], width - 4 - widths[0] - 2 - min(widths[1], 20)
    shown, step = [0, 1], 2 if table.rows[0][2:3] and table.rows[0][2].endswith(" old") else 1
    for k in range(2, len(head), step):
        room -= sum(one + 2 for one in widths[k : k + step])
        if room < 0 and k > 2:
            break
        shown += range(k, min(k + step, len(head)))
    return shown


def markdown(compared: Compared, paths: tuple[str, str]) -> str:
    """The same as Markdown."""
    return as_markdown(paths, verdict_text(compared), sections(compared))


def as_markdown(paths: tuple[str, str], verdict: str, told: Iterable[Section]) -> str:
    """Sections as Markdown, under the two files and the verdict in a few words."""
    lines = [f"## {_plain(paths[0])} and {_plain(paths[1])}: {verdict}"]
    for section in told:
        title = section.title[:1].upper() + section.title[1:]
        lines += ["", f"**{title}:** {_plain(section.head)}", ""]
        lines += [_item(label, words) for label, words in section.lines]
        if section.table is not None:
            lines += ["", *_markdown_table(section.table), ""]
        lines += [_item(label, words) for label, words in section.after]
    text = "\n".join(lines)
    while "\n\n\n" in text:
        text = text.replace("\n\n\n", "\n\n")
    return text.rstrip("\n") + "\n"


def _item(label: str, words: str) -> str:
    return f"- {_plain(label)}: {_plain(words)}" if label else f"- {_plain(words)}"


def _markdown_table(table: Table) -> Iterator[str]:
    head, *rows = table.rows
    yield f"| {' | '.join(_plain(cell) for cell in head)} |"
    yield f"|{' --- |' * len(head)}"
    for row in rows:
        yield f"| {' | '.join(_plain(cell) for cell in row)} |"


def _plain(words: str) -> str:
    """Words without what Markdown would read as its own."""
    told = printable(words)
    for sign in "\\`*_[]|<>":
        told = told.replace(sign, f"\\{sign}")
    return told
