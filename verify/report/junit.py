"""Results as JUnit XML, which build systems show as tests.

There is no standard of it, but two schemas are in circulation: that of Ant's tasks (JUnit.xsd) and
that of Jenkins' readers (junit-4.xsd). What is written keeps to both. So it has what either demands
and nothing that either forbids: no file and line at a case (they stand in its text), no totals at
the top. A result that is undecided is an error: it is no pass.
"""

from __future__ import annotations

import re
from datetime import datetime
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from breadproof import __version__
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.resultwords import how
from breadproof.verify.wiring.finding import Finding

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 cannot hold (section 2.2)."""
_SUITES = {"wiring": "wiring", "standing": "checks", "assert": "formulas", "cover": "formulas"}


def junit_text(report: BoardReport, path: str, began: datetime, host: str) -> str:
    """The report: a suite for the wiring, one for the standing checks, one for the formulas.

    ``path`` is the board file as it was named; the run ``began`` at that time, which is written to
    the second and without a zone, as the schemas ask for, on ``host``.
    """
    board = report.machine.netlist.board
    cases = {name: list[Element]() for name in dict.fromkeys(_SUITES.values())}
    cases["wiring"] = _wiring(report.wiring)
    for result in report.results:
        cases[_SUITES[result.kind]].append(_case(result))
    told = {"board": path, "verdict": report.verdict, "breadproof": __version__}
    top = Element("testsuites")
    for name, every in cases.items():
        if every:
            suite = _suite(name, board, every, told)
            # What is asked of together has the time of the whole question each.
            seconds = min(sum(float(case.get("time", "0")) for case in every), report.seconds)
            suite.set("time", f"{seconds:.3f}")
            suite.set("id", str(len(top)))
            suite.set("timestamp", began.strftime("%Y-%m-%dT%H:%M:%S"))
            suite.set("hostname", _clean(host) or "localhost")
            top.append(suite)
    indent(top, " ")
    text = tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _suite(name: str, board: str, cases: list[Element], told: dict[str, str]) -> Element:
    suite = Element("testsuite", name=name, package=_clean(board), tests=str(len(cases)))
    for kind in ("failure", "error"):
        suite.set(f"{kind}s", str(sum(case.find(kind) is not None for case in cases)))
    properties = SubElement(suite, "properties")
    for key, value in told.items():
        SubElement(properties, "property", name=key, value=_clean(value))
    for case in cases:
        case.set("classname", _clean(f"{board}.{name}"))
        suite.append(case)
    SubElement(suite, "system-out")
    SubElement(suite, "system-err")
    return suite


def _wiring(findings: tuple[Finding, ...]) -> list[Element]:
    """A case for each error that is not accepted; one that passes if there is none."""
    cases: list[Element] = []
    for finding in findings:
        if finding.severity is Severity.ERROR and not finding.accepted:
            case = _timed(f"{finding.code} {finding.span.where()}", 0)
            failure = SubElement(case, "failure", type=finding.code)
            failure.set("message", _clean(finding.message))
            failure.text = _clean(f"{finding.span.where()}: {finding.message}\n{finding.hint}")
            cases.append(case)
    return cases or [_timed("wiring", 0)]


def _case(result: Result) -> Element:
    case = _timed(result.name, result.seconds)
    told = [result.says, how(result), result.because, *result.notes]
    if failing(result) or result.verdict == "undecided":
        kind = "failure" if failing(result) else "error"
        one = SubElement(case, kind, type=result.verdict)
        one.set(
            "message", _clean(": ".join(text for text in (result.verdict, result.says) if text))
        )
        one.text = _clean("\n".join(text for text in told if text))
    return case


def _timed(name: str, seconds: float) -> Element:
    return Element("testcase", name=_clean(name), time=f"{seconds:.3f}")


def _clean(text: str) -> str:
    return _NOT_XML.sub(" ", text)
