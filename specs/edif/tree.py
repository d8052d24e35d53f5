"""EDIF as a tree of forms, each with its place: no recursion, whatever the file nests.

An atom is a plain pair (text as written, number of its first character), a string with the quote
in front of it: files of a hundred chips have a million of them.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from pathlib import Path
from typing import TypeAlias

from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.yamltree import read_bytes

MAX_BYTES = 64_000_000
"""A larger file is refused."""
MAX_DEPTH = 400
"""Deeper nesting is refused: a netlist needs fifteen levels."""

Atom: TypeAlias = tuple[str, int]
_TOKEN = re.compile(r'\(\s*[^\s()"]*|\)|"[^"]*"?|[^\s()"]+')
_ESCAPE = re.compile(r"%([0-9\s]*)%")


class Form:
    """``(keyword item ...)``: the keyword in small letters, the items, and where it begins."""

    __slots__ = ("at", "items", "keyword")

    def __init__(self, keyword: str, at: int) -> None:
        """Begin a form without items."""
        self.keyword = keyword
        self.at = at
        self.items: list[Atom | Form] = []

    def forms(self, *keywords: str) -> list[Form]:
        """The items that are forms with one of these keywords."""
        return [i for i in self.items if isinstance(i, Form) and i.keyword in keywords]

    def form(self, keyword: str) -> Form | None:
        """The first item that is a form with this keyword, or None."""
        for item in self.items:
            if isinstance(item, Form) and item.keyword == keyword:
                return item
        return None

    def atoms(self) -> list[Atom]:
        """The items that are no forms."""
        return [item for item in self.items if not isinstance(item, Form)]


class Source:
    """The text of a file, and its places."""

    def __init__(self, text: str, file: str) -> None:
        """Take the text; lines are found when a place is asked for."""
        self.text = text
        self.file = file
        self._starts: list[int] = []
        self._lines: dict[int, str] = {}

    def span(self, at: int, length: int = 1) -> Span:
        """The place of the character ``at``, counted from 0."""
        if not self._starts:
            self._starts = [0, *(end.end() for end in re.finditer(r"\r\n|\r|\n", self.text))]
        line = bisect_right(self._starts, at)
        start = self._starts[line - 1]
        text = self._lines.get(line)
        if text is None:
            end = self._starts[line] if line < len(self._starts) else len(self.text)
            text = self._lines[line] = self.text[start:end].rstrip("\r\n")
        room = max(1, len(text) - (at - start))
        return Span(
            file=self.file,
            line=line,
            column=at - start + 1,
            length=min(max(1, length), room),
            text=text,
        )

    def of(self, item: Atom | Form) -> Span:
        """The place of an atom, or of a form's keyword."""
        if isinstance(item, Form):
            return self.span(item.at, len(item.keyword) + 1)
        return self.span(item[1], len(item[0]))


def read_source(path: Path, problems: Problems) -> Source | None:
    """The text of an EDIF file. It is ASCII by the standard; what is beyond is read as UTF-8, or
    else byte by byte (ISO 8859-1), so that no name stops a file."""
    try:
        data = read_bytes(path, "edif-unreadable", MAX_BYTES)
    except BadInput as bad:
        problems.take(bad)
        return None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return Source(text, str(path))


def read_form(source: Source, problems: Problems) -> Form | None:
    """The one form that a file is; None, with a problem, if it is not balanced or too deep."""
    root = Form("", 0)
    items, above = root.items, list[list[Atom | Form]]()
    keywords: dict[str, str] = {}
    for found in _TOKEN.finditer(source.text):
        token = found[0]
        first = token[0]
        if first == "(":
            keyword = keywords.get(token)
            if keyword is None:
                keyword = keywords[token] = token[1:].strip().lower()
            form = Form(keyword, found.start())
            items.append(form)
            above.append(items)
            items = form.items
            if len(above) > MAX_DEPTH:
                _too_deep(source, form, problems)
                return None
        elif first != ")":
            items.append((token, found.start()))
            if not above:
                break
        elif above:
            items = above.pop()
            if not above:
                return _only(source, root, found.end(), problems)
        else:
            _extra(source, (token, found.start()), problems)
            return None
    open_form = above[-1][-1] if above else root
    return _checked(source, root, open_form if isinstance(open_form, Form) else root, problems)


def _checked(source: Source, root: Form, here: Form, problems: Problems) -> Form | None:
    """What is wrong with a file whose first form has no end."""
    last = here.items[-1] if here.items else None
    if isinstance(last, tuple) and last[0][0] == '"' and (len(last[0]) == 1 or last[0][-1] != '"'):
        problems.error(
            "edif-unbalanced",
            "this string does not end",
            source.span(last[1], 1),
            hint="Each string ends with a double quote; inside it a quote is written %34%.",
        )
    elif here is not root:
        end = max(0, len(source.text.rstrip()) - 1)
        problems.error(
            "edif-unbalanced",
            f"'({here.keyword}' is not closed: the file ends inside it",
            source.of(here),
            hint="The file may have been cut off: export it again.",
            related=(("the end of the file", source.span(end)),),
        )
    else:
        _no_edif(source, last[1] if isinstance(last, tuple) else 0, problems)
    return None


def _only(source: Source, root: Form, end: int, problems: Problems) -> Form | None:
    """The form, if it is EDIF and nothing stands behind it."""
    more = _TOKEN.search(source.text, end)
    whole = root.items[0]
    if isinstance(whole, Form) and whole.keyword == "edif":
        if more is None:
            return whole
        _extra(source, (more.group(), more.start()), problems)
        return None
    _no_edif(source, 0 if isinstance(whole, tuple) else whole.at, problems)
    return None


def _no_edif(source: Source, at: int, problems: Problems) -> None:
    problems.error(
        "edif-shape",
        "this is no EDIF file",
        source.span(at),
        hint="An EDIF file begins with '(edif NAME (edifVersion 2 0 0)'.",
    )


def _extra(source: Source, atom: Atom, problems: Problems) -> None:
    problems.error(
        "edif-unbalanced",
        f"'{atom[0][:30]}' stands behind the end of the file's one form",
        source.span(atom[1], len(atom[0])),
        hint="A parenthesis too many closed '(edif' before: look above this place.",
    )


def _too_deep(source: Source, form: Form, problems: Problems) -> None:
    problems.error(
        "edif-too-deep",
        f"nested deeper than {MAX_DEPTH} levels",
        source.of(form),
        hint="A netlist needs fifteen; check that this is the right file.",
    )


def string_of(token: str) -> str:
    """The text of a string token: ``%34 10%`` are characters by their numbers (EIA-548)."""
    inner = token[1:-1]
    if "%" not in inner:
        return inner
    return _ESCAPE.sub(lambda found: "".join(map(_character, found[1].split())), inner)


def _character(digits: str) -> str:
    """The character of that number; none where there is no such character."""
    code = int(digits) if len(digits) < 8 else 0x110000
    return chr(code) if code < 0xD800 or 0xE000 <= code < 0x110000 else ""
