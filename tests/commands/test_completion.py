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
        ("breadproof export keys.yaml --to btor2 --only both", ["both-up"]),
        ("breadproof manual supply-m", ["supply-missing"]),
        ("breadproof manual 7", ["7-memory"]),
        ("breadproof picture keys.yaml --net up", ["up1", "up2"]),
        ("breadproof verify keys.yaml --jun", ["--junit"]),
        ("breadproof verify two.yaml --only bo", ["both"]),
        ("breadproof verify two.yaml --only b/bo", ["b/both-up"]),
        ("breadproof faults two.yaml --at a/U", ["a/U1"]),
        ("breadproof picture two.yaml --net b/u", ["b/up1", "b/up2"]),
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
    joined = 'board: two\nboards: {a: keys.yaml, b: keys.yaml, c: gone.yaml}\nassert: {both: "1"}\n'
    Path("two.yaml").write_text(joined, "utf-8")
    found = _offered(line, monkeypatch, capsys)
    if offered is None:
        # The data book's 16x: counters 160 to 163, shift registers 164 to 166, and more.
        assert {"74LS160", "74LS163", "74LS164", "74LS166"} <= set(found)
        assert all(one.startswith("74LS16") for one in found)
    else:
        assert found == offered


TYPED = [
    ("breadproof wat", "watch"),
    ("breadproof parts 74LS15", "74LS151 74LS153 74LS155 74LS156 74LS157 74LS158"),
    ("breadproof verify keys.yaml --only one", "one-off"),
    ("breadproof verify --jun", "--junit"),
]
"""What is typed, and what must be offered; 15x are the selectors and decoders of the data books."""

# Each is given the line as its arguments, and prints what is offered. Bash and zsh keep what they
# offer to themselves: the arrays that they are told to offer are looked at.
BASH = """
eval "$(breadproof completion bash)"
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
_breadproof_completion breadproof "${COMP_WORDS[COMP_CWORD]}" x
echo "${COMPREPLY[@]}"
"""
ZSH = """
compdef() { :; }
_describe() { print -- ${(P)3%%:*} }
compadd() { print -- ${(P)@[-1]} }
eval "$(breadproof completion zsh)"
words=("$@") CURRENT=$#
_breadproof_completion
"""
FISH = """
breadproof completion fish | source
complete -C "$argv" | string replace -r "\\t.*" ""
"""


def _in_shell(shell: str, line: str, folder: Path) -> str:
    """What a shell offers for the last word of a line."""
    program = folder / "bin" / "breadproof"
    program.parent.mkdir(exist_ok=True)
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m breadproof "$@"\n', "utf-8")
    program.chmod(0o755)
    path = shutil.which(shell)
    assert path is not None
    plain = {"bash": ["--norc"], "zsh": ["-f"], "fish": ["--no-config"]}[shell]
    script = {"bash": BASH, "zsh": ZSH, "fish": FISH}[shell]
    words = [line] if shell == "fish" else ["x", *line.split()]
    run = subprocess.run(
        [path, *plain, "-c", script, *words],
        cwd=folder,
        env={**os.environ, "PATH": f"{program.parent}:{os.environ['PATH']}", "HOME": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.stderr == ""
    return run.stdout


@pytest.mark.parametrize(("line", "wanted"), TYPED)
@pytest.mark.parametrize(
    "shell",
    [
        "bash",
        pytest.param("zsh", marks=pytest.mark.needs("zsh")),
        pytest.param("fish", marks=pytest.mark.needs("fish")),
    ],
)
def test_a_shell_itself_completes(shell: str, line: str, wanted: str, tmp_path: Path) -> None:
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")
    offered = _in_shell(shell, line, tmp_path).split()
    assert set(wanted.split()) <= set(offered)
    assert [one for one in offered if not one.startswith(line.split()[-1])] == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_text(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["completion", shell]) == 0
    assert f"_BREADPROOF_COMPLETE={shell}_complete" in capsys.readouterr().out
