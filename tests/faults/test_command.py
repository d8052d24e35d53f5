"""The command `breadproof faults` as its user meets it."""

from __future__ import annotations

import json
import os
from importlib.resources import files
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from breadproof import cli
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judge import Judge
from breadproof.verify.faults.judged import Judged
from tests.faults.support import REVISIONS

LAMP = str(REVISIONS / "cue-lamp-nand.yaml")


def test_what_is_undetected_is_told_with_what_is_missing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["faults", LAMP, "--kind", "type"]) == 1
    out = capsys.readouterr().out
    assert "type:U1-74LS32: U1 is a 74LS32, not a 74LS00" in out
    assert "lamp is 1, and should be 0" in out
    assert "a formula that says what lamp shows" in out
    assert "cue-lamp: fault coverage 90.0 %, 9 of 10" in out
    assert max(map(len, out.splitlines())) <= 100


def test_all_detected_is_a_pass(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["faults", LAMP, "--kind", "bridge", "--all", "--jobs", "2"]) == 0
    out = capsys.readouterr().out
    assert "Undetected" not in out
    assert "bridge:U1.1-2: U1.1 (A1) and U1.2 (B1) are bridged" in out
    assert "by      fights:a: No two outputs drive net a at once." in out


def test_only_at_one_part(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["faults", LAMP, "--kind", "open", "--at", "C1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {fault["name"] for fault in told["faults"]} == {"open:C1.1", "open:C1.2"}
    assert {fault["detected_by"]["name"] for fault in told["faults"]} == {"decoupling-missing"}


def test_a_part_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["faults", LAMP, "--at", "U7"]) == 2
    err = capsys.readouterr().err
    assert "the board has no part 'U7'" in err
    assert "Traceback" not in err


def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert cli.main(["faults", str(tmp_path / "none.yaml")]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_what_is_open_is_neither_detected_nor_redundant(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(judge: Judge, fault: Fault) -> Judged:
        return Judged(fault=fault.name, group="unclassified", because="no time")

    monkeypatch.setattr(Judge, "by_proof", never)
    call = ["faults", LAMP, "--kind", "open", "--strict", "--jobs", "1", "--json"]
    assert cli.main(call) == 3
    told = json.loads(capsys.readouterr().out)
    schema = json.loads(
        files("breadproof.verify.report").joinpath("faults.schema.json").read_text("utf-8")
    )
    Draft202012Validator(schema).validate(told)
    counts = told["all"]
    assert counts["unclassified"] > 0
    assert counts["coverage"] == pytest.approx(
        counts["detected"] / (counts["detected"] + counts["unclassified"]), abs=1e-6
    )


def test_a_worker_that_is_lost_has_said_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def dies(judge: Judge, fault: Fault) -> Judged:
        os._exit(1)

    monkeypatch.setattr(Judge, "by_proof", dies)
    assert cli.main(["faults", LAMP, "--kind", "open", "--strict", "--jobs", "2"]) == 3
    out = " ".join(capsys.readouterr().out.split())
    assert "its process ended with status 1 and no answer" in out


def test_a_board_that_never_rests_has_no_redundant_faults(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """An inverter onto itself: nothing is proved of it, so nothing is redundant."""
    path = tmp_path / "restless.yaml"
    path.write_text(
        "board: restless\nparts: {U1: 74LS04}\n"
        "nets:\n  VCC: [U1.14]\n  GND: [U1.7, U1.5, U1.9, U1.11, U1.13]\n"
        "  y: [U1.1, U1.2]\n  a: [U1.3]\n  z: [U1.4]\nports: {a: in, z: out}\n",
        "utf-8",
    )
    assert cli.main(["faults", str(path), "--kind", "open", "--json"]) == 3
    told = json.loads(capsys.readouterr().out)
    assert told["all"]["redundant"] == 0
    spare = next(fault for fault in told["faults"] if fault["name"] == "open:U1.5")
    assert spare["group"] == "unclassified"
    assert "the board without the fault is not proved to get quiet" in spare["because"]


def test_ctrl_c_keeps_what_is_classified(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(judge: Judge, fault: Fault) -> Judged:
        raise KeyboardInterrupt

    monkeypatch.setattr(Judge, "by_proof", interrupted)
    assert cli.main(["faults", LAMP, "--kind", "open", "--strict", "--jobs", "1"]) == 130
    out, err = capsys.readouterr()
    assert "interrupted before it was looked at to the end" in " ".join(out.split())
    assert "faults were classified and stand above" in err
    assert "Traceback" not in err


def test_a_check_that_fails_without_a_fault_detects_nothing(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The formula is wrong; a fault with which it is broken, too, is not detected by it."""
    path = tmp_path / "wrong.yaml"
    path.write_text(
        "board: wrong\nparts: {U1: 74LS04}\n"
        "nets:\n  VCC: [U1.14]\n  GND: [U1.7, U1.3, U1.5, U1.9, U1.11, U1.13]\n"
        "  a: [U1.1]\n  y: [U1.2]\n"
        "ports: {a: in, y: out}\n"
        "assert:\n  same: {says: y is a., formula: 'always (y == a)'}\n",
        "utf-8",
    )
    call = ["faults", str(path), "--kind", "open", "--kind", "moved"]
    cli.main([*call, "--json"])
    told = json.loads(capsys.readouterr().out)
    by = {fault["detected_by"]["name"] for fault in told["faults"] if fault["detected_by"]}
    assert "same" not in by
    cli.main(call)
    assert "Without a fault these fail already, and detect nothing: same." in " ".join(
        capsys.readouterr().out.split()
    )
