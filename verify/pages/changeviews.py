"""What changed on a board as a page shows it, with the lines of both files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.pages.findingviews import (
    Pieces,
    PinLink,
    line_pieces,
    pin_links,
    place_of,
)
from breadproof.verify.pictures.stickers import Sticker, stick
from breadproof.verify.report.words import count
from breadproof.verify.revisions.cause import Parting
from breadproof.verify.revisions.changes import MATTERS, Change
from breadproof.verify.revisions.compare import Compared

PREFIXES = ("old-", "new-")
"""How names in the two pictures of a page begin."""
LINES = 6
"""So many lines of a file are shown of one change."""
SHOWN = 20
"""More changes than this are folded up."""
WORDS = 6
"""So many words of one ROM are told of one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """A line of a board file."""

    file: str
    number: int
    pieces: Pieces


@dataclass(frozen=True, slots=True, kw_only=True)
class SideView:
    """A change in one of the files: its lines, how many more there are, and the pins."""

    lines: tuple[LineView, ...]
    more: int
    pins: tuple[PinLink, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeView:
    """One change; ``cause``: the difference that is shown comes from it."""

    id: str
    kind: str
    text: str
    old: SideView
    new: SideView
    cause: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What matters, that from which a difference comes first; what else the files say, and what
    changes nothing (kind, texts). Of what matters ``shown`` are unfolded."""

    matters: tuple[ChangeView, ...]
    shown: int
    said: tuple[ChangeView, ...]
    rest: tuple[tuple[str, tuple[str, ...]], ...]


def change_views(
    compared: Compared, paths: tuple[str, str], drawn: tuple[frozenset[str], frozenset[str]]
) -> Changes:
    """All changes; ``drawn`` are the pins that the two pictures have."""
    cause = None if compared.parting is None else compared.parting.change
    views: dict[str, list[ChangeView]] = {"matters": [], "said": []}
    rest: dict[str, list[str]] = {}
    places = _Places(compared, paths)
    for number, (change, text) in enumerate(_words_together(compared.changes), 1):
        if change.group in ("names", "places"):
            rest.setdefault(change.kind, []).append(text)
            continue
        sides = [places.side(change, side, drawn[side]) for side in (0, 1)]
        view = ChangeView(
            id=f"change-{number}", kind=change.kind, text=text, old=sides[0], new=sides[1],
            cause=cause is not None and _same_card(change, cause),
        )  # fmt: skip
        views["matters" if change.group in MATTERS else "said"].append(view)
    return Changes(
        matters=tuple(sorted(views["matters"], key=lambda one: not one.cause)),
        shown=SHOWN,
        said=tuple(views["said"]),
        rest=tuple((kind, tuple(texts)) for kind, texts in rest.items()),
    )


def _same_card(change: Change, cause: Change) -> bool:
    return change == cause or (change.kind == cause.kind == "word" and change.parts == cause.parts)


def _words_together(changes: Sequence[Change]) -> Iterator[tuple[Change, str]]:
    """The changes with their texts, those of the words of one ROM as one."""
    words: dict[tuple[str, ...], list[str]] = {}
    for change in changes:
        if change.kind == "word":
            words.setdefault(change.parts[0], []).append(change.text)
    for change in changes:
        if change.kind != "word":
            yield change, change.text
        elif change.parts[0] in words:
            head, *others = words.pop(change.parts[0])
            told = [head, *(text.partition(": ")[2] for text in others[: WORDS - 1])]
            left = len(others) - WORDS + 1
            more = f"; and {count(left, 'more word')}" if left > 0 else ""
            yield change, "; ".join(told) + more


class _Places:
    """Where changes are in the two files."""

    def __init__(self, compared: Compared, paths: tuple[str, str]) -> None:
        self.paths = paths
        self.boards = (compared.old, compared.new)
        self.pins: tuple[Mapping[str, Span], ...] = tuple(
            {pin.label: pin.span for pin in board.pins()} for board in self.boards
        )

    def side(self, change: Change, side: int, drawn: frozenset[str]) -> SideView:
        """A change in one of the files."""
        lines = list(self.lines(list(self.spans(change, side)), side))
        return SideView(
            lines=tuple(lines[:LINES]),
            more=max(0, len(lines) - LINES),
            pins=pin_links(change.pins[side], drawn, PREFIXES[side]),
        )

    def spans(self, change: Change, side: int) -> Iterator[Span]:
        """Where the file says it: at its pins, or else its parts, formula, port or nets."""
        board = self.boards[side]
        pins = [self.pins[side][label] for label in change.pins[side]]
        parts = [part.span for part in board.parts if part.name in change.parts[side]]
        formulas = [one.span for one in board.formulas if one.name == change.formula != ""]
        ports = [
            port.span
            for port in board.ports
            if change.kind.startswith("port") and port.nets == change.nets[side]
        ]
        nets = [board.nets[net].span for net in change.nets[side] if not change.parts[1 - side]]
        yield from pins or parts or formulas or ports or nets

    def lines(self, spans: Iterable[Span], side: int) -> Iterator[LineView]:
        """Each line once, with all that is marked in it."""
        board: Netlist = self.boards[side]
        found: dict[tuple[str, int], list[Span]] = {}
        for span in spans:
            found.setdefault((span.file, span.line), []).append(span)
        for (file, number), same in found.items():
            pieces = line_pieces(same[0].text, [place_of(span) for span in same])
            shown = self.paths[side] if file == board.file else file
            yield LineView(file=shown, number=number, pieces=pieces)


def change_stickers(
    changes: Iterable[Change], parting: Parting | None, side: int
) -> dict[str, Sticker]:
    """What pins and parts of one of the boards are marked with."""
    found: dict[str, Sticker] = {}
    for change in changes:
        if change.group not in MATTERS:
            continue
        sticker = Sticker(text=f"changed: {change.text}", kind="changed")
        whole = change.kind == "word" or change.kind.startswith("part ")
        for label in change.pins[side] or (change.parts[side] if whole else ()):
            stick(found, label, sticker)
    if parting is not None:
        text = f"the first pin that differs, in step {parting.step}"
        stick(found, parting.pins[side], Sticker(text=text, kind="error"))
    return found
