"""What commands print with ``--json`` is as their shipped schemas say; other things are not."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, ValidationError

from breadproof import cli
from breadproof.schema_command import PRINTED

ROOT = Path(__file__).resolve().parents[2]
BOARDS = ROOT / "specs" / "boards"

CALLS: dict[str, tuple[tuple[str, ...], ...]] = {
    "check": (
        (str(BOARDS / "twins" / "enable-open.yaml"),),
        (str(BOARDS / "fade-engine.yaml"),),
    ),
    "simulate": (
        (
            str(BOARDS / "light-store.yaml"),
            "--script",
            str(BOARDS / "scripts" / "light-store.yaml"),
        ),
    ),
    "faults": (
        (str(BOARDS / "revisions" / "cue-lamp-nand.yaml"), "--kind", "open", "--kind", "type"),
    ),
    "compare": (
        (str(BOARDS / "revisions" / "chase.yaml"), str(BOARDS / "revisions" / "chase-moved.yaml")),
        (
            str(BOARDS / "mixer.yaml"),
            str(BOARDS / "verilog" / "mixer.v"),
            "--ports",
            str(BOARDS / "verilog" / "mixer.yaml"),
            "--no-proofs",
        ),
    ),
    "wires": ((str(BOARDS / "light-store-holes.yaml"),),),
    "rules": ((), ("input-open",)),
    "parts": (
        (),
        ("157",),
        ("6116",),
        ("resistor",),
        ("--of", str(BOARDS / "tempo.yaml")),
        ("--check", str(ROOT / "specs" / "parts" / "08.yaml")),
    ),
}


def _printed(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    cli.main(list(words))
    return json.loads(capsys.readouterr().out)


def test_every_schema_is_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert set(PRINTED) == {*CALLS, "verify"}
    for command in PRINTED:
        Draft202012Validator.check_schema(_printed(capsys, "schema", command))


@pytest.mark.parametrize(
    ("command", "words"), [(name, words) for name, calls in CALLS.items() for words in calls]
)
def test_what_is_printed_is_what_the_schema_says(
    command: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    validator = Draft202012Validator(_printed(capsys, "schema", command))
    told = _printed(capsys, command, *words, "--json")
    validator.validate(told)
    for key, right in told.items():
        without = {name: value for name, value in told.items() if name != key}
        changed = copy.deepcopy(told) | {key: "3.5" if isinstance(right, int | float) else 3.5}
        for wrong in (without, changed):
            with pytest.raises(ValidationError):
                validator.validate(wrong)


def test_what_is_printed_of_exported_verilog(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board, verilog = str(BOARDS / "revisions" / "chase.yaml"), str(tmp_path / "chase.v")
    assert cli.main(["export", board, "--to", "verilog", "-o", verilog]) == 0
    capsys.readouterr()
    told = _printed(capsys, "compare", board, verilog, "--json")
    validator = Draft202012Validator(_printed(capsys, "schema", "compare"))
    validator.validate(told)
    assert told["new"]["style"] == "rounds"
    for key in ("style", "file"):
        wrong = {**told, "new": {**told["new"], key: 1}}
        with pytest.raises(ValidationError):
            validator.validate(wrong)


def test_a_printed_schema_is_not_made_anew(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema", "verify", "--fresh"]) == 2
    assert "--fresh is for the schemas of files that are read" in capsys.readouterr().err
