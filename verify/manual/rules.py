"""A page for each wiring rule: its text, a board that breaks it, and one that does not."""

from __future__ import annotations

from breadproof.verify.manual.page import Page, fenced
from breadproof.verify.wiring.pages import load_page
from breadproof.verify.wiring.registry import RULES

BOARDS = ("A board with this fault", "The same board, mended")
"""The headings of the two boards."""


def rule_pages() -> list[Page]:
    """The pages in the order of the rules."""
    return [
        Page(name=rule.code, group="rule", says=rule.title, text=_text(rule.code)) for rule in RULES
    ]


def _text(code: str) -> str:
    page = load_page(code)
    text = page.text.rstrip() + "\n"
    for heading, board in zip(BOARDS, (page.fires, page.quiet), strict=True):
        text += f"\n## {heading}\n\n{fenced(board, 'yaml')}"
    return text
