"""The command line: which command is meant, and what every command has in common.

Commands are loaded when they are called, so `breadproof --help` imports click and no more. A
command returns its exit status: 0 pass, 1 fail, 3 undecided; nothing returned is 0. What it raises
becomes one of the others here: 2 the input or the call is wrong, 4 our own error, 130 interrupted.
A reader that goes away (`breadproof verify ... | head`) ends the run quietly with 141, which is
what a shell reports for a program that SIGPIPE stopped: no verdict was delivered, so none of the
verdicts' numbers is used.
"""

import errno
import importlib
import io
import os
import platform
import shlex
import sys
import traceback
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from types import MappingProxyType
from typing import TYPE_CHECKING, cast

import click

from breadproof import __version__

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

# The disk, the quota or the largest file size is used up, wherever it was noticed.
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


class Status(IntEnum):
    """The exit status of every command."""

    PASS = 0
    FAIL = 1
    BAD_INPUT = 2
    UNDECIDED = 3
    INTERNAL_ERROR = 4
    INTERRUPTED = 130
    READER_GONE = 141


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A command that is not loaded yet: `target` is "module:name of its click command"."""

    target: str
    help: str

    def load(self) -> click.Command:
        """Imports the command."""
        module, _, name = self.target.partition(":")
        return cast(click.Command, getattr(importlib.import_module(module), name))


COMMANDS: Mapping[str, Entry] = MappingProxyType(
    {
        "start": Entry(
            target="breadproof.start_command:command",
            help="Start a board file with the chips that are given.",
        ),
        "verify": Entry(
            target="breadproof.verify_command:command",
            help="Check a board's wiring and prove its formulas.",
        ),
        "check": Entry(
            target="breadproof.check_command:command",
            help="Check a board's wiring alone.",
        ),
        "watch": Entry(
            target="breadproof.watch_command:command",
            help="Check a board again whenever it is saved.",
        ),
        "export": Entry(
            target="breadproof.export_command:command",
            help="Write a board as Amaranth, Verilog or RTLIL.",
        ),
        "simulate": Entry(
            target="breadproof.simulate_command:command",
            help="Play a script of things to do at a board.",
        ),
        "compare": Entry(
            target="breadproof.compare_command:command",
            help="Compare two revisions of a board.",
        ),
        "faults": Entry(
            target="breadproof.faults_command:command",
            help="Try every single wiring fault of a board on its checks.",
        ),
        "picture": Entry(
            target="breadproof.picture_command:command",
            help="Draw a board, or the chips that decide a net.",
        ),
        "wires": Entry(
            target="breadproof.wires_command:command",
            help="List the jumpers that a board on breadboards needs.",
        ),
        "convert": Entry(
            target="breadproof.convert_command:command",
            help="Turn EDIF or holes into nets, or a board into EDIF.",
        ),
        "parts": Entry(
            target="breadproof.parts_command:command",
            help="List the parts, or show one: pins, function, source.",
        ),
        "rules": Entry(
            target="breadproof.rules_command:command",
            help="List the wiring rules, or explain one.",
        ),
        "manual": Entry(
            target="breadproof.manual_command:command",
            help="Show a page of the manual, or write all of it.",
        ),
        "schema": Entry(
            target="breadproof.schema_command:command",
            help="Print the JSON Schema of part, board and target files.",
        ),
        "completion": Entry(
            target="breadproof.completion_command:command",
            help="Print what a shell has to read to complete words.",
        ),
    }
)


class LazyGroup(click.Group):
    """A group that knows its commands' names and first lines without importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the table, which is the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Imports the command called `cmd_name`; None if there is none."""
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        command = entry.load()
        command.short_help = entry.help
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """What the first word means; what is no command is answered with what to write."""
        word = args[0]
        if word in COMMANDS or word.startswith("-"):
            return super().resolve_command(ctx, args)
        from difflib import get_close_matches

        close = get_close_matches(word, COMMANDS, n=1)
        hint = f"Did you mean {close[0]}?" if close else "'breadproof --help' lists them."
        if word.endswith((".yaml", ".yml")) or os.path.exists(word):
            hint = f"For a board file write: breadproof verify {shlex.quote(word)}"
        return ctx.fail(f"there is no command '{word}'. {hint}")

    def shell_complete(self, ctx: click.Context, incomplete: str) -> "list[CompletionItem]":
        """The commands that begin so, from the table; options are click's to offer."""
        if incomplete[:1] == "-":
            return super().shell_complete(ctx, incomplete)
        from click.shell_completion import CompletionItem

        return [
            CompletionItem(name, help=entry.help)
            for name, entry in COMMANDS.items()
            if name.startswith(incomplete)
        ]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Writes the list of commands from the table."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.help) for name, entry in COMMANDS.items()])


