"""Findings that say the same of several pins are told once, and none is lost."""

from __future__ import annotations

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.report.entries import Entries
from breadproof.verify.report.findings import FindingTexts
from breadproof.verify.report.page import Page
from breadproof.verify.wiring.finding import Finding


def finding(message: str, *pins: str, code: str = "level-mismatch", line: int = 1) -> Finding:
    span = Span(file="b.yaml", line=line, column=1)
    return Finding(
        code=code, severity=Severity.ERROR, message=message, net=None, pins=pins, span=span,
        hint="Use an HCT part there.",
    )  # fmt: skip


def low(bit: int, reader: str = "U2") -> Finding:
    message = f"U1.{9 + bit} (IO{bit}) is too low on net 'd[{bit}]' for {reader}.{2 + bit} (D{bit})"
    return finding(message, f"U1.{9 + bit}", f"{reader}.{2 + bit}", line=bit + 1)


def told(*findings: Finding) -> list[str]:
    page = Page(width=100, colour=False)
    texts = FindingTexts(entries=Entries(page), path="b.yaml", file="b.yaml")
    return [line.strip() for line in texts.lines(findings)]


def test_alike_ones_are_told_once() -> None:
    other = finding("U3.4 (A2) is open", "U3.4", code="input-open", line=2)
    assert told(low(0), other, low(1), low(2))[1:] == [
        "Wiring  4 errors",
        "ERROR       U1.9 (IO0) is too low on net 'd[0]' for U2.2 (D0).",
        "b.yaml:1:1  [level-mismatch]  U1.9, U2.2",
        "The same of U1.10 (IO1) and U2.3 (D1); U1.11 (IO2) and U2.4 (D2).",
        "Use an HCT part there.",
        "ERROR       U3.4 (A2) is open.",
        "b.yaml:2:1  [input-open]  U3.4",
        "Use an HCT part there.",
    ]


def test_two_are_told_each_in_its_place() -> None:
    other = finding("U3.4 (A2) is open", "U3.4", code="input-open", line=2)
    lines = [line for line in told(low(0), other, low(1)) if line.startswith("ERROR")]
    assert [line.split()[1] for line in lines] == ["U1.9", "U3.4", "U1.10"]


def test_other_parts_other_words_and_what_names_no_pin_are_told_apart() -> None:
    bare = [finding("no pin is named here", f"U1.{n}") for n in (1, 2, 3)]
    odd = [low(n, reader=f"U{n + 2}") for n in (0, 1, 2)]
    lines = [line for line in told(*bare, *odd) if line.startswith("ERROR")]
    assert len(lines) == 6


def test_many_are_counted() -> None:
    lines = told(*(low(n) for n in range(20)))
    assert any(line.endswith("; and 7 more.") for line in lines)
