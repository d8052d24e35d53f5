"""What a report is printed on: its width, colours and characters."""

from __future__ import annotations

import os
import shutil
import sys
from dataclasses import dataclass

import click

WIDTH = 100
"""Lines in a pipe or file; a terminal has its own width."""
NARROWEST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """``width`` in characters; ``drawing``: characters beyond ASCII; ``colour``: ANSI colours."""

    width: int = WIDTH
    drawing: bool = False
    colour: bool = False

    def paint(self, text: str, colour: str) -> str:
        """The text in a colour, where there is any; "" for none, "bold" for bold."""
        if not self.colour or not colour:
            return text
        if colour == "bold":
            return click.style(text, bold=True)
        return click.style(text, fg=colour)


PLAIN = Page()


def page_of_stdout(*, plain: bool = False) -> Page:
    """The page that standard output is; a pipe, and ``plain``, gets ASCII without colour."""
    if not sys.stdout.isatty():
        return PLAIN
    width = max(NARROWEST, shutil.get_terminal_size().columns)
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "")
    return Page(
        width=width,
        drawing=encoding == "utf8" and not plain,
        colour=not plain and not os.environ.get("NO_COLOR"),
    )
