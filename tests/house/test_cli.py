"""What all commands have in common: exit status, messages, colour, and what is imported when."""

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from breadproof import __version__, cli
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span

Action = Callable[[], object]
Install = Callable[[Action], None]


@pytest.fixture
def verify_does(monkeypatch: pytest.MonkeyPatch) -> Install:
    """Lets the command `verify` do what a test wants; the other entries stay as they are."""

    def install(action: Action) -> None:
        command = click.Command("verify", callback=action)
        monkeypatch.setattr(cli.Entry, "load", lambda entry: command)

    return install


def _raise(error: BaseException) -> Action:
    def action() -> None:
        raise error

    return action


@pytest.mark.parametrize("status", [0, 1, 3])
def test_a_command_returns_its_exit_status(verify_does: Install, status: int) -> None:
    verify_does(lambda: status)
    assert cli.main(["verify"]) == status


def test_a_command_may_leave_through_its_context(verify_does: Install) -> None:
    verify_does(lambda: click.get_current_context().exit(3))
    assert cli.main(["verify"]) == 3


def test_a_command_that_returns_nothing_passes(verify_does: Install) -> None:
    verify_does(lambda: None)
    assert cli.main(["verify"]) == 0


def test_bad_input_shows_every_diagnostic_and_no_traceback(
    verify_does: Install, capsys: pytest.CaptureFixture[str]
) -> None:
    first = Diagnostic(
        code="X1",
        message="U3 has no pin '18'",
        span=Span(file="a.yaml", line=3, column=9, length=5, text="  - [U3.18]"),
        hint="a 74LS157 has pins 1 to 16",
    )
    second = Diagnostic(
        code="X2", message="no such part", span=Span(file="a.yaml", line=7, column=2)
    )
    verify_does(_raise(BadInput([first, second])))
    assert cli.main(["verify"]) == 2
    assert capsys.readouterr() == ("", f"{first.render()}\n{second.render()}\n")


def test_an_error_of_ours_says_so_and_what_to_attach(
    verify_does: Install, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("BREADPROOF_TRACEBACK", raising=False)
    verify_does(_raise(KeyError("U7")))
    assert cli.main(["verify"]) == 4
    out, err = capsys.readouterr()
    python = ".".join(str(part) for part in sys.version_info[:3])
    assert out == ""
    assert err == (
        "breadproof stopped on an error of its own; no verdict is given.\n"
        "  what happened   KeyError: 'U7'\n"
        "  command line    breadproof verify\n"
        f"  version         breadproof {__version__}, Python {python}, {sys.platform}\n"
        "This is our bug, not a fault of your board. Please report it, and attach the three lines\n"
        "above, the board file, and what this prints:\n"
        "  BREADPROOF_TRACEBACK=1 breadproof verify\n"
    )


def test_the_traceback_is_there_for_those_who_ask(
    verify_does: Install, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BREADPROOF_TRACEBACK", "1")
    verify_does(_raise(KeyError("U7")))
    assert cli.main(["verify"]) == 4
    assert capsys.readouterr().err.startswith("Traceback (most recent call last):\n")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_an_interrupted_run_ends_with_130(
    verify_does: Install, capsys: pytest.CaptureFixture[str], error: BaseException
) -> None:
    verify_does(_raise(error))
    assert cli.main(["verify"]) == 130
    assert capsys.readouterr() == ("", "interrupted\n")


@pytest.mark.parametrize(
    "error",
    [
        click.UsageError("no such option"),
        click.BadParameter("not a file"),
        click.FileError("x"),  # click's own status for this one is 1, which is "fail" here
        click.ClickException("no"),
    ],
)
def test_a_wrong_call_ends_with_2(verify_does: Install, error: click.ClickException) -> None:
    verify_does(_raise(error))
    assert cli.main(["verify"]) == 2


@pytest.mark.parametrize("words", [["no-such-command"], ["--no-such-option"], []])
def test_a_call_that_cannot_be_understood_ends_with_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("Usage: breadproof [OPTIONS] COMMAND [ARGS]...\n")


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("verfy", "there is no command 'verfy'. Did you mean verify?"),
        ("my board.yaml", "For a board file write: breadproof verify 'my board.yaml'"),
        ("qqq", "there is no command 'qqq'. 'breadproof --help' lists them."),
    ],
)
def test_what_is_no_command_is_answered_with_what_to_write(
    capsys: pytest.CaptureFixture[str], word: str, told: str
) -> None:
    assert cli.main([word]) == 2
    assert told in " ".join(capsys.readouterr().err.split())


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out == f"breadproof {__version__}\n"


