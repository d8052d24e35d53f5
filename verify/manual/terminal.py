"""A page on the terminal: Markdown is read well as it is, but for links, pictures and tables."""

from __future__ import annotations

import re
from collections.abc import Iterator

import click

from breadproof.verify.manual.page import GROUPS, Page
from breadproof.verify.manual.reading import without_comments

_LINK = re.compile(r"(!?)\[([^\]]+)\]\(([^)\s]+)\)")
_NEXT = re.compile(r"\[Next: [^\]]+\]\(([^)\s]+)\.md\)")
_WAY_ON = re.compile(r"^\[[^\]]+\]\([^)]+\)( \N{MIDDLE DOT} \[[^\]]+\]\([^)]+\))*$")


def listed(pages: list[Page]) -> str:
    """All pages, by their groups."""
    width = max(len(page.name) for page in pages)
    text = ""
    for group, heading in GROUPS.items():
        text += f"{click.style(heading, bold=True)}\n"
        for page in pages:
            if page.group == group:
                text += f"  {page.name:<{width}}  {page.says}\n"
        text += "\n"
    return f"{text}'breadproof manual NAME' shows a page.\n"


def shown(page: Page) -> str:
    """The text of a page."""
    lines = without_comments(page.text).splitlines()
    return "\n".join(_lines(lines)) + "\n"


def _lines(lines: list[str]) -> Iterator[str]:
    fence = ""
    rows: list[list[str]] = []
    for line in lines:
        mark = re.match(r"(```|~~~)", line)
        if mark and fence in ("", mark[1]):
            fence = "" if fence else mark[1]
            continue
        if fence:
            yield f"    {line}".rstrip()
            continue
        if line.startswith("|"):
            rows.append(_cells(line))
            continue
        if rows:
            yield from _aligned(rows)
            rows = []
        if not _WAY_ON.match(line):
            yield _line(line)
        elif after := _NEXT.search(line):
            yield f"Next: breadproof manual {after[1]}"
    yield from _aligned(rows)


def _line(line: str) -> str:
    if line.startswith("#"):
        level, _, words = line.partition(" ")
        return click.style(words.upper() if len(level) < 3 else words, bold=True)
    return _words(line)


def _words(text: str) -> str:
    return _LINK.sub(_link, text).replace("**", "")


def _link(found: re.Match[str]) -> str:
    """The words of a link, and what to ask for where they do not say it."""
    mark, words, target = found.groups()
    if mark:
        return f"(picture: {words})"
    name = target.removesuffix(".md")
    return words if name in (words, target) else f"{words} ({name})"


def _cells(line: str) -> list[str]:
    cells = re.split(r"(?<!\\)\|", line.strip().strip("|"))
    return [_words(cell.replace("\\|", "|").strip()) for cell in cells]


def _aligned(rows: list[list[str]]) -> Iterator[str]:
    """A table: its head, a line, and its rows."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=False)]
    for row in rows:
        cells = [
            "-" * width if set(cell) <= {"-"} and cell else cell.ljust(width)
            for cell, width in zip(row, widths, strict=False)
        ]
        yield f"  {'  '.join(cells)}".rstrip()
