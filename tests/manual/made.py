"""The pages of the manual, made once."""

from __future__ import annotations

from functools import cache

from breadproof.cli import group
from breadproof.command_pages import command_pages
from breadproof.verify.manual.page import Page
from breadproof.verify.manual.shelf import all_pages


@cache
def pages() -> tuple[Page, ...]:
    """All of them."""
    return tuple(all_pages(command_pages(group)))


def text_of(name: str) -> str:
    """The text of one."""
    return next(page.text for page in pages() if page.name == name)
