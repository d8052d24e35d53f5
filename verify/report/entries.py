"""Entries of a listing: a verdict in its column, and text beside it."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.verify.report.page import Page
from breadproof.verify.report.words import wrapped

COLOURS = {
    "pass": "green",
    "holds": "green",
    "covered": "green",
    "fail": "red",
    "fails": "red",
    "unreachable": "red",
    "error": "red",
    "undecided": "yellow",
    "warning": "yellow",
    "note": "blue",
    "accepted": "blue",
    "gone": "blue",
}
COLUMN = 12
"""Characters of the column of verdicts."""


@dataclass(frozen=True, slots=True)
class Entries:
    """How entries look on a page."""

    page: Page

    def shown(self, word: str) -> str:
        """A verdict as it is printed: what is not well in capitals, since a pipe has no colour."""
        return word if COLOURS[word] in ("green", "blue") else word.upper()

    def verdict(self, word: str) -> str:
        """A verdict in its column."""
        shown = self.shown(word)
        return self.page.paint(shown, COLOURS[word]) + " " * max(1, COLUMN - len(shown))

    def section(self, title: str, told: str = "") -> list[str]:
        """A heading, an empty line before it."""
        lines = wrapped(f"{title}  {told}" if told else title, self.page.width, "", "  ")
        if not lines[0].startswith(title):  # it is wider than the page
            return ["", *(self.page.paint(line, "bold") for line in lines)]
        return ["", self.page.paint(title, "bold") + lines[0][len(title) :], *lines[1:]]

    def text(self, text: str, indent: int = 2 + COLUMN) -> list[str]:
        """Lines beside the column."""
        return wrapped(text, self.page.width, " " * indent)

    def entry(self, verdict: str, text: str) -> list[str]:
        """An entry with its verdict in front."""
        room = " " * (2 + COLUMN)
        lines = wrapped(text, self.page.width, room)
        return [f"  {self.verdict(verdict)}{lines[0][len(room) :]}", *lines[1:]]
