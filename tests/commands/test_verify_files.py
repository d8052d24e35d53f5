"""`breadproof verify` writing files beside what it prints: which, whole or not at all."""

from __future__ import annotations

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


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--report", "none/out.html"], "there is no folder 'none'"),
        (["--report", "keys.yaml"], "it is the board file itself"),
        (["--report", "."], "it is a folder"),
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
