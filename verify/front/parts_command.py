"""The command `breadproof parts`: what parts there are, one part's pin-out, and one's own chips."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import part_numbers
from breadproof.output_file import check_target, there_already, write
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.specs.catalogue.catalogue import Catalogue
    from breadproof.specs.catalogue.part import PartType
    from breadproof.specs.reading.diagnostics import Diagnostic
    from breadproof.verify.report.known import Own
    from breadproof.verify.rows.checking import PartCheck

WAYS = 8
"""Ways of the DIP switch, network, bar and connector that are shown."""

EPILOG = """\b
Example:
  breadproof parts                            all parts, by what they do
  breadproof parts 74LS157                    one part: pin-out, function, what is known
  breadproof parts octal three-state register the parts that are all that
\b
  breadproof parts --start 74LS999 --package DIP-20 -o chips/999.yaml
      a part file of your own to be filled in; the comments in it teach the format
  breadproof parts --check chips
      run the rows of your part files against their equations
  breadproof verify board.yaml --parts chips
      a board with your own chips; or write 'catalogue: chips' in the board file
\b
  breadproof parts --of board.yaml            what the board is built of: parts list, spare gates,
                                              and the current that it takes
  breadproof parts --of board.yaml --csv > parts.csv

Exit status: 0; of --check 1 if a row fails or the rows leave something open; 2 wrong input or call.
"""


@click.command("parts", epilog=EPILOG)
@click.argument(
    "words", nargs=-1, metavar="[NUMBER | WORD... | FILE...]", shell_complete=part_numbers
)
@click.option(
    "--start",
    is_flag=True,
    help="Write a part file for the chip NUMBER, with blanks to be filled in; of a NUMBER that is "
    "known, a copy to be changed.",
)
@click.option(
    "--package",
    metavar="DIP-N",
    help="With --start: the package, of which every pin gets a line. DIP-14 if left out.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="With --start: the file to write; without it, or with -, standard output.",
)
@click.option("--force", is_flag=True, help="With --output: replace a file that is there.")
@click.option(
    "--check",
    is_flag=True,
    help="Run the rows of the part files FILE... (of a folder: all of them) through the Machine "
    "and in Amaranth's simulator, and say what no row looks at.",
)
@click.option("--table", is_flag=True, help="Print the table of all parts, one line a part.")
@click.option(
    "--of",
    "board",
    type=click.Path(path_type=Path),
    metavar="BOARD",
    help="Print the parts list of a board, its spare gates, and the current it takes at most.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--csv", "as_csv", is_flag=True, help="With --of: print the parts list as CSV.")
@own_parts
def command(
    words: tuple[str, ...],
    start: bool,
    package: str | None,
    output: Path | None,
    force: bool,
    check: bool,
    table: bool,
    board: Path | None,
    as_json: bool,
    as_csv: bool,
    folders: tuple[Path, ...],
) -> int:
    """List the parts; with a NUMBER, as printed on the chip, show that one.

    WORDs look for parts by what they do, in the trade's words: a mux is a multiplexer and a data
    selector, a flip-flop a register, tri-state is three-state, octal is 8-bit.
    """
    from breadproof.specs.catalogue.catalogue import Catalogue

    if start + check + table + (board is not None) > 1:
        raise click.UsageError("--start, --check, --table and --of are four jobs: give one.")
    for given, name in ((package, "--package"), (output, "--output"), (force, "--force")):
        if given and not start:
            raise click.UsageError(f"{name} goes with --start.")
    if as_json and (start or table):
        raise click.UsageError("--json is for lists, for one part, for --check and for --of.")
    if as_csv and (board is None or as_json):
        raise click.UsageError("--csv goes with --of, and instead of --json.")
    if board is not None:
        return _of(board, words, folders, as_json, as_csv)
    if check:
        return _check(words, as_json)
    catalogue = Catalogue(folders)
    if table:
        return _table(catalogue, words)
    if start:
        return _start(catalogue, words, package, output, force)
    return _show_or_list(catalogue, words, as_json)


# what a board is built of -------------------------------------------------------------------------


def _of(
    path: Path, words: tuple[str, ...], folders: tuple[Path, ...], as_json: bool, as_csv: bool
) -> int:
    from breadproof.specs.load import load_netlist
    from breadproof.verify.report.boardparts import board_parts, parts_csv, parts_json, parts_lines
    from breadproof.verify.report.page import page_of_stdout

    if words:
        raise click.UsageError("--of is of one board: give no words with it.")
    board = board_parts(load_netlist(path, folders))
    if as_csv:
        click.echo(parts_csv(board), nl=False)
    elif as_json:
        click.echo(parts_json(board))
    else:
        click.echo("\n".join(parts_lines(board, page_of_stdout())))
    return 0


# what there is ------------------------------------------------------------------------------------


def _show_or_list(catalogue: Catalogue, words: tuple[str, ...], as_json: bool) -> int:
    from breadproof.specs.catalogue.search import search
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.report.partlist import list_json, list_lines, nothing_found

    if len(words) == 1:
        found = _one(catalogue, words[0])
        if found is not None:
            _show(*found, as_json)
            return 0
    parts = _every(catalogue)
    if words:
        question = " ".join(words)
        answer = search(parts, question)
        if not answer.parts:
            if len(words) == 1 and any(character.isdigit() for character in question):
                raise _unknown(catalogue, question)
            raise click.BadParameter(nothing_found(question, answer), param_hint="WORD")
        parts = list(answer.parts)
    click.echo(list_json(parts) if as_json else "\n".join(list_lines(parts, page_of_stdout())))
    return 0


def _every(catalogue: Catalogue) -> list[PartType]:
    from breadproof.specs.netlist.devices import DEVICES, device_type

    chips = [catalogue.part(number) for number in catalogue.numbers()]
    return [*chips, *(device_type(name, WAYS) for name in DEVICES)]


def _one(catalogue: Catalogue, word: str) -> tuple[PartType, Own | None] | None:
    """The part or device that a word names; None if it names none."""
    from breadproof.specs.catalogue.catalogue import UnknownPart
    from breadproof.specs.netlist.devices import DEVICES, device_type
    from breadproof.verify.report.known import Own

    if word in DEVICES:
        return device_type(word, WAYS), None
    try:
        part = catalogue.find(word, "LS").type
    except UnknownPart:
        return None
    path = catalogue.own(part.number)
    return part, None if path is None else Own(path=path, hides=catalogue.hides(part.number))


def _unknown(catalogue: Catalogue, word: str) -> click.BadParameter:
    from breadproof.specs.catalogue.catalogue import UnknownPart

    message, hint = f"there is no part '{word}' in the catalogue", ""
    try:
        catalogue.find(word, "LS")
    except UnknownPart as unknown:
        message = unknown.why
        hint = unknown.hint if unknown.suggestions else ""
    hint = hint or "'breadproof parts' lists all."
    own = f"'breadproof parts --start {word}' begins a part file of your own."
    return click.BadParameter(f"{message}. {hint} {own}", param_hint="NUMBER")


def _show(part: PartType, own: Own | None, as_json: bool) -> None:
    from breadproof.specs.netlist.devices import NOTES, OPTIONS
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.report.pinout import part_object, part_page
    from breadproof.verify.report.words import wrapped

    if as_json:
        click.echo(json.dumps({"schema": 1, **part_object(part, own)}, indent=1))
        return
    width = page_of_stdout().width
    click.echo(part_page(part, width, own), nl=False)
    options = OPTIONS.get(part.number, ())
    if options:
        ways = f"; drawn with {WAYS}" if {"ways", "pins"} & set(options) else ""
        click.echo(f"options   {', '.join(options)}{ways}")
    for note in NOTES.get(part.number, ()):
        click.echo("\n".join(wrapped(note, width, "note      ")))


def _table(catalogue: Catalogue, words: tuple[str, ...]) -> int:
    from breadproof.verify.report.parttable import table_text

    if words:
        raise click.UsageError("--table is of all parts: give no words with it.")
    click.echo(table_text([catalogue.part(n) for n in catalogue.numbers()]), nl=False)
    return 0


# one's own chips ----------------------------------------------------------------------------------


def _start(
    catalogue: Catalogue,
    words: tuple[str, ...],
    package: str | None,
    output: Path | None,
    force: bool,
) -> int:
    from breadproof.specs.catalogue.skeleton import BadStart, started

    if len(words) != 1:
        raise click.UsageError("--start takes one NUMBER, as it is to be named in board files.")
    target = None if output is None or str(output) == "-" else output
    try:
        text, number = started(catalogue, words[0], package)
    except BadStart as bad:
        raise click.BadParameter(str(bad), param_hint=bad.where) from None
    if target is None:
        click.echo(text, nl=False)
        return 0
    check_target(target)
    if target.name != f"{number}.yaml":
        raise click.BadParameter(
            f"a part is found by its file's name: write it to {target.with_name(number)}.yaml",
            param_hint="--output",
        )
    if target.exists() and not force:
        raise there_already(target)
    write(target, text, replace=force)
    click.echo(f"{target}: written. Fill it in, then: breadproof parts --check {target}", err=True)
    return 0


def _check(words: tuple[str, ...], as_json: bool) -> int:
    """Check files; those that cannot be read are told at the end, and are status 2."""
    from breadproof.specs.reading.diagnostics import BadInput
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.report.rowcheck import check_lines, check_object, summary
    from breadproof.verify.rows.checking import check_part, part_files

    if not words:
        raise click.UsageError("--check takes part files, or a folder of them.")
    page = page_of_stdout()
    checks: list[PartCheck] = []
    unread: list[Diagnostic] = []
    with Progress() as progress:
        for path in part_files([Path(word) for word in words]):
            try:
                checks.append(check_part(path, progress))
            except BadInput as bad:
                unread += bad.diagnostics
    passed = all(check.passed for check in checks) and not unread
    if as_json:
        objects = [check_object(check) for check in checks]
        verdict = "pass" if passed else "fail"
        click.echo(json.dumps({"schema": 1, "verdict": verdict, "parts": objects}, indent=1))
    elif checks:
        lines = [line for check in checks for line in check_lines(check, page)]
        click.echo("\n".join([*lines, *summary(checks, page)]))
    if unread:
        raise BadInput(unread)
    return 0 if passed else 1
