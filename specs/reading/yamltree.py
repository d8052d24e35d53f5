"""YAML as a tree of texts with places: no anchors, aliases, tags, booleans or octals.

PyYAML's safe composer reads; nothing is constructed, so a pin ``0157`` or a position ``ON`` stays
what was written (design.md section 5).
"""

from __future__ import annotations

import os
import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Protocol, overload

import yaml

from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Problems, Span
from breadproof.specs.reading.yamlwords import in_words

MAX_BYTES = 4_000_000
"""A board or part file larger than this is refused: a 120-chip board is under 100 kB."""
MAX_DEPTH = 40
MAX_NODES = 200_000
MAX_PROBLEMS = 50
"""Reading stops after so many problems of the YAML itself: the rest would say the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A scalar as written, its place, and for each character its place in the file.

    ``places`` holds (line, column) of each character of ``value``, so that an error inside a
    formula points at the character although YAML folds lines and drops quotes.
    """

    value: str
    span: Span
    places: Sequence[tuple[int, int]] = ()
    lines: tuple[str, ...] = ()

    def at(self, offset: int, length: int = 1) -> Span:
        """The place of the character ``offset`` of the value."""
        if not self.places:
            return self.span
        line, column = self.places[min(max(offset, 0), len(self.places) - 1)]
        if offset >= len(self.places):
            column += 1
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        return Span(file=self.span.file, line=line, column=column, length=length, text=text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """A YAML sequence."""

    items: tuple[Tree, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A YAML mapping; keys are texts and stand once."""

    entries: tuple[tuple[Text, Tree], ...]
    span: Span

    def get(self, key: str) -> Tree | None:
        """The value under a key, or None."""
        return next((value for name, value in self.entries if name.value == key), None)

    def __iter__(self) -> Iterator[tuple[Text, Tree]]:
        """The entries in file order."""
        return iter(self.entries)


Tree = Text | Rows | Table


def read_bytes(path: Path, problems_code: str, limit: int = MAX_BYTES) -> bytes:
    """The bytes of a file, at most ``limit``.

    Raises:
        BadInput: the file is missing, cannot be read, is a directory or is too large.
    """
    span = Span(file=str(path), line=1, column=1)

    def bad(message: str, hint: str) -> BadInput:
        return BadInput([Diagnostic(code=problems_code, message=message, span=span, hint=hint)])

    try:
        with open(path, "rb") as handle:
            if os.path.isdir(path):
                raise IsADirectoryError
            data = handle.read(limit + 1)
    except FileNotFoundError:
        raise bad("there is no such file", "Check the path; it is taken as you typed it.") from None
    except IsADirectoryError:
        raise bad("this is a folder, not a file", "Name a file inside it.") from None
    except (OSError, ValueError) as error:
        raise bad(f"the file cannot be read: {error}", "Check its permissions.") from None
    if len(data) > limit:
        raise bad(
            f"the file is larger than {limit:,} bytes",
            "Split the machine into several boards, or check that this is the right file.",
        )
    return data


def read_tree(path: Path) -> Tree:
    """The YAML tree of a file.

    Raises:
        BadInput: with every problem of the file's YAML.
    """
    return parse_tree(read_text(path), str(path))


def read_text(path: Path) -> str:
    """The text of a file.

    Raises:
        BadInput: it cannot be read, or is not UTF-8.
    """
    data = read_bytes(path, "file-unreadable")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        span = Span(file=str(path), line=line, column=1)
        raise BadInput(
            [
                Diagnostic(
                    code="not-utf8",
                    message="the file is not UTF-8 text",
                    span=span,
                    hint="Save it as UTF-8, or check that it is a text file.",
                )
            ]
        ) from None


def parse_tree(text: str, file: str) -> Tree:
    """The YAML tree of a text; ``file`` is only for its places.

    Raises:
        BadInput: not YAML, empty, more than one document, an anchor, alias or tag, a key that is
            not plain text or stands twice, nested deeper than 40, more than 200,000 nodes.
    """
    reader = _Reader(text, file)
    tree = reader.run()
    reader.problems.stop_if_any()
    if tree is None:
        reader.problems.error(
            "file-empty",
            "the file is empty",
            Span(file=file, line=1, column=1),
            hint="A board file starts with 'board: NAME', a script with 'stimulus:', a target with "
            "'target: NAME'; 'breadproof manual' has a page about each.",
        )
        reader.problems.stop_if_any()
        raise AssertionError("unreachable: an empty file is an error")
    return tree


class _Places(Sequence[tuple[int, int]]):
    """Where each character of a scalar stands: found out when it is asked for, which is rare."""

    __slots__ = ("_found", "_raw", "_start", "_starts", "_value")

    def __init__(self, value: str, raw: str, start: int, starts: list[int]) -> None:
        """Take a value, its text as it stands in the file, where that begins, and all lines do."""
        self._value, self._raw, self._start, self._starts = value, raw, start, starts
        self._found: tuple[tuple[int, int], ...] | None = None

    def found(self) -> tuple[tuple[int, int], ...]:
        """All places: the raw text is walked beside the value."""
        if self._found is None:
            self._found = tuple(self._walk())
        return self._found

    def _walk(self) -> Iterator[tuple[int, int]]:
        at, raw = 0, self._raw
        for character in self._value:
            while at < len(raw) and not (
                raw[at] == character or (character in " \n" and raw[at] in " \r\n")
            ):
                at += 1
            yield _place(self._start + at, self._starts)
            if at < len(raw):
                folded = character == " " and raw[at] in "\r\n"
                at += 1
                while folded and at < len(raw) and raw[at] in " \r\n":
                    at += 1

    @overload
    def __getitem__(self, index: int) -> tuple[int, int]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[int, int], ...]: ...
    def __getitem__(self, index: int | slice) -> tuple[int, int] | tuple[tuple[int, int], ...]:
        return self.found()[index]

    def __len__(self) -> int:
        return len(self._value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Places) and self.found() == other.found()

    def __hash__(self) -> int:
        return hash(self.found())


def _place(index: int, starts: list[int]) -> tuple[int, int]:
    """Line and column of a character, both from 1; ``starts`` are where lines begin."""
    line = bisect_right(starts, index)
    return line, index - starts[line - 1] + 1


_SURROGATE = re.compile("[\ud800-\udfff]")


_DOUBTFUL = re.compile("[\t\x85\u2028\u2029\ufeff]")
"""Characters that libyaml and PyYAML do not count or skip alike."""


class _Doubt(Exception):
    """What libyaml may read otherwise than PyYAML."""


def _doubt(event: yaml.ScalarEvent, raw: str, *, in_flow: bool) -> None:
    """Refuse block scalars with more than > or | at their head, plain ones between brackets that
    have : or ? inside, and values that are left out."""
    if event.style in ("|", ">"):
        good = _HEAD.match(raw) is not None
    elif event.style in (None, ""):
        good = event.value != "" and not (in_flow and _INDICATOR.search(event.value))
    else:
        good = True
    if not good:
        raise _Doubt


_HEAD = re.compile(r"[|>][+-]?\r?\n")
_INDICATOR = re.compile("[:?]")


class _Mark(Protocol):
    """What both kinds of PyYAML's marks have: the number of a character, from 0."""

    @property
    def index(self) -> int: ...


class _Reader:
    """Turns PyYAML's event stream into a tree; events, not nodes, so that aliases never expand."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        # Lines as editors count them: to YAML, U+0085, U+2028 and U+2029 end a line, too.
        ends = [found.end() for found in re.finditer(r"\r\n|\r|\n", text)]
        self.starts = [0, *ends]
        self.lines = tuple(
            text[start:end].rstrip("\r\n")
            for start, end in zip(self.starts, [*ends, len(text)], strict=True)
        )
        self.file = file
        self.problems = Problems()
        self.count = 0

    def place(self, index: int) -> tuple[int, int]:
        """Line and column of a character, both from 1."""
        return _place(index, self.starts)

    def span(self, mark: _Mark | None, end: _Mark | None = None) -> Span:
        line, column = (1, 1) if mark is None else self.place(mark.index)
        length = 1
        last = self.starts[line] if line < len(self.starts) else len(self.text) + 1
        if mark is not None and end is not None and end.index < last:
            length = max(1, end.index - mark.index)
        source = self.lines[line - 1]
        return Span(file=self.file, line=line, column=column, length=length, text=source)

    def quickly(self) -> Tree | None:
        """The tree by libyaml, many times faster; None if there is any doubt.

        It is asked only for what it reads as PyYAML does: whatever is wrong, and the few things
        that it takes and PyYAML does not, are left to PyYAML, so that neither tree nor message
        depends on whether libyaml is there.
        """
        fast = getattr(yaml, "CSafeLoader", None)
        if fast is None or _DOUBTFUL.search(self.text):
            return None
        try:
            tree = self.documents(fast)
        except (_Doubt, yaml.YAMLError, UnicodeError):
            return None
        return None if self.problems.found else tree

    def run(self) -> Tree | None:
        tree = self.quickly()
        if tree is not None:
            return tree
        self.problems, self.count = Problems(), 0
        try:
            return self.documents(yaml.SafeLoader)
        except yaml.MarkedYAMLError as error:
            wrong = in_words(error, self.text)
            self.problems.error(
                "not-yaml",
                f"this is not YAML: {wrong.message}",
                self.span(wrong.mark),
                hint=wrong.hint,
                related=tuple((what, self.span(mark)) for what, mark in wrong.begun),
            )
        except yaml.YAMLError as error:
            self.problems.error(
                "not-yaml",
                f"this is not YAML: {str(error).splitlines()[0]}",
                Span(file=self.file, line=1, column=1),
                hint="Check that this is a text file.",
            )
        except RecursionError:
            self.too_deep(None)
        return None

    def too_deep(self, mark: _Mark | None) -> None:
        self.problems.error(
            "yaml-too-large",
            f"nested deeper than {MAX_DEPTH} levels or more than {MAX_NODES:,} values",
            self.span(mark),
            hint="A board file needs five levels; check that this is the right file.",
        )

    def documents(self, loader: type[yaml.SafeLoader]) -> Tree | None:
        stack: list[tuple[yaml.CollectionStartEvent, list[Tree]]] = []
        root: list[Tree] = []
        for event in yaml.parse(self.text, Loader=loader):
            if isinstance(event, yaml.DocumentStartEvent) and root:
                self.problems.error(
                    "yaml-documents",
                    "a second YAML document begins here",
                    self.span(event.start_mark),
                    hint="One file is one board: remove the '---'.",
                )
                return None
            if isinstance(event, yaml.NodeEvent):
                self.count += 1
                if self.count > MAX_NODES or len(stack) > MAX_DEPTH:
                    self.too_deep(event.start_mark)
                    return None
                self.refuse_extras(event)
                if len(self.problems.found) > MAX_PROBLEMS:
                    return None
            made = self.made_of(event, stack, loader)
            if made is not None:
                (stack[-1][1] if stack else root).append(made)
        if root and isinstance(root[0], Text) and not root[0].value and len(root) == 1:
            return None
        return root[0] if root else None

    def made_of(
        self,
        event: yaml.Event,
        stack: list[tuple[yaml.CollectionStartEvent, list[Tree]]],
        loader: type[yaml.SafeLoader],
    ) -> Tree | None:
        """What an event completes; a collection that begins goes on the stack."""
        match event:
            case yaml.AliasEvent():
                return Text(value="", span=self.span(event.start_mark, event.end_mark))
            case yaml.ScalarEvent():
                scalar, raw = self.scalar(event)
                if loader is not yaml.SafeLoader:
                    _doubt(event, raw, in_flow=bool(stack) and bool(stack[-1][0].flow_style))
                return scalar
            case yaml.CollectionStartEvent():
                stack.append((event, []))
            case yaml.CollectionEndEvent():
                start, items = stack.pop()
                return self.collection(start, items, event)
        return None

    def refuse_extras(self, event: yaml.NodeEvent) -> None:
        what = ""
        if isinstance(event, yaml.AliasEvent):
            what = f"an alias (*{event.anchor})"
        elif event.anchor:
            what = f"an anchor (&{event.anchor})"
        elif isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent) and (
            event.tag not in (None, "!")
        ):
            what = f"a tag ({event.tag})"
        if what:
            self.problems.error(
                "yaml-extra",
                f"{what} is not used in board files",
                self.span(event.start_mark, event.end_mark),
                hint="Write the value out; if this is a formula, put it in quotes.",
            )

    def scalar(self, event: yaml.ScalarEvent) -> tuple[Text, str]:
        """A scalar, and its text as it stands in the file."""
        start: _Mark | None = event.start_mark
        end: _Mark | None = event.end_mark
        if start is None or end is None:
            raise AssertionError("a parsed scalar has its marks")
        raw = self.text[start.index : end.index]
        if _SURROGATE.search(event.value):
            self.problems.error(
                "not-utf8",
                "half of a surrogate pair is no character",
                self.span(event.start_mark, event.end_mark),
                hint="Write the character itself, or its whole \\U escape.",
            )
        text = Text(
            value=event.value,
            span=self.span(event.start_mark, event.end_mark),
            places=_Places(event.value, raw, start.index, self.starts),
            lines=self.lines,
        )
        return text, raw

    def collection(
        self, start: yaml.Event, items: list[Tree], end: yaml.CollectionEndEvent
    ) -> Tree:
        span = self.span(start.start_mark)
        if isinstance(start, yaml.SequenceStartEvent):
            return Rows(items=tuple(items), span=span)
        entries: list[tuple[Text, Tree]] = []
        seen: dict[str, Text] = {}
        for key, value in zip(items[::2], items[1::2], strict=True):
            if not isinstance(key, Text):
                self.problems.error(
                    "yaml-key", "a key must be plain text", key.span, hint="Write NAME: VALUE."
                )
                continue
            if key.value in seen:
                self.problems.error(
                    "key-twice",
                    f"'{key.value}' stands here twice",
                    key.span,
                    hint="Join the two, or rename one; nothing is silently dropped.",
                    related=(("first here", seen[key.value].span),),
                )
                continue
            seen[key.value] = key
            entries.append((key, value))
        return Table(entries=tuple(entries), span=span)


def near(word: str, choices: list[str] | tuple[str, ...]) -> str:
    """A hint with the nearest names: "Did you mean A or B?", or "" where none is near.

    Those that differ in capitals alone are nearest.
    """
    alike = [one for one in choices if one.casefold() == word.casefold()]
    close = alike or get_close_matches(word, choices, n=3, cutoff=0.6)
    return f"Did you mean {' or '.join(close)}?" if close else ""
