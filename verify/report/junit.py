"""Results as JUnit XML, which build systems show as tests.

There is no standard of it; what is written is what its readers agree on: `testsuites`, `testsuite`
and `testcase`, with `failure` and `error`. A result that is undecided is an error: it is no pass.
"""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.resultwords import how
from breadproof.verify.wiring.finding import Finding

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 cannot hold (section 2.2)."""
_SUITES = {"wiring": "wiring", "standing": "checks", "assert": "formulas", "cover": "formulas"}


def junit_text(report: BoardReport) -> str:
    """The report: a suite for the wiring, one for the standing checks, one for the formulas."""
    board = report.machine.netlist.board
    top = Element("testsuites")
    suites = {name: SubElement(top, "testsuite") for name in dict.fromkeys(_SUITES.values())}
    cases = {name: list[Element]() for name in suites}
    cases["wiring"] = _wiring(report.wiring)
    for result in report.results:
        cases[_SUITES[result.kind]].append(_case(result))
    for name, suite in suites.items():
        _fill(suite, f"{board}.{name}", cases[name])
        if not cases[name]:
            top.remove(suite)
    _total(top, _clean(board), [case for every in cases.values() for case in every])
    indent(top, " ")
    text = tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _fill(suite: Element, name: str, cases: list[Element]) -> None:
    for case in cases:
        case.set("classname", _clean(name))
        suite.append(case)
    _total(suite, _clean(name), cases)


def _total(element: Element, name: str, cases: list[Element]) -> None:
    element.set("name", name)
    element.set("tests", str(len(cases)))
    for kind in ("failure", "error"):
        element.set(f"{kind}s", str(sum(case.find(kind) is not None for case in cases)))
    seconds = sum(float(case.get("time", "0")) for case in cases)
    element.set("time", f"{seconds:.3f}")


def _wiring(findings: tuple[Finding, ...]) -> list[Element]:
    """A case for each error that is not accepted; one that passes if there is none."""
    cases: list[Element] = []
    for finding in findings:
        if finding.severity is Severity.ERROR and not finding.accepted:
            case = Element("testcase", name=_clean(f"{finding.code} {finding.span.where()}"))
            case.set("file", _clean(finding.span.file))
            case.set("line", str(finding.span.line))
            failure = SubElement(case, "failure", type=finding.code)
            failure.set("message", _clean(finding.message))
            failure.text = _clean(f"{finding.span.where()}: {finding.message}\n{finding.hint}")
            cases.append(case)
    return cases or [Element("testcase", name="wiring")]


def _case(result: Result) -> Element:
    case = Element("testcase", name=_clean(result.name), time=f"{result.seconds:.3f}")
    told = [result.says, how(result), result.because, *result.notes]
    if failing(result) or result.verdict == "undecided":
        kind = "failure" if failing(result) else "error"
        one = SubElement(case, kind, type=result.verdict)
        one.set(
            "message", _clean(": ".join(text for text in (result.verdict, result.says) if text))
        )
        one.text = _clean("\n".join(text for text in told if text))
    return case


def _clean(text: str) -> str:
    return _NOT_XML.sub(" ", text)
