"""What is new since the last run: findings that came and went, verdicts that changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from breadproof.verify.report.entries import COLOURS, Entries
from breadproof.verify.report.words import count, listed
from breadproof.verify.wiring.finding import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdicts:
    """The results of a run by name, each with its sentence, and the board's verdict."""

    board: str
    results: Mapping[str, str]
    says: Mapping[str, str]


def finding_lines(
    before: Sequence[Finding] | None, now: Sequence[Finding], entries: Entries
) -> list[str]:
    """Findings that are new and that are gone; all of them after the first run (``None``).

    A finding that only moved to another line is the same.
    """
    old = {} if before is None else {_key(one): one for one in before}
    new = {_key(one): one for one in now}
    lines: list[str] = []
    for key, finding in new.items():
        if key not in old:
            word = "accepted" if finding.accepted else finding.severity.value
            place = f"{finding.span.where()}  [{finding.code}]"
            lines += entries.entry(word, f"{finding.message}.")
            lines += entries.text(place)
            lines += entries.text(finding.hint) if finding.hint and before is not None else []
    for key, finding in old.items():
        if key not in new:
            lines += entries.entry("gone", f"{finding.message}.")
    return lines


def verdict_lines(before: Verdicts | None, now: Verdicts, entries: Entries) -> list[str]:
    """Results whose verdict changed, came or went; after the first run those that are not well."""
    lines: list[str] = []
    for name, verdict in now.results.items():
        was = None if before is None else before.results.get(name)
        well = COLOURS[verdict] == "green"
        if was == verdict or (was is None and well and ":" in name):
            continue
        if before is None and well:
            continue
        told = f"{name}: {now.says[name]}".removesuffix(": ")
        if before is not None:
            told += f" (was {was})" if was else " (new)"
        lines += entries.entry(verdict, told)
    gone = [name for name in (before.results if before else ()) if name not in now.results]
    if gone:
        shown = listed(gone[:5]) if len(gone) <= 5 else f"{', '.join(gone[:5])} and more"
        lines += entries.entry("gone", f"{count(len(gone), 'result')}: {shown}")
    return lines


def _key(finding: Finding) -> tuple[str, str, tuple[str, ...], bool]:
    return finding.code, finding.message, finding.pins, bool(finding.accepted)