def test_help_names_every_command_with_its_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--help"]) == 0
    out = capsys.readouterr().out
    assert list(cli.COMMANDS) == [
        "start", "verify", "check", "watch", "export", "simulate", "compare", "faults", "picture",
        "wires", "convert", "parts", "rules", "manual", "schema", "completion",
    ]  # fmt: skip
    width = max(map(len, cli.COMMANDS)) + 2
    for name, entry in cli.COMMANDS.items():
        assert f"  {name:<{width}}{entry.help}\n" in out


# ------------------------------------------------------------------------- as a process


def _process(code: str, **variables: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | variables,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("word", ["--help", "--version"])
def test_help_and_version_import_no_more_than_click(word: str) -> None:
    run = _process(
        "import sys\n"
        "from breadproof import cli\n"
        f"cli.main([{word!r}])\n"
        "import json; print(json.dumps(sorted(sys.modules)))\n"
    )
    loaded = json.loads(run.stdout.splitlines()[-1])
    heavy = {"amaranth", "intelhex", "lark", "networkx", "vcd", "yaml", "z3"}
    assert heavy.isdisjoint(loaded)
    ours = [name for name in loaded if name.split(".")[0] == "breadproof"]
    assert ours == ["breadproof", "breadproof.cli"]


@pytest.mark.parametrize("program", [["-m", "breadproof"], [str(Path(sys.executable).parent)]])
def test_both_ways_of_calling_it(program: list[str]) -> None:
    words = [sys.executable, *program] if program[0] == "-m" else [f"{program[0]}/breadproof"]
    run = subprocess.run([*words, "--version"], capture_output=True, text=True, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (0, f"breadproof {__version__}\n", "")


COLOURED = """
import click, sys
from breadproof import cli
command = click.Command("verify", callback=lambda: click.secho("fails", fg="red"))
cli.Entry.load = lambda entry: command
sys.exit(cli.main(["verify"]))
"""


def test_a_pipe_gets_no_colour() -> None:
    assert _process(COLOURED, NO_COLOR="").stdout == "fails\n"


@pytest.mark.parametrize(
    ("no_color", "expected"), [("", b"\x1b[31mfails\x1b[0m\r\n"), ("1", b"fails\r\n")]
)
def test_a_terminal_gets_colour_unless_no_color_is_set(no_color: str, expected: bytes) -> None:
    master, slave = os.openpty()
    try:
        environment = os.environ | {"NO_COLOR": no_color, "TERM": "xterm"}
        words = [sys.executable, "-c", COLOURED]
        run = subprocess.run(words, env=environment, stdout=slave, check=False)
        assert run.returncode == 0
        assert os.read(master, 1000) == expected
    finally:
        os.close(slave)
        os.close(master)


def test_a_reader_that_goes_away_ends_the_run_quietly() -> None:
    code = (
        "import click, sys\n"
        "from breadproof import cli\n"
        "def talk():\n"
        "    while True: click.echo('x' * 1000)\n"
        "cli.Entry.load = lambda entry: click.Command('verify', callback=talk)\n"
        "sys.exit(cli.main(['verify']))\n"
    )
    words = [sys.executable, "-c", code]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.read(10)
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 141


def test_a_character_that_the_terminal_lacks_is_no_error() -> None:
    code = COLOURED.replace('"fails", fg="red"', '"U1 → U2"')
    run = _process(code, PYTHONIOENCODING="latin-1", PYTHONUTF8="0")
    assert (run.returncode, run.stdout, run.stderr) == (0, "U1 \\u2192 U2\n", "")


@pytest.mark.parametrize(
    ("error", "status"), [(errno.ENOSPC, 2), (errno.EDQUOT, 2), (errno.EIO, 4)]
)
def test_a_full_disk_is_no_error_of_ours(
    verify_does: Install, capsys: pytest.CaptureFixture[str], error: int, status: int
) -> None:
    verify_does(_raise(OSError(error, "no luck")))
    assert cli.main(["verify"]) == status
    told = capsys.readouterr().err
    assert ("the output cannot be written: no luck; make room" in told) == (status == 2)
    assert ("error of its own" in told) == (status == 4)
