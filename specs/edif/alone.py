"""An EDIF file without a board file: the board that it is by itself."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

from breadproof.specs.edif.drawn import OURS, Notes, drawn_of, with_drawn
from breadproof.specs.edif.mapping import Mapping, read_mapping
from breadproof.specs.edif.model import EdifFile, Property
from breadproof.specs.edif.read import collector_paused, read_edif
from breadproof.specs.formula.parse import parse
from breadproof.specs.reading.accepts import Accept
from breadproof.specs.reading.board import Board, FormulaEntry
from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.edifkey import EdifEntry
from breadproof.specs.reading.yamltree import Text

_KINDS: tuple[Literal["assume", "assert", "cover"], ...] = ("assume", "assert", "cover")


def board_of_edif(
    path: Path,
    entry: EdifEntry,
    mapping_path: Path | None,
    problems: Problems,
    folders: Sequence[Path] = (),
) -> tuple[Board, Notes] | None:
    """The board of an EDIF file, and what else it tells; None, with problems, if it is none.

    ``entry`` says which design and which supplies, ``mapping_path`` where the mapping file is. In a
    file that was written here the design tells more: title, supply, vectors, formulas and so on.
    """
    with collector_paused():
        file = read_edif(path, problems)
        mapping = Mapping()
        if mapping_path is not None:
            asked = Span(file=str(mapping_path), line=1, column=1)
            mapping = read_mapping(mapping_path, asked, problems)
        if file is None:
            return None
        board = _Told(file, problems).board(path)
        drawn = drawn_of(board, entry, file, mapping, problems, folders)
    if drawn is None:
        return None
    name = board.name or re.sub(r"[^A-Za-z0-9_-]+", "-", drawn.name).strip("-") or "board"
    return replace(with_drawn(board, drawn), name=name), drawn.notes


class _Told:
    """What the design of a file tells that was written here."""

    def __init__(self, file: EdifFile, problems: Problems) -> None:
        self.file = file
        self.problems = problems
        ours = OURS in file.written and len(file.designs) == 1
        self.properties = file.designs[0].properties if ours else ()

    def all(self, name: str) -> Iterator[Property]:
        return (one for one in self.properties if one.name.shown == name)

    def text(self, one: Property) -> Text:
        return Text(value=one.value, span=self.file.source.span(one.at, one.length))

    def first(self, name: str) -> Text | None:
        return next((self.text(one) for one in self.all(name)), None)

    def pairs(self, name: str) -> tuple[tuple[Text, Text], ...]:
        """``VEE 12 V`` as two texts."""
        found: list[tuple[Text, Text]] = []
        for one in self.all(name):
            text = self.text(one)
            first, _, second = text.value.partition(" ")
            found.append((replace(text, value=first), replace(text, value=second)))
        return tuple(found)

    def board(self, path: Path) -> Board:
        name, title = self.first("board"), self.first("title")
        groups = [self.text(one) for one in self.all("together")]
        return Board(
            file=str(path),
            name=name.value if name is not None else "",
            title=title.value if title is not None else "",
            family=self.first("family"),
            supply=self.first("supply"),
            current=self.first("current"),
            rails=self.pairs("rail"),
            catalogue=None,
            parts=(),
            nets=(),
            ports=(),
            together="all"
            if [group.value for group in groups] == ["all"]
            else tuple(
                tuple(replace(group, value=word) for word in group.value.split())
                for group in groups
            ),
            reset=self.pairs("reset"),
            bounces=tuple(self.text(one) for one in self.all("bounces")),
            formulas=tuple(entry for kind in _KINDS for entry in self.formulas(kind)),
            accepts=tuple(self.accepts()),
        )

    def accepts(self) -> Iterator[Accept]:
        for one in self.all("accept"):
            inner = {more.name.shown: more.value for more in one.inner}
            yield Accept(
                code=inner.get("code", ""),
                pin=inner.get("pin", ""),
                net=inner.get("net", ""),
                because=one.value,
                span=self.text(one).span,
            )

    def formulas(self, kind: Literal["assume", "assert", "cover"]) -> Iterator[FormulaEntry]:
        for one in self.all(kind):
            inner = {more.name.shown: more for more in one.inner}
            text = self.text(one)
            name = self.text(inner["name"]) if "name" in inner else replace(text, value=kind)
            says = inner["says"].value if "says" in inner else ""
            try:
                yield FormulaEntry(name=name, kind=kind, says=says, text=text, expr=parse(text))
            except BadInput as bad:
                self.problems.take(bad)
