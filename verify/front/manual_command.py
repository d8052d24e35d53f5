"""The command `breadproof manual`: a page in the terminal, or all of them as files."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import topics
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.verify.manual.page import Page

EPILOG = """\b
Examples:
  breadproof manual                      all pages by their names
  breadproof manual verify               the page of a command
  breadproof manual board                what a board file may say
  breadproof manual verdicts             what holds, fails and undecided claim
  breadproof manual input-open           a wiring rule
  breadproof manual guide                from the first chip to the FPGA, in an hour
  breadproof manual --html pages         all of it for the browser: open pages/index.html
  breadproof manual --man ~/.local/share/man
      then 'man breadproof' and 'man breadproof-verify' find it

Exit status: 0 shown or written, 2 wrong input or call.
"""


@click.command("manual", epilog=EPILOG)
@click.argument("topic", required=False, shell_complete=topics)
@click.option(
    "--html",
    "html_folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Write all pages for the browser into FOLDER, with the files of the guide.",
)
@click.option(
    "--man",
    "man_folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Write all pages as man pages into FOLDER: commands into man1, files into man5, the "
    "others into man7.",
)
@click.option("--plain", is_flag=True, help="No colour, and no pager.")
@click.pass_context
def command(
    context: click.Context,
    topic: str | None,
    html_folder: Path | None,
    man_folder: Path | None,
    plain: bool,
) -> int:
    """Show the manual's page about TOPIC, or write all pages as files.

    A TOPIC is a command, a kind of file, a wiring rule, what an answer means, or a chapter of the
    guide. Without one the pages are listed. On a terminal a page comes in the pager that PAGER
    names.
    """
    from breadproof.verify.manual.shelf import all_pages

    pages = all_pages(_commands(context))
    if topic is not None and (html_folder or man_folder):
        raise click.UsageError("--html and --man write all pages; leave out TOPIC.")
    if html_folder is not None:
        _write_html(pages, html_folder)
    if man_folder is not None:
        _write_man(pages, man_folder)
    if html_folder is None and man_folder is None:
        _show(pages, topic, plain)
    return 0


def _commands(context: click.Context) -> list[Page]:
    from breadproof.command_pages import command_pages

    program = context.find_root().command
    if not isinstance(program, click.Group):
        raise AssertionError("the manual is a command of the program")
    return command_pages(program)


def _show(pages: list[Page], topic: str | None, plain: bool) -> None:
    from breadproof.verify.manual.terminal import listed, shown

    if topic is None:
        text = listed(pages)
    else:
        found = next((page for page in pages if page.name == topic), None)
        if found is None:
            raise _unknown(topic, pages)
        text = shown(found)
    if plain or not sys.stdout.isatty():
        click.echo(click.unstyle(text) if plain else text, nl=False)
    else:
        click.echo_via_pager(text)


def _unknown(topic: str, pages: list[Page]) -> click.BadParameter:
    from breadproof.specs.reading.yamltree import near

    hint = near(topic, [page.name for page in pages]) or "'breadproof manual' lists them all."
    return click.BadParameter(f"there is no page '{topic}'. {hint}", param_hint="TOPIC")


def _write_html(pages: list[Page], folder: Path) -> None:
    from breadproof.verify.manual.browser import INDEX, html_files
    from breadproof.verify.manual.written import guide_files
    from breadproof.verify.report.files import check_folder, write_files

    check_folder(folder)
    with Progress() as progress:
        progress("making the pages")
        write_files(folder, {**html_files(pages), **guide_files()})
    click.echo(f"{len(pages)} pages are in {folder}; open {folder / INDEX}", err=True)


def _write_man(pages: list[Page], folder: Path) -> None:
    from breadproof.verify.manual.man import man_files
    from breadproof.verify.report.files import check_folder, write_files

    by_section: dict[str, dict[str, str]] = {}
    for name, text in man_files(pages).items():
        by_section.setdefault(f"man{name[-1]}", {})[name] = text
    for section in by_section:
        check_folder(folder / section)
    for section, texts in by_section.items():
        write_files(folder / section, texts)
    how = f"MANPATH={shlex.quote(str(folder.resolve()))} man breadproof"
    click.echo(f"{len(pages)} pages are in {folder}; read them with\n  {how}", err=True)
