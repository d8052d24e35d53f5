"""A report as the one object that ``--json`` prints (design.md section 8)."""

from __future__ import annotations

import json
from typing import Any

from breadproof.specs.machine.trace import to_json
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.verdict import Result

SCHEMA = 1


def report_object(report: BoardReport) -> dict[str, Any]:
    """The report as plain values; ``verify.schema.json`` beside this module describes them."""
    netlist = report.machine.netlist
    return {
        "schema": SCHEMA,
        "board": netlist.board,
        "title": netlist.title,
        "file": netlist.file,
        "verdict": report.verdict,
        "rounds": report.rounds,
        "seconds": round(report.seconds, 6),
        "wiring": [finding.as_json() for finding in report.wiring],
        "results": [_result(netlist, result) for result in report.results],
    }


def json_text(report: BoardReport) -> str:
    """The report as JSON text, ending in a newline."""
    return json.dumps(report_object(report), indent=1, ensure_ascii=False) + "\n"


def _result(netlist: Netlist, result: Result) -> dict[str, Any]:
    return {
        "name": result.name,
        "kind": result.kind,
        "verdict": result.verdict,
        "says": result.says,
        "method": result.method,
        "steps": result.steps,
        "seconds": round(result.seconds, 6),
        "assumes": list(result.assumes),
        "vacuous": None if result.vacuous is None else list(result.vacuous),
        "because": result.because,
        "notes": list(result.notes),
        "engines": list(result.engines),
        "evidence": list(result.evidence),
        "no_evidence": result.no_evidence,
        "rests_on": None if result.grounds is None else _grounds(result.grounds),
        "trace": None if result.trace is None else to_json(netlist, result.trace),
    }


def _grounds(grounds: Grounds) -> dict[str, Any]:
    return {
        "parts": list(grounds.parts),
        "pins": dict(grounds.pins),
        "contents": list(grounds.contents),
        "assumptions": list(grounds.assumptions),
        "least": grounds.least,
    }
