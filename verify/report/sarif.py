"""Findings of wiring rules in the static analysis results interchange format (OASIS, SARIF 2.1.0).

Sections are those of the standard. What a board file accepts is a result with a suppression.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from breadproof import __version__
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import RULES

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)


def sarif_text(findings: Sequence[Finding]) -> str:
    """The findings as JSON text, ending in a newline. Severities are levels (3.27.10)."""
    codes = [rule.code for rule in RULES]
    log = {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {"driver": _driver()},
                "columnKind": "unicodeCodePoints",
                "results": [_result(finding, codes) for finding in findings],
            }
        ],
    }
    return json.dumps(log, indent=1, ensure_ascii=False) + "\n"


def _driver() -> dict[str, Any]:
    """The tool (3.19), with all its rules (3.49)."""
    return {
        "name": "breadproof",
        "version": __version__,
        "rules": [
            {
                "id": rule.code,
                "shortDescription": {"text": f"{rule.title[0].upper()}{rule.title[1:]}."},
                "help": {"text": f"'breadproof rules {rule.code}' explains it."},
                "defaultConfiguration": {"level": rule.severity.value},
            }
            for rule in RULES
        ],
    }


def _result(finding: Finding, codes: list[str]) -> dict[str, Any]:
    """One result (3.27)."""
    hint = f" {finding.hint}" if finding.hint else ""
    made: dict[str, Any] = {
        "ruleId": finding.code,
        "level": finding.severity.value,
        "message": {"text": f"{finding.message}.{hint}"},
        "locations": [
            {
                "physicalLocation": _place(finding.span),
                "logicalLocations": [{"name": pin, "kind": "member"} for pin in finding.pins],
            }
        ],
    }
    if finding.code in codes:
        made["ruleIndex"] = codes.index(finding.code)
    if not finding.pins:
        del made["locations"][0]["logicalLocations"]
    if finding.accepted:
        # 3.35.2: the board file itself says so.
        made["suppressions"] = [{"kind": "inSource", "justification": finding.accepted}]
    return made


def _place(span: Span) -> dict[str, Any]:
    """A file and a region of it (3.29, 3.30); the end column is one behind the last character."""
    region: dict[str, Any] = {
        "startLine": span.line,
        "startColumn": span.column,
        "endColumn": span.column + max(1, span.length),
    }
    if span.text:
        region["snippet"] = {"text": span.text[span.column - 1 : span.column - 1 + span.length]}
    path = Path(span.file)
    uri = path.as_uri() if path.is_absolute() else quote(path.as_posix())
    return {"artifactLocation": {"uri": uri}, "region": region}
