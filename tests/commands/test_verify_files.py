"""`breadproof verify` writing files beside what it prints: which, whole or not at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from breadproof import cli

from .test_verify import KEYS


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")
    return tmp_path


def test_a_page_is_written_beside_the_listing(capsys: pytest.CaptureFixture[str]) -> None:
    status = cli.main(["verify", "keys.yaml", "--only", "one-off", "--report", "out.html"])
    assert status == 1
    assert "FAILS       one-off: A key puts the lamp out." in capsys.readouterr().out
    text = Path("out.html").read_text("utf-8")
    assert text.startswith("<!doctype html>\n")
    assert "A key puts the lamp out." in text
    assert "Only one-off and the wiring were looked at" in text
    assert not list(Path.cwd().glob(".*.part"))


def test_files_for_build_systems(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--junit", "out.xml", "--sarif", "out.sarif", "--markdown", "out.md"]
    assert cli.main(["verify", "keys.yaml", "--only", "one-off", *words]) == 1
    assert '<testcase name="one-off"' in Path("out.xml").read_text("utf-8")
    assert '"version": "2.1.0"' in Path("out.sarif").read_text("utf-8")
    assert "A key puts the lamp out." in Path("out.md").read_text("utf-8")


def test_check_writes_its_findings_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "keys.yaml", "--sarif", "out.sarif"]) == 0
    printed = capsys.readouterr().out
    for result in json.loads(Path("out.sarif").read_text("utf-8"))["runs"][0]["results"]:
        assert f"[{result['ruleId']}]" in printed
    assert cli.main(["check", "keys.yaml", "--sarif", "keys.yaml"]) == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--report", "none/out.html"], "there is no folder 'none'"),
        (["--report", "keys.yaml"], "it is the board file itself"),
        (["--report", "."], "it is a folder"),
        (["--junit", "a", "--sarif", "a"], "'a' is what --junit writes to; name another file"),
    ],
)
def test_what_cannot_be_written_is_told_before_anything_is_proved(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["verify", "keys.yaml", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert sorted(path.name for path in Path.cwd().iterdir()) == ["keys.yaml"]
