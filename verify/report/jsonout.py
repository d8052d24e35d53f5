"""A report as the one object that ``--json`` prints (design.md section 8)."""

from __future__ import annotations

import json
from typing import Any

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import to_json
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.replay import replay

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
        "results": [_result(report.machine, result) for result in report.results],
    }


def json_text(report: BoardReport) -> str:
    """The report as JSON text, ending in a newline."""
    return json.dumps(report_object(report), indent=1, ensure_ascii=False) + "\n"


def _result(machine: Machine, result: Result) -> dict[str, Any]:
    netlist = machine.netlist
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
        "started_by": _started_by(machine, result),
        "trace": None if result.trace is None else to_json(netlist, result.trace),
    }


def _started_by(machine: Machine, result: Result) -> dict[str, Any] | None:
    """What starts the pulse for which a glitch check fails."""
    if not result.name.startswith("glitch:") or result.trace is None:
        return None
    story = tell(result, replay(machine, result.trace))
    if story.start is None:
        return None
    return {
        "controls": list(story.start.controls),
        "storage": list(story.start.stores),
        "round": story.run.instants[story.at].round,
    }


def _grounds(grounds: Grounds) -> dict[str, Any]:
    return {
        "parts": list(grounds.parts),
        "pins": dict(grounds.pins),
        "contents": list(grounds.contents),
        "assumptions": list(grounds.assumptions),
        "least": grounds.least,
    }
