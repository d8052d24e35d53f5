"""What is told about an input: places in files, diagnostics, and the error that carries them.

A mistake of the user is a `Diagnostic` inside a `BadInput`; a mistake of ours is an ordinary
Python exception. The two never mix (``../shared/style.md``, item 7).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Severity(Enum):
    """How much a diagnostic weighs: an error stops, a warning and a note do not."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A place in a file.

    ``line`` and ``column`` count from 1. ``length`` is the number of characters the place covers
    on its line (at least 1), ``text`` the whole source line, or "" where there is none.
    """

    file: str
    line: int
    column: int
    length: int = 1
    text: str = ""

    def within(self, offset: int, length: int) -> Span:
        """The part of this place that starts ``offset`` characters in, on the same line."""
        return Span(
            file=self.file,
            line=self.line,
            column=self.column + offset,
            length=max(1, length),
            text=self.text,
        )

    def where(self) -> str:
        """The place as ``file:line:column``, as compilers print it (common practice)."""
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnostic:
    """One thing said about an input, with its place, related places and the way out.

    ``code`` is from the registry of the room that made it and is never reused.
    """

    code: str
    message: str
    span: Span
    severity: Severity = Severity.ERROR
    hint: str = ""
    related: tuple[tuple[str, Span], ...] = ()

    def render(self) -> str:
        """The diagnostic as text: place, message, the source line with a caret, the way out."""
        lines = [f"{self.span.where()}: {self.severity.value}: {self.message} [{self.code}]"]
        lines += _caret(self.span)
        for what, span in self.related:
            lines.append(f"  {what}: {span.where()}")
            lines += _caret(span)
        if self.hint:
            lines.append(f"  {self.hint}")
        return "\n".join(lines)


def _caret(span: Span) -> list[str]:
    """The source line with a caret under the place; nothing where the line is not known."""
    if not span.text:
        return []
    start = max(0, span.column - 31) if len(span.text) > 100 else 0
    shown = span.text[start : start + 100].replace("\t", " ")
    blank = " " * (span.column - 1 - start)
    marks = "^" * max(1, min(span.length, len(shown) - len(blank)))
    return [f"    {shown}", f"    {blank}{marks}"]


class BadInput(Exception):
    """The input cannot be understood. Carries every problem that was found in the run."""

    def __init__(self, diagnostics: Iterable[Diagnostic]) -> None:
        """Take the diagnostics in the order in which they are to be shown."""
        self.diagnostics: tuple[Diagnostic, ...] = tuple(diagnostics)
        super().__init__("\n".join(d.render() for d in self.diagnostics))


class Problems:
    """Collects the diagnostics of a run, so that all of them are reported at once."""

    def __init__(self) -> None:
        """Start with none."""
        self.found: list[Diagnostic] = []

    def error(
        self,
        code: str,
        message: str,
        span: Span,
        *,
        hint: str = "",
        related: tuple[tuple[str, Span], ...] = (),
    ) -> None:
        """Note one error."""
        self.found.append(
            Diagnostic(code=code, message=message, span=span, hint=hint, related=related)
        )

    def take(self, bad: BadInput) -> None:
        """Note all errors of another run."""
        self.found.extend(bad.diagnostics)

    def stop_if_any(self) -> None:
        """Raise `BadInput` with everything found, in file order, if anything was found."""
        if self.found:
            # Once each: a board that a machine has twice is wrong twice.
            found = dict.fromkeys(self.found)
            raise BadInput(sorted(found, key=lambda d: (d.span.file, d.span.line, d.span.column)))
