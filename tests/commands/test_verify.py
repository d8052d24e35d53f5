"""The command `breadproof verify`: status, what goes where, traces, progress."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.machine.machine import Machine
from breadproof.verify import verify_board as module
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import BoardVerdict, Result
from tests.report import boards as b

KEYS = """\
board: two-keys
title: The lamp is lit while both keys are turned
parts:
  U1: 74LS08
  K1: {part: push-button}
  K2: {part: push-button}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
  C1: {part: capacitor, value: 100n}
nets:
  VCC: [U1.14, R1.1, R2.1, C1.1]
  GND: [U1.7, K1.1, K2.1, C1.2, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13]
  up1: [K1.2, R1.2, U1.1]
  up2: [K2.2, R2.2, U1.2]
  lamp: [U1.3]
ports: {lamp: out}
assert:
  both-up: {says: The lamp is lit while no key is down., formula: "always (lamp == !(K1 || K2))"}
  never-lit: {says: The lamp is never lit., formula: never lamp}
  one-off: {says: A key puts the lamp out., formula: "always (rose(K1) -> lamp)"}
cover:
  dark: {says: The lamp goes out., formula: "fell(lamp)"}
"""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs the command in a folder with the board ``keys.yaml``: status, output, errors."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")

    def call(*words: str) -> tuple[int, str, str]:
        status = cli.main(["verify", *words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


def test_what_holds_passes_and_what_fails_fails(run: Run) -> None:
    assert run("keys.yaml", "--only", "both-up")[0] == 0
    status, out, err = run("keys.yaml")
    assert (status, err) == (1, "")
    assert out.startswith("two-keys: FAIL\n  The lamp is lit while both keys are turned\n")
    assert "  holds       both-up: The lamp is lit while no key is down.\n" in out
    assert "  FAILS       never-lit: The lamp is never lit.\n" in out
    assert "  FAILS       one-off: A key puts the lamp out.\n" in out
    assert "  covered     dark: The lamp goes out.\n" in out
    assert "Run: one-off  goes wrong in step 1\n" in out
    assert "  step 1  press K1" in out
    assert "-> net lamp falls" in out
    assert "Run: dark" not in out
    assert "\ntwo-keys: FAIL. Next: " in out


def test_only_shows_a_cover_s_run(run: Run) -> None:
    status, out, _ = run("keys.yaml", "--only", "dark", "--only", "both-up")
    assert status == 0
    assert "Run: dark  reached in step 1\n" in out
    assert "never-lit" not in out
    assert out.startswith(
        "two-keys: pass\n"
        "  The lamp is lit while both keys are turned\n"
        "  only dark and both-up and the wiring were looked at, and what that rests on.\n"
    )


def test_json_goes_out_alone(run: Run) -> None:
    status, out, err = run("keys.yaml", "--json")
    assert (status, err) == (1, "")
    told = json.loads(out)
    assert (told["schema"], told["board"], told["verdict"]) == (1, "two-keys", "fail")
    verdicts = {result["name"]: result["verdict"] for result in told["results"]}
    assert verdicts["both-up"] == "holds"
    assert verdicts["never-lit"] == "fails"
    assert verdicts["dark"] == "covered"
    one_off = next(result for result in told["results"] if result["name"] == "one-off")
    assert [step["controls"]["K1"] for step in one_off["trace"]["steps"]] == ["1'b0", "1'b1"]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("both-upp", "Did you mean both-up?"),
        ("zzz", "'breadproof verify' without --only lists them all."),
    ],
)
def test_an_unknown_name_is_the_caller_s_mistake(run: Run, name: str, told: str) -> None:
    status, out, err = run("keys.yaml", "--only", name)
    assert (status, out) == (2, "")
    assert err.endswith(
        f"Error: Invalid value for --only: the board has no formula or check '{name}'. {told}\n"
    )


def test_an_assumption_is_no_result(run: Run) -> None:
    text = KEYS.replace("assert:", "assume:\n  still: {formula: always !K2}\nassert:")
    Path("keys.yaml").write_text(text, "utf-8")
    status, _, err = run("keys.yaml", "--only", "still")
    assert status == 2
    assert "'still'. It is an assumption; every formula rests on it." in err


@pytest.mark.parametrize(
    ("formula", "first"),
    [
        ("lamp == !(K1 || K2)", True),
        ("K1 -> !lamp", True),
        ("K1 -> next (lamp || !stable(K1) || K1)", True),
        ("always (lamp == !(K1 || K2))", False),
        ("never (K1 && lamp)", False),
        ("!K1 || !lamp until K1", False),
    ],
)
def test_a_formula_about_the_first_moments_alone_is_told(
    run: Run, formula: str, first: bool
) -> None:
    """A property without such an operator is about the start of a run (IEEE 1850, formal
    semantics: a property holds on a path if it does at its first letter)."""
    assumed = "K1 || !K1" if first else "always (K1 || !K1)"
    formulas = f"assume:\n  a: {{formula: '{assumed}'}}\nassert:\n  new: {{formula: '{formula}'}}"
    Path("keys.yaml").write_text(KEYS.replace("assert:", formulas), "utf-8")
    _, out, _ = run("keys.yaml", "--only", "new")
    assert ("without 'always' or 'never' it speaks of the first moments" in out) == first
    assert ("Assumed of the first moments after power-up alone, a: " in out) == first
    assert ("Assumed, a: " in out) != first


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "inf", "1e9", "soon"])
def test_a_time_limit_that_is_none(run: Run, seconds: str) -> None:
    status, out, err = run("keys.yaml", "--time-limit", seconds)
    assert (status, out) == (2, "")
    assert "--time-limit" in err


def test_traces_are_written_one_file_a_run(run: Run) -> None:
    status, _, _ = run("keys.yaml", "--trace-dir", "runs/now")
    assert status == 1
    names = sorted(path.name for path in Path("runs/now").iterdir())
    stems = ("dark", "never-lit", "one-off")
    assert names == [f"{stem}.{ending}" for stem in stems for ending in ("svg", "vcd")]
    text = Path("runs/now/one-off.vcd").read_text("utf-8")
    # IEEE 1364-2005, 18.2.3: keywords of a value change dump.
    assert "$timescale" in text
    assert "$enddefinitions $end" in text
    assert "lamp" in text


def _report(machine: Machine, verdict: BoardVerdict) -> BoardReport:
    name = Result(
        name="fights:bus",
        kind="standing",
        verdict="undecided" if verdict == "undecided" else "holds",
        says="",
        method="",
        steps=3,
        seconds=0.0,
    )
    return BoardReport(
        machine=machine, wiring=(), results=(name,), verdict=verdict, rounds=2, seconds=0.0
    )


@pytest.mark.parametrize(("verdict", "status"), [("pass", 0), ("fail", 1), ("undecided", 3)])
def test_the_status_is_the_verdict_s(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, verdict: BoardVerdict, status: int
) -> None:
    made = _report(b.machine_of(tmp_path, b.TWO_SOURCES), verdict)
    monkeypatch.setattr(module, "verify_board", lambda path, **other: made)
    assert run("board.yaml")[0] == status
    assert run("board.yaml", "--json")[0] == status


def test_an_error_of_ours_is_not_taken_for_an_unknown_name(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(path: Path, **other: object) -> BoardReport:
        raise KeyError("U7.21")

    monkeypatch.setattr(module, "verify_board", wrong)
    status, out, err = run("keys.yaml", "--only", "both-up")
    assert (status, out) == (4, "")
    assert "no verdict is given" in err


def test_help_teaches_with_an_example(run: Run) -> None:
    status, out, _ = run("--help")
    assert status == 0
    assert "breadproof verify light-store.yaml --only one-press --trace-dir runs\n" in out
    assert "Exit status: 0 pass, 1 fail" in out


# ------------------------------------------------------------------------- on a terminal

SLOW = """
import sys, time
from breadproof import cli
from breadproof.specs.machine.machine import Machine
from breadproof.verify import verify_board as module
inner = module.verify_board
def slow(path, *, progress, **other):
    progress("thinking hard")
    time.sleep({seconds})
    return inner(path, progress=progress, **other)
