"""Pages for the browser: one file each, linked, with one style sheet; no script, no network."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markdown_it.token import Token
from markupsafe import Markup, escape

from breadproof import __version__
from breadproof.verify.manual.page import GROUPS, Group, Page
from breadproof.verify.manual.reading import is_way_on, plain, reader, tokens
from breadproof.verify.pictures.colours import styled

SHEET = "manual.css"
INDEX = "index.html"


def html_files(pages: Sequence[Page]) -> dict[str, str | bytes]:
    """All pages by the names of their files, the contents and the style sheet among them."""
    names = {page.name: page.group for page in pages}
    made: dict[str, str | bytes] = {INDEX: _filled("index.html", pages), SHEET: _sheet()}
    for place, page in enumerate(pages):
        before = pages[place - 1] if place and pages[place - 1].group == page.group else None
        after = next((one for one in pages[place + 1 : place + 2] if one.group == page.group), None)
        made[f"{page.name}.html"] = _filled(
            "page.html", pages, page=page, body=_body(page, names), before=before, after=after
        )
    return made


def _filled(template: str, pages: Sequence[Page], **values: object) -> str:
    groups = [
        (name, heading, [page for page in pages if page.group == name])
        for name, heading in GROUPS.items()
    ]
    text = (
        _environment()
        .get_template(template)
        .render(groups=groups, version=__version__, sheet=SHEET, index=INDEX, **values)
    )
    return text.strip() + "\n"


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("breadproof.verify.manual", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _sheet() -> str:
    shared = files("breadproof.verify.pages") / "page.css"
    own = files("breadproof.verify.manual") / SHEET
    return "\n".join(styled(sheet.read_text("utf-8")) for sheet in (shared, own))


# ------------------------------------------------------------------------------ text


def _body(page: Page, names: Mapping[str, Group]) -> Markup:
    markdown = reader()
    found = list(_prepared(tokens(page.text)))
    for token in found:
        if token.children:
            token.children = list(_linked(token.children, page.name, names))
    text = str(markdown.renderer.render(found, markdown.options, {}))
    # What is wider than the window is scrolled, by the keyboard too.
    text = text.replace("<table>", '<div class="across" tabindex="0"><table class="table">')
    text = text.replace("</table>", "</table></div>")
    return Markup(text.replace("<pre>", '<pre tabindex="0">'))


def _prepared(found: list[Token]) -> Iterator[Token]:
    """Headings with names, links between pages, and blocks that are marked line by line.

    The way from page to page is left out: a page in the browser has its own.
    """
    names: set[str] = set()
    for place, token in enumerate(found):
        around = found[place - 1 : place + 2] if place else []
        if any(one.type == "inline" and is_way_on(one.children or ()) for one in around):
            continue
        if token.type == "heading_open":
            token.attrSet("id", _heading(plain(found[place + 1].children or ()), names))
        for child in token.children or ():
            target = str(child.attrGet("href") or "")
            if child.type == "link_open" and target.endswith(".md"):
                child.attrSet("href", f"{target.removesuffix('.md')}.html")
        if token.type == "fence" and token.info.partition(" ")[0] in ("console", "diff"):
            yield Token("html_block", "", 0, content=_marked(token))
        else:
            yield token


def _linked(children: list[Token], here: str, names: Mapping[str, Group]) -> Iterator[Token]:
    """Codes of rules, and commands, with links to their pages."""
    inside = 0
    for child in children:
        inside += child.nesting if child.type.startswith("link_") else 0
        name = child.content if child.type == "code_inline" else ""
        if names.get(name) != "rule":
            command = re.match(r"breadproof ([a-z]+)", name)
            name = command[1] if command and names.get(command[1]) == "command" else ""
        if name in ("", here) or inside:
            yield child
            continue
        yield Token("link_open", "a", 1, attrs={"href": f"{name}.html"})
        yield child
        yield Token("link_close", "a", -1)


def _heading(words: str, taken: set[str]) -> str:
    plain_words = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") or "part"
    name = next(
        one for k in range(len(taken) + 1) if (one := f"{plain_words}{'-' * k}") not in taken
    )
    taken.add(name)
    return name


def _marked(token: Token) -> str:
    """A block in which commands, and lines that come or go, are marked."""
    lines = []
    for line in token.content.splitlines():
        text = escape(line)
        if token.info.startswith("console") and line.startswith("$ "):
            lines.append(f"<b>{text}</b>")
        elif token.info.startswith("diff") and line[:1] in ("+", "-"):
            tag = "ins" if line[0] == "+" else "del"
            lines.append(f"<{tag}>{text}</{tag}>")
        else:
            lines.append(str(text))
    return f"<pre><code>{chr(10).join(lines)}\n</code></pre>\n"
