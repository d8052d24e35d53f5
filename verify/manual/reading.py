"""Markdown as it is read here: CommonMark 0.31, with the tables of GitHub's."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from markdown_it import MarkdownIt
from markdown_it.token import Token


def reader() -> MarkdownIt:
    """A reader; HTML in the text is text."""
    return MarkdownIt("commonmark", {"html": False}).enable("table")


def tokens(text: str) -> list[Token]:
    """What a text consists of; comments are left out."""
    return reader().parse(without_comments(text))


def without_comments(text: str) -> str:
    """A text without ``<!-- ... -->``."""
    return re.sub(r"<!--.*?-->\n?", "", text, flags=re.DOTALL)


def links(text: str) -> Iterator[str]:
    """Where the links and pictures of a text lead."""
    for token in tokens(text):
        for child in token.children or ():
            target = child.attrGet("href") if child.type == "link_open" else child.attrGet("src")
            if target:
                yield str(target)


def plain(children: Iterable[Token]) -> str:
    """The words of a line."""
    return "".join(
        " " if child.type in ("softbreak", "hardbreak") else child.content
        for child in children
        if child.type in ("text", "code_inline", "softbreak", "hardbreak", "text_special")
    )


def is_way_on(children: Iterable[Token]) -> bool:
    """Whether a line is nothing but links with dots between: the way from page to page."""
    depth, outside = 0, ""
    for child in children:
        depth += child.nesting
        if depth == 0 and child.nesting == 0:
            outside += child.content
    return outside != "" and set(outside) <= {"\N{MIDDLE DOT}", " "}
