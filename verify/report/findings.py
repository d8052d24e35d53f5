"""Findings of wiring rules as text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.report.entries import Entries
from breadproof.verify.report.words import count, listed
from breadproof.verify.wiring.finding import Finding

SHOWN = 12
"""So many pins of a finding are named beside its place."""
ALIKE = 3
"""From so many findings on that differ in pins and nets alone, the first is told for all."""
PIN = re.compile(r"[\w/]+\.\w+ \([^)]+\)")
NET = re.compile(r"'[^']+'")


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingTexts:
    """``path`` is the board file as the user typed it, ``file`` as findings name it."""

    entries: Entries
    path: str
    file: str

    def lines(self, findings: Sequence[Finding]) -> list[str]:
        """The section: errors, warnings, notes, then what the board file accepts."""
        open_ones = [finding for finding in findings if not finding.accepted]
        lines = self.entries.section("Wiring", summary(findings) or "nothing is wrong")
        for severity in Severity:
            for finding, *others in alike([f for f in open_ones if f.severity is severity]):
                lines += self.finding(finding, others)
        for finding in findings:
            if finding.accepted:
                lines += self.accepted(finding)
        return lines

    def finding(self, finding: Finding, others: Sequence[Finding] = ()) -> list[str]:
        """One finding: what, where, of which other pins as well, and the way out."""
        lines = self.entries.entry(finding.severity.value, f"{finding.message}.")
        lines += self.entries.text(self.place(finding))
        if others:
            pins = [listed(list(dict.fromkeys(PIN.findall(one.message)))) for one in others]
            more = f"; and {len(pins) - SHOWN} more" if len(pins) > SHOWN else ""
            lines += self.entries.text(f"The same of {'; '.join(pins[:SHOWN])}{more}.")
        return lines + (self.entries.text(finding.hint) if finding.hint else [])

    def accepted(self, finding: Finding) -> list[str]:
        """One that the board file accepts: what it is, and why it stays."""
        lines = self.entries.entry("accepted", f"{finding.message}.")
        lines += self.entries.text(self.place(finding))
        return lines + self.entries.text(f"Accepted because: {finding.accepted}")

    def place(self, finding: Finding) -> str:
        """``board.yaml:12:30  [edge-slow]  U1.1``."""
        span = finding.span
        file = self.path if span.file == self.file else span.file
        place = f"{file}:{span.line}:{span.column}"
        pins = ", ".join(finding.pins[:SHOWN])
        more = f" and {len(finding.pins) - SHOWN} more" if len(finding.pins) > SHOWN else ""
        return f"{place}  [{finding.code}]  {pins}{more}".rstrip()


def alike(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings in order, those together that say the same of several pins of the same parts."""
    groups: dict[object, list[Finding]] = {}
    for finding in findings:
        groups.setdefault(_kind(finding), []).append(finding)
    told: list[list[Finding]] = []
    for finding in findings:
        group = groups[_kind(finding)]
        if len(group) < ALIKE:
            told.append([finding])
        elif finding is group[0]:
            told.append(group)
    return told


def _kind(finding: Finding) -> object:
    """What alike findings have in common; those that name no pin are like no other."""
    if not PIN.search(finding.message):
        return id(finding)
    parts = tuple(label.partition(".")[0] for label in finding.pins)
    return finding.code, NET.sub("", PIN.sub("", finding.message)), finding.hint, parts


def summary(findings: Sequence[Finding]) -> str:
    """``1 error and 2 warnings``; "" if there is nothing."""
    words: list[str] = []
    for severity in Severity:
        number = sum(f.severity is severity and not f.accepted for f in findings)
        words += [count(number, severity.value)] if number else []
    left = sum(bool(finding.accepted) for finding in findings)
    words += [f"{left} accepted"] if left else []
    return listed(words)
