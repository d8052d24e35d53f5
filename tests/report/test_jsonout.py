"""The object of ``--json`` against its schema, key for key as design.md section 8 has it."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.jsonout import json_text, report_object
from breadproof.verify.wiring.finding import Finding
from tests.report import boards as b


@pytest.fixture
def schema() -> Any:
    text = files("breadproof.verify.report").joinpath("verify.schema.json").read_text("utf-8")
    return json.loads(text)


@pytest.fixture
def report(tmp_path: Path) -> BoardReport:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(machine, [{"CLOCK": (1,)}], storage={"U1.R1[0]": 1, "U2.R[3]": 1})
    return BoardReport(
        machine=machine,
        wiring=(
            Finding(
                code="input-open",
                severity=Severity.WARNING,
                message="U4.9 (A3) is open",
                net=None,
                pins=("U4.9",),
                span=Span(file="board.yaml", line=7, column=3),
                hint="Tie it down.",
            ),
        ),
        results=(
            b.broken("still", trace, says="The address stands while U7 writes."),
            Result(
                name="glitch:U7.21",
                kind="standing",
                verdict="undecided",
                says="",
                method="",
                steps=10,
                seconds=60.0,
                assumes=("calm",),
                because="it ran out of time",
            ),
            Result(
                name="reached",
                kind="cover",
                verdict="unreachable",
                says="",
                method="induction over 1 step",
                steps=1,
                seconds=0.5,
                vacuous=(),
            ),
        ),
        verdict="fail",
        rounds=3,
        seconds=1.25,
    )


def test_the_object_fits_its_schema(report: BoardReport, schema: Any) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(json_text(report)), schema)


@pytest.mark.parametrize(
    ("place", "wrong"),
    [
        (("verdict",), "ok"),
        (("wiring", 0, "severity"), "fatal"),
        (("wiring", 0, "line"), 0),
        (("wiring", 0, "pins", 0), "U4"),
        (("results", 0, "verdict"), "covered"),
        (("results", 2, "verdict"), "fails"),
        (("results", 0, "steps"), -1),
        (("results", 0, "trace", "steps"), []),
        (("results", 0, "trace", "start", "storage", "U2.R"), "8"),
    ],
)
def test_the_schema_refuses_what_is_wrong(
    report: BoardReport, schema: Any, place: tuple[str | int, ...], wrong: object
) -> None:
    told: Any = json.loads(json_text(report))
    inner = told
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = wrong
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(told, schema)


def test_every_key_of_the_design_is_there(report: BoardReport) -> None:
    told = report_object(report)
    assert {"schema", "board", "verdict", "wiring", "results"} <= told.keys()
    assert told["schema"] == 1
    assert (told["board"], told["verdict"]) == ("strobe", "fail")
    assert told["wiring"] == [
        {
            "code": "input-open",
            "severity": "warning",
            "message": "U4.9 (A3) is open",
            "net": None,
            "pins": ["U4.9"],
            "file": "board.yaml",
            "line": 7,
            "column": 3,
        }
    ]
    first, second, third = told["results"]
    assert {key: value for key, value in first.items() if key != "trace"} == {
        "name": "still",
        "kind": "assert",
        "verdict": "fails",
        "says": "The address stands while U7 writes.",
        "method": "unrolling",
        "steps": 1,
        "seconds": 0.25,
        "assumes": [],
        "vacuous": None,
        "because": "",
        "notes": [],
        "engines": [],
        "evidence": [],
        "no_evidence": "",
        "rests_on": None,
        "started_by": None,
    }
    assert second["assumes"] == ["calm"]
    assert second["because"] == "it ran out of time"
    assert second["trace"] is None
    assert third["vacuous"] == []


def test_what_a_proof_rests_on(report: BoardReport, schema: Any) -> None:
    grounds = Grounds(
        parts=("U7",),
        pins=(("U7.18", "low"), ("U7.9", "open")),
        contents=("U9.M",),
        assumptions=("calm",),
        least=False,
    )
    proved = replace(report.results[0], verdict="holds", trace=None, grounds=grounds)
    told = json.loads(json_text(replace(report, results=(proved,))))
    jsonschema.validate(told, schema)
    assert told["results"][0]["rests_on"] == {
        "parts": ["U7"],
        "pins": {"U7.18": "low", "U7.9": "open"},
        "contents": ["U9.M"],
        "assumptions": ["calm"],
        "least": False,
    }


def test_a_trace_has_its_vectors_as_text(report: BoardReport) -> None:
    trace = report_object(report)["results"][0]["trace"]
    assert trace["start"]["storage"]["U2.R"] == "4'h8"
    assert trace["start"]["storage"]["U1.R1"] == "1'b1"
    assert trace["start"]["controls"] == {"STORE": "1'b0", "CLOCK": "1'b0", "d": "released"}
    assert [step["nets"]["a"] for step in trace["steps"]] == ["4'h8", "4'h9"]
    assert [step["writes"] for step in trace["steps"]] == [["U7"], ["U7"]]
    assert [one["nets"]["strobe_n"] for one in trace["steps"][1]["rounds"]] == ["1'b0", "1'b1"]
