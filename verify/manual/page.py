"""A page of the manual: Markdown, whatever it is shown on."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Group = Literal["guide", "command", "format", "meaning", "rule"]

GROUPS = MappingProxyType(
    {
        "guide": "The guide",
        "command": "Commands",
        "format": "Files",
        "meaning": "What answers mean",
        "rule": "Wiring rules",
    }
)
"""The groups of pages in their order, with their headings."""

WIDTH = 96
"""Columns of text that is made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """``name`` is what is asked for, and unique; ``says`` is one line without a full stop.

    ``text`` is CommonMark with tables. It begins with its only heading of the first level. Links to
    other pages are written ``[words](NAME.md)``.
    """

    name: str
    group: Group
    says: str
    text: str


def paragraph(text: str) -> str:
    """Text of one paragraph, in lines."""
    return _filled(text, "", "") + "\n"


def item(text: str, depth: int = 0) -> str:
    """One item of a list."""
    return _filled(text, f"{'  ' * depth}- ", f"{'  ' * depth}  ")


def _filled(text: str, first: str, others: str) -> str:
    """Text in lines; words and options stay whole."""
    return textwrap.fill(
        " ".join(text.split()),
        WIDTH,
        initial_indent=first,
        subsequent_indent=others,
        break_long_words=False,
        break_on_hyphens=False,
    )


def fenced(text: str, kind: str = "text") -> str:
    """Text that stays as it is."""
    fence = "~~~" if "```" in text else "```"
    return f"{fence}{kind}\n{text.rstrip()}\n{fence}\n"


def table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    """A table; what stands in its cells must not have line ends."""
    escaped = [[cell.replace("|", "\\|") for cell in row] for row in rows]
    lines = [list(head), ["---"] * len(head), *escaped]
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)
