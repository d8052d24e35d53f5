"""Findings of wiring rules as a page shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.pages.signs import Tone, sign_of
from breadproof.verify.wiring.finding import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLink:
    """A pin of a finding; ``there``: the drawing of the board has it, as ``id``."""

    label: str
    id: str
    there: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """One finding; ``line`` is the line of the board file in three pieces, or ()."""

    id: str
    word: str
    sign: str
    tone: Tone
    message: str
    place: str
    file: str
    number: int
    line: tuple[str, str, str] | tuple[()]
    hint: str
    accepted: str
    pins: tuple[PinLink, ...]


def pin_id(label: str) -> str:
    """The name of a pin in a page: ``pin-U3.1``."""
    return f"pin-{label}"


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
        line=_line(span),
        hint=finding.hint,
        accepted=finding.accepted,
        pins=tuple(
            PinLink(label=label, id=pin_id(label), there=label in drawn) for label in finding.pins
        ),
    )


def _line(span: Span) -> tuple[str, str, str] | tuple[()]:
    """The source line: before the place, the place, and behind it."""
    if not span.text.strip():
        return ()
    start = span.column - 1
    end = start + max(1, span.length)
    return span.text[:start], span.text[start:end], span.text[end:]
