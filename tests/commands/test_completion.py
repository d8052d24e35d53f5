"""Completion by the tabulator key: in a real shell, and word by word."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from breadproof import cli

from .test_verify import KEYS


def _offered(
    line: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> list[str]:
    """What is offered for the last word of a line, as bash asks (click's protocol)."""
    words = line.split(" ")
    monkeypatch.setenv("_BREADPROOF_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", line)
    monkeypatch.setenv("COMP_CWORD", str(len(words) - 1))
    assert cli.main([]) == 0
    return [one.partition(",")[2] for one in capsys.readouterr().out.split()]


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("breadproof pa", ["parts"]),
        ("breadproof w", ["watch", "wires"]),
        ("breadproof start b --chip 74LS16", None),
        ("breadproof parts 610", []),
        ("breadproof parts 6116", ["6116"]),
        ("breadproof rules input-", ["input-open"]),
        ("breadproof verify keys.yaml --only one", ["one-off"]),
        ("breadproof verify keys.yaml --only d", ["dark"]),
        ("breadproof verify none.yaml --only d", []),
        ("breadproof picture keys.yaml --net lamp --run nev", ["never-lit"]),
        ("breadproof verify keys.yaml --jun", ["--junit"]),
    ],
)
def test_words_are_offered(
    line: str,
    offered: list[str] | None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("keys.yaml").write_text(KEYS, "utf-8")
    found = _offered(line, monkeypatch, capsys)
    if offered is None:
        # The data book's 16x: counters 160 to 163, shift registers 164 to 166, and more.
        assert {"74LS160", "74LS163", "74LS164", "74LS166"} <= set(found)
        assert all(one.startswith("74LS16") for one in found)
    else:
        assert found == offered


def test_bash_itself_completes_with_what_is_printed(tmp_path: Path) -> None:
    bash = shutil.which("bash")
    assert bash is not None
    program = tmp_path / "breadproof"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m breadproof "$@"\n', "utf-8")
    program.chmod(0o755)
    script = (
        'eval "$(breadproof completion bash)"\n'
        "COMP_WORDS=(breadproof wat) COMP_CWORD=1\n"
        "_breadproof_completion breadproof wat breadproof\n"
        'echo "${COMPREPLY[@]}"\n'
    )
    run = subprocess.run(
        [bash, "-c", script],
        env={**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == "watch", run.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_text(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["completion", shell]) == 0
    assert f"_BREADPROOF_COMPLETE={shell}_complete" in capsys.readouterr().out
