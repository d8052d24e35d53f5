"""All pages of the manual, in their order."""

from __future__ import annotations

from collections.abc import Iterable

from breadproof.verify.manual.page import Page
from breadproof.verify.manual.rules import rule_pages
from breadproof.verify.manual.written import format_pages, guide_pages, meaning_pages
from breadproof.verify.wiring.registry import RULES


def all_pages(commands: list[Page]) -> list[Page]:
    """The guide, then the pages of the commands, which are given, then all others.

    Raises:
        ValueError: two pages have one name.
    """
    pages = [*guide_pages(), *commands, *format_pages(), *meaning_pages(), *rule_pages()]
    names = [page.name for page in pages]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"two pages of the manual are called {', '.join(twice)}")
    return pages


def all_names(commands: Iterable[str]) -> list[str]:
    """The names of all pages; ``commands`` are those of the commands."""
    others = [*guide_pages(), *format_pages(), *meaning_pages()]
    rules = (rule.code for rule in RULES)
    return ["breadproof", *commands, *(page.name for page in others), *rules]
