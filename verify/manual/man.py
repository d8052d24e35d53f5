"""Pages as man pages: roff with the classic macros (groff_man(7), man(7) of mandoc).

All text is ASCII: other characters are written as ``\\[uXXXX]``, so that it does not matter which
encoding a reader is set to.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from markdown_it.token import Token

from breadproof import __version__
from breadproof.verify.manual.page import Page
from breadproof.verify.manual.reading import is_way_on, tokens

SECTIONS = {"command": 1, "format": 5, "meaning": 7, "rule": 7, "guide": 7}
PROGRAM = "breadproof"


def man_files(pages: list[Page]) -> dict[str, str]:
    """The text of each man page by the name of its file, such as ``breadproof-verify.1``."""
    names = {page.name: f"({SECTIONS[page.group]})" for page in pages}
    return {
        f"{man_name(page.name)}.{SECTIONS[page.group]}": man_page(page, names) for page in pages
    }


def man_name(name: str) -> str:
    """What ``man`` is asked for, for a page of this name."""
    return name if name == PROGRAM else f"{PROGRAM}-{name}"


def man_page(page: Page, sections: Mapping[str, str] = MappingProxyType({})) -> str:
    """One page; ``sections`` are those of the pages that it may name, such as ``(1)``."""
    name, section = man_name(page.name), SECTIONS[page.group]
    head = [
        f'.TH "{_argument(name.upper())}" "{section}" "" "{PROGRAM} {__version__}" "{PROGRAM}"',
        ".SH NAME",
        rf"{_escaped(name)} \- {_escaped(page.says)}",
    ]
    body = list(_Roff(tokens(page.text), sections).lines)
    if page.group == "command":
        # The first block is how the command is called.
        end = body.index(".RE") + 1
        body = [".SH SYNOPSIS", *body[:end], ".SH DESCRIPTION", *body[end:]]
    elif not body[0].startswith(".SH"):
        body.insert(0, ".SH DESCRIPTION")
    return "\n".join([*head, *_tidy(body)]) + "\n"


# ------------------------------------------------------------------------------- text

_CHARACTERS = {
    "\\": r"\e",
    "-": "-",
    "'": r"\(aq",
    "`": r"\(ga",
    "^": r"\(ha",
    "~": r"\(ti",
}


def _escaped(text: str, *, literal: bool = False) -> str:
    """Text for a line; in ``literal`` text a hyphen is the sign that is typed."""
    found = "".join(_CHARACTERS.get(sign, sign) for sign in text)
    if literal:
        found = found.replace("-", r"\-")
    return re.sub(r"[^\x00-\x7f]", lambda sign: rf"\[u{ord(sign[0]):04X}]", found)


def _argument(text: str) -> str:
    """Text between the quotes of a macro's argument."""
    return _escaped(text).replace('"', r"\(dq")


def _guarded(line: str) -> str:
    """A line that is not taken for a request."""
    return rf"\&{line}" if line.startswith((".", "'")) else line


def _tidy(lines: Iterable[str]) -> Iterator[str]:
    """Without what a reader of roff warns of: blank lines, a paragraph that begins nothing."""
    kept = [line for line in lines if line]
    heads = (".SH", ".SS")
    for before, line, after in zip([".SH", *kept], kept, [*kept[1:], ".SH"], strict=False):
        if line != ".PP" or not (before.startswith(heads) or after.startswith((*heads, ".PP"))):
            yield line


# ------------------------------------------------------------------------- structure


@dataclass(slots=True)
class _Roff:
    """The lines of a page; ``lists`` are the open lists, each with the number of its next item."""

    tokens: list[Token]
    sections: Mapping[str, str]
    lines: list[str] = field(default_factory=list)
    lists: list[int | None] = field(default_factory=list)
    fresh_item: bool = False
    heading: str = ""
    cells: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Make them."""
        for token in self.tokens:
            self.take(token)

    def take(self, token: Token) -> None:
        match token.type:
            case "heading_open":
                self.heading = token.tag
            case "heading_close":
                self.heading = ""
            case "inline":
                self.inline(token)
            case "fence" | "code_block":
                self.code(token.content)
            case "bullet_list_open" | "ordered_list_open":
                self.open_list(token)
            case "bullet_list_close" | "ordered_list_close":
                self.lists.pop()
                if self.lists:
                    self.lines.append(".RE")
            case "list_item_open":
                self.item()
            case "tr_open":
                self.cells = []
            case "tr_close":
                self.row()
            case "paragraph_open" if not self.fresh_item:
                self.lines.append(".IP" if self.lists else ".PP")
            case _:
                pass

    def inline(self, token: Token) -> None:
        children = token.children or []
        text = self.words(children)
        if self.heading:
            self.head(text)
        elif token.level and self.in_table(token):
            self.cells.append(text)
        elif not is_way_on(children):
            self.lines += [_guarded(line.strip()) for line in text.splitlines()]
        self.fresh_item = False

    def in_table(self, token: Token) -> bool:
        """Whether a line is the content of a cell."""
        place = self.tokens.index(token)
        return self.tokens[place - 1].type in ("th_open", "td_open")

    def head(self, text: str) -> None:
        match self.heading:
            case "h1":
                pass  # The name of the page says it.
            case "h2":
                self.lines.append(f'.SH "{text.upper() if text.isascii() else text}"')
            case "h3":
                self.lines.append(f'.SS "{text}"')
            case _:
                self.lines += [".PP", rf"\fB{text}\fR"]

    def code(self, text: str) -> None:
        self.lines += [".IP" if self.lists else ".PP", ".RS 4", ".EX"]
        # An empty line is text here, but some readers warn of it.
        self.lines += [_guarded(_escaped(one, literal=True)) or r"\&" for one in text.splitlines()]
        self.lines += [".EE", ".RE"]
        self.fresh_item = False

    def open_list(self, token: Token) -> None:
        if self.lists:
            self.lines.append(".RS 2")
        start = token.attrGet("start")
        self.lists.append(int(start or 1) if token.type == "ordered_list_open" else None)

    def item(self) -> None:
        number = self.lists[-1]
        if number is None:
            self.lines.append(r".IP \(bu 2")
        else:
            self.lines.append(f".IP {number}. 4")
            self.lists[-1] = number + 1
        self.fresh_item = True

    def row(self) -> None:
        """A row as a term and what is said of it."""
        first, *others = self.cells
        said = ", ".join(cell for cell in others if cell)
        self.lines += [".TP", _guarded(first), _guarded(said or r"\&")]

    def words(self, children: Iterable[Token]) -> str:
        """The text of a line."""
        text, target, begun = "", "", 0
        for child in children:
            match child.type:
                case "text" | "text_special":
                    text += _escaped(child.content)
                case "code_inline":
                    text += rf"\fB{_escaped(child.content, literal=True)}\fR"
                case "strong_open":
                    text += r"\fB"
                case "em_open":
                    text += r"\fI"
                case "strong_close" | "em_close":
                    text += r"\fR"
                case "softbreak" | "hardbreak":
                    text += "\n"
                case "image":
                    text += f"[picture: {_escaped(child.content)}]"
                case "link_open":
                    target = str(child.attrGet("href")).removesuffix(".md")
                    begun = len(text)
                case "link_close" if target in self.sections:
                    page = rf"\fB{_escaped(man_name(target))}\fR{self.sections[target]}"
                    said = text[begun:]
                    text = text[:begun] + (page if said == _escaped(target) else f"{said} ({page})")
                case _:
                    pass
        return text
