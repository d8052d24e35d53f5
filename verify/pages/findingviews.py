"""Findings of wiring rules as a page shows them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.pages.signs import Tone, sign_of
from breadproof.verify.wiring.finding import Finding

Pieces = tuple[tuple[str, bool], ...]
"""A source line in pieces, each with whether it is marked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLink:
    """A pin of a finding; ``there``: the drawing of the board has it, as ``id``."""

    label: str
    id: str
    there: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """One finding; ``line`` is the line of the board file, or ()."""

    id: str
    word: str
    sign: str
    tone: Tone
    message: str
    place: str
    file: str
    number: int
    line: Pieces
    hint: str
    accepted: str
    pins: tuple[PinLink, ...]


def pin_links(
    labels: Iterable[str], drawn: frozenset[str], prefix: str = ""
) -> tuple[PinLink, ...]:
    """Links to pins of a picture whose names begin with ``prefix``; ``drawn`` are those it has."""
    return tuple(
        PinLink(label=label, id=f"{prefix}pin-{label}", there=label in drawn) for label in labels
    )


def finding_views(
    findings: Sequence[Finding], path: str, file: str, drawn: frozenset[str]
) -> list[FindingView]:
    """Errors, warnings, notes, then what is accepted.

    ``path`` is the board file as the user typed it, ``file`` as findings name it; ``drawn`` are the
    labels of the pins that the drawing has.
    """
    order = list(Severity)
    ranked = sorted(findings, key=lambda one: (bool(one.accepted), order.index(one.severity)))
    return [_view(number, one, path, file, drawn) for number, one in enumerate(ranked, 1)]


def _view(
    number: int, finding: Finding, path: str, file: str, drawn: frozenset[str]
) -> FindingView:
    span = finding.span
    sign = sign_of("accepted" if finding.accepted else finding.severity.value)
    shown = path if span.file == file else span.file
    return FindingView(
        id=f"finding-{number}",
        word=sign.word,
        sign=sign.sign,
        tone=sign.tone,
        message=finding.message,
        place=f"{shown}:{span.line}:{span.column}  [{finding.code}]",
        file=shown,
        number=span.line,
        line=line_pieces(span.text, [place_of(span)]),
        hint=finding.hint,
        accepted=finding.accepted,
        pins=pin_links(finding.pins, drawn),
    )


def line_pieces(text: str, places: Iterable[tuple[int, int]]) -> Pieces:
    """A source line, cut where it is marked; each place is a start (from 0) and an end."""
    if not text.strip():
        return ()
    found: list[tuple[str, bool]] = []
    at = 0
    for start, end in sorted(places):
        if start < at:
            continue
        found += [(text[at:start], False), (text[start:end], True)]
        at = end
    return tuple(piece for piece in (*found, (text[at:], False)) if piece[0])


def place_of(span: Span) -> tuple[int, int]:
    """Where a span begins and ends in its line."""
    return span.column - 1, span.column - 1 + max(1, span.length)
