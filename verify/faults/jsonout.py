"""The faults of a board as the one object that ``--json`` prints."""

from __future__ import annotations

import json
from typing import Any

from breadproof.specs.machine.trace import to_json
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.faults.counts import Counts, by_kind, counted
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judged import Apart, Detector, Judged
from breadproof.verify.faults.run import FaultReport

SCHEMA = 1


def report_object(report: FaultReport) -> dict[str, Any]:
    """The report as plain values; ``faults.schema.json`` in ``verify/report`` describes them."""
    netlist = report.sound.netlist
    faults = {fault.name: fault for fault in report.faults}
    return {
        "schema": SCHEMA,
        "board": netlist.board,
        "file": netlist.file,
        "strict": report.wanted.strict,
        "interrupted": report.interrupted,
        "collapsed": report.collapsed,
        "all": _counts(counted(report.judged)),
        "kinds": {kind: _counts(counts) for kind, counts in by_kind(report).items()},
        "faults": [_fault(report, faults[one.fault], one) for one in report.judged],
    }


def json_text(report: FaultReport) -> str:
    """The report as JSON text, ending in a newline."""
    return json.dumps(report_object(report), indent=1, ensure_ascii=False) + "\n"


def _counts(counts: Counts) -> dict[str, Any]:
    share, firm = counts.coverage, counts.firm
    return {
        **{str(group): number for group, number in counts.groups.items()},
        "warned": counts.warned,
        "coverage": None if share is None else round(share, 6),
        "coverage_without_warnings": None if firm is None else round(firm, 6),
    }


def _fault(report: FaultReport, fault: Fault, judged: Judged) -> dict[str, Any]:
    return {
        "name": fault.name,
        "kind": fault.kind,
        "says": fault.says,
        "pins": list(fault.pins),
        "same": list(fault.same),
        "group": judged.group,
        "detected_by": None if judged.detector is None else _detector(judged.detector),
        "differs": None if judged.apart is None else _apart(report.sound.netlist, judged.apart),
        "because": judged.because,
        "seconds": round(judged.seconds, 6),
    }


def _detector(by: Detector) -> dict[str, Any]:
    return {
        "means": by.means,
        "name": by.name,
        "says": by.says,
        "warning": by.warning,
        "steps": by.steps,
    }


def _apart(netlist: Netlist, apart: Apart) -> dict[str, Any]:
    runs = apart.runs
    return {
        "steps": apart.steps,
        "moves": list(apart.moves),
        "items": [
            {"name": name, "without": without, "with": with_it}
            for name, without, with_it in apart.items
        ],
        "pin": apart.pin,
        "trace": None if runs is None else to_json(netlist, runs[0]),
    }
