"""What pins of a picture are marked with: findings, and where runs go wrong."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.report.culprits import Story
from breadproof.verify.wiring.finding import Finding

Kind = Literal["error", "warns", "changed"]
"""What outweighs comes first."""
_ORDER: tuple[Kind, ...] = ("error", "warns", "changed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sticker:
    """What a pin or a part is marked with; each kind has a sign of its own."""

    text: str
    kind: Kind


def finding_stickers(findings: Iterable[Finding]) -> dict[str, Sticker]:
    """Errors and warnings that are not accepted, by the label of the pin."""
    found: dict[str, Sticker] = {}
    for finding in findings:
        if finding.severity is not Severity.NOTE and not finding.accepted:
            text = f"{finding.severity.value}: {finding.message}"
            for pin in finding.pins:
                kind: Kind = "error" if finding.severity is Severity.ERROR else "warns"
                stick(found, pin, Sticker(text=text, kind=kind))
    return found


def story_stickers(found: dict[str, Sticker], name: str, story: Story) -> None:
    """Mark the pins that fight or suffer in the run of a standing check ``name``."""
    for pin in (*story.cast.drives, *(story.cast.pins if ":" in name else ())):
        stick(found, pin, Sticker(text=f"see the run of {name}", kind="error"))


def stick(found: dict[str, Sticker], pin: str, sticker: Sticker) -> None:
    """Put a sticker beside those that a pin or part has; what outweighs gives the sign."""
    before = found.get(pin)
    if before is None:
        found[pin] = sticker
    elif sticker.text not in before.text:
        text = f"{before.text}; {sticker.text}"
        kind = min(before.kind, sticker.kind, key=_ORDER.index)
        found[pin] = Sticker(text=text, kind=kind)
