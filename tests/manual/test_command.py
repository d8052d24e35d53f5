"""The command `breadproof manual`: what it shows, what it writes, and what it refuses."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof import cli
from tests.manual.made import pages, text_of


def test_without_a_topic_it_lists_all_pages(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["manual"]) == 0
    out = capsys.readouterr().out
    listed = re.findall(r"^  (\S+) +\S.*$", out, re.MULTILINE)
    assert listed == [page.name for page in pages()]
    assert out.endswith("'breadproof manual NAME' shows a page.\n")


@pytest.mark.parametrize("name", ["verify", "board", "verdicts", "input-open", "3-formulas"])
def test_a_page_is_shown_without_marks_that_mean_nothing_there(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["manual", name]) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "](" not in out
    assert "```" not in out
    assert "<!--" not in out
    words = re.findall(r"^[A-Za-z][a-z ]{20,}", text_of(name), re.MULTILINE)
    assert words
    assert [line for line in words if line not in out] == []


def test_the_way_on_is_a_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["manual", "guide"]) == 0
    assert "1. The first chip (1-first-chip)" in capsys.readouterr().out
    assert cli.main(["manual", "1-first-chip"]) == 0
    assert capsys.readouterr().out.endswith("\nNext: breadproof manual 2-wires\n")


def test_tables_are_in_columns(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["manual", "formulas", "--plain"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"^  `rose\(x\)` +x was false one moment ago and is true now$", out, re.M)
    assert re.search(r"^  -{5,}  -{5,}$", out, re.M)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["verfy"], "there is no page 'verfy'. Did you mean verify?"),
        (["qqqq"], "there is no page 'qqqq'. 'breadproof manual' lists them all."),
        (["verify", "--html", "x"], "--html and --man write all pages; leave out TOPIC."),
    ],
)
def test_what_cannot_be_shown_is_told(
    arguments: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(["manual", *arguments]) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("option", ["--html", "--man"])
def test_a_place_that_is_a_file_is_left_alone(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken").write_text("mine", "utf-8")
    assert cli.main(["manual", option, str(tmp_path / "taken")]) == 2
    assert "is no folder" in capsys.readouterr().err
    assert (tmp_path / "taken").read_text("utf-8") == "mine"


def test_the_same_pages_are_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        options = ["--html", str(tmp_path / name), "--man", str(tmp_path / name)]
        assert cli.main(["manual", *options]) == 0
    first, second = (
        {
            p.relative_to(tmp_path / n): p.read_bytes()
            for p in (tmp_path / n).rglob("*")
            if p.is_file()
        }
        for n in ("a", "b")
    )
    assert first == second
    sections = {path.parent.name for path in first if path.parent.name}
    assert sections == {"man1", "man5", "man7"}
    assert all(path.name[-1] == path.parent.name[-1] for path in first if path.parent.name)


def test_on_a_terminal_a_page_comes_in_the_pager() -> None:
    """PAGER as POSIX has it (man, ENVIRONMENT VARIABLES); the terminal is a pseudo terminal."""
    leader, follower = pty.openpty()
    command = [sys.executable, "-m", "breadproof", "manual", "verdicts"]
    pager = f"{sys.executable} -c \"import sys; print('PAGED', len(sys.stdin.read()))\""
    variables = {**os.environ, "PAGER": pager, "TERM": "xterm"}
    with subprocess.Popen(command, stdin=follower, stdout=follower, env=variables) as process:
        assert process.wait(timeout=60) == 0
    os.close(follower)
    shown = os.read(leader, 65_536).decode()
    os.close(leader)
    assert re.match(r"PAGED \d{4}", shown), shown