module.verify_board = slow
sys.exit(cli.main(["verify", "keys.yaml", "--only", "both-up"]))
"""


def on_terminal(seconds: float) -> tuple[int, str, str]:
    """Status, standard output (a pipe) and what a terminal gets on standard error."""
    master, slave = pty.openpty()
    try:
        run = subprocess.run(
            [sys.executable, "-c", SLOW.format(seconds=seconds)],
            stdout=subprocess.PIPE,
            stderr=slave,
            text=True,
            check=False,
        )
        os.set_blocking(master, False)
        try:
            told = os.read(master, 100_000).decode()
        except BlockingIOError:
            told = ""
    finally:
        os.close(slave)
        os.close(master)
    return run.returncode, run.stdout, told


def test_progress_is_one_line_on_a_terminal_that_goes_away(run: Run) -> None:
    status, out, told = on_terminal(1.6)
    assert status == 0
    assert out.startswith("two-keys: pass\n")
    assert "thinking" not in out
    lines = told.split("\r")
    assert lines[0] == ""
    # ECMA-48: CSI K erases to the end of the line.
    assert lines[1] == "1 s  thinking hard\x1b[K"
    assert lines[-1] == "\x1b[K"
    assert "\n" not in told


def test_what_is_quick_says_nothing_of_progress(run: Run) -> None:
    start = time.monotonic()
    status, _, told = on_terminal(0)
    # On a machine so busy that it took over a second, a line of progress is right.
    assert status == 0
    assert told == "" or time.monotonic() - start > 1


def test_a_terminal_gets_drawing_characters_and_colour_and_plain_takes_them_away(run: Run) -> None:
    def told(*more: str) -> str:
        master, slave = pty.openpty()
        words = [sys.executable, "-m", "breadproof", "verify", "keys.yaml", *more]
        variables = {"PYTHONIOENCODING": "utf-8", "TERM": "xterm", "NO_COLOR": "", "COLUMNS": "90"}
        with subprocess.Popen(words, stdout=slave, env=os.environ | variables) as process:
            os.close(slave)
            parts = []
            while True:
                try:
                    parts.append(os.read(master, 4096))
                except OSError:  # the other end is closed
                    break
            process.wait()
        os.close(master)
        return b"".join(parts).decode()

    drawn = told()
    assert "\x1b[31mFAIL\x1b[0m" in drawn
    assert "\N{UPPER ONE EIGHTH BLOCK}" in drawn
    plain = told("--plain")
    assert plain.isascii()
    assert "\x1b" not in plain