@click.group(
    name="breadproof",
    cls=LazyGroup,
    epilog="Exit status: 0 pass, 1 fail, 2 wrong input or call, 3 undecided, 4 our own error.",
)
@click.version_option(__version__, prog_name="breadproof", message="%(prog)s %(version)s")
def group() -> None:
    """Check a breadboard of 74-series chips, prove what it does, and export it.

    New to it? 'breadproof manual guide' goes from the first chip to the FPGA in an hour.
    """


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command line `arguments` (default: the process's own); returns the exit status."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    _make_streams_forgiving()
    asked = os.environ.get("_BREADPROOF_COMPLETE")
    if asked:
        # Here and not above, so that --help need not read it.
        from breadproof.completing import complete

        return complete(group, asked)
    try:
        status = _run(words)
        sys.stdout.flush()
        return status
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.ClickException as error:
        error.show()
        return Status.BAD_INPUT
    except (KeyboardInterrupt, click.Abort):
        _complain("interrupted")
        return Status.INTERRUPTED
    except BrokenPipeError:
        _discard_output()
        return Status.READER_GONE
    except OSError as error:
        if error.errno not in _NO_ROOM:
            return _explain(error, words)
        _complain(f"the output cannot be written: {error.strerror}; make room and run it again")
        _discard_output()
        return Status.BAD_INPUT
    except Exception as error:  # noqa: BLE001  # the outermost place: a user never sees a traceback
        return _explain(error, words)


def _run(words: list[str]) -> int:
    # Not click's own main(): that one ends with status 1, which is "fail" here, when a pipe breaks.
    with group.make_context("breadproof", words, color=_colour()) as context:
        result = group.invoke(context)
    return result if isinstance(result, int) else Status.PASS


def _colour() -> bool | None:
    """None leaves it to click: colour on a terminal, none in a pipe."""
    return False if os.environ.get("NO_COLOR") else None


def _explain(error: Exception, words: list[str]) -> int:
    """Says on stderr what went wrong, and whose fault it is; returns the exit status."""
    # Imported here and not above, so that --help need not read it.
    from breadproof.specs.reading.diagnostics import BadInput

    if isinstance(error, BadInput):
        _complain("\n".join(diagnostic.render() for diagnostic in error.diagnostics))
        return Status.BAD_INPUT
    if os.environ.get("BREADPROOF_TRACEBACK") == "1":
        _complain("".join(traceback.format_exception(error)))
    _complain(_internal_error(error, words))
    return Status.INTERNAL_ERROR


def _internal_error(error: Exception, words: list[str]) -> str:
    what = "".join(traceback.format_exception_only(error)).strip()
    command = shlex.join(["breadproof", *words])
    return f"""\
breadproof stopped on an error of its own; no verdict is given.
  what happened   {what}
  command line    {command}
  version         breadproof {__version__}, Python {platform.python_version()}, {sys.platform}
This is our bug, not a fault of your board. Please report it, and attach the three lines
above, the board file, and what this prints:
  BREADPROOF_TRACEBACK=1 {command}"""


def _complain(text: str) -> None:
    click.echo(text, err=True, color=_colour())


def _make_streams_forgiving() -> None:
    """A terminal that cannot show a character gets its code, not an error of ours."""
    for stream in (sys.stdout, sys.stderr):
        # A test runner or an embedding program may have put another kind of stream in its place.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _discard_output() -> None:
    """Python flushes stdout once more on its way out; let that go nowhere."""
    sys.stdout = io.StringIO()
