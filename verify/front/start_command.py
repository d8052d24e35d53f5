"""The command `breadproof start`: a board file to begin with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import part_numbers
from breadproof.own_parts import own_parts

if TYPE_CHECKING:
    from breadproof.specs.catalogue.catalogue import Catalogue, Chip

EPILOG = """\b
Example:
  breadproof start light-store --chip 74LS157 --chip 74LS157 --chip 6116
      writes light-store.yaml: three chips, their supplies joined, a capacitor for each, and
      every other pin on a line of its own
  breadproof watch light-store.yaml
      then tells after each save what is still open

Exit status: 0 written, 2 wrong input or call.
"""


@click.command("start", epilog=EPILOG)
@click.argument("name", metavar="NAME")
@click.option(
    "--chip",
    "chips",
    multiple=True,
    required=True,
    metavar="NUMBER",
    shell_complete=part_numbers,
    help="A chip as printed on it, such as 74LS157 or 6116; once for each chip.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="The file to write, or - for standard output; NAME.yaml if left out.",
)
@click.option("--force", is_flag=True, help="Replace a file that is there.")
@own_parts
def command(
    name: str,
    chips: tuple[str, ...],
    output: Path | None,
    force: bool,
    folders: tuple[Path, ...],
) -> int:
    """Start the file of a board called NAME, with every pin of its chips to be filled in."""
    from breadproof.output_file import check_target, there_already, write
    from breadproof.specs.catalogue.boardstart import board_start
    from breadproof.specs.catalogue.catalogue import Catalogue
    from breadproof.specs.reading.board import FORMULA_NAME

    if not FORMULA_NAME.match(name):
        raise click.BadParameter(
            f"'{name}' is no name of a board: letters, digits, - and _, a letter first.",
            param_hint="NAME",
        )
    catalogue = Catalogue(folders)
    found = [(chip.strip(), _chip(catalogue, chip.strip())) for chip in chips]
    target = Path(f"{name}.yaml") if output is None else output
    if str(target) == "-":
        click.echo(board_start(name, f"{name}.yaml", found), nl=False)
        return 0
    check_target(target)
    if target.exists() and not force:
        raise there_already(target)
    write(target, board_start(name, target.name, found), replace=force)
    click.echo(f"{target} is begun. Next: fill it in, with this in another window:", err=True)
    click.echo(f"  breadproof watch {target}", err=True)
    return 0


def _chip(catalogue: Catalogue, printed: str) -> Chip:
    from breadproof.specs.catalogue.catalogue import UnknownPart
    from breadproof.specs.netlist.devices import DEVICES

    if printed in DEVICES:
        raise click.BadParameter(
            f"a {printed} is no chip; the file that is begun shows how it is written.",
            param_hint="--chip",
        )
    try:
        return catalogue.find(printed, "LS")
    except UnknownPart as unknown:
        hint = unknown.hint or "'breadproof parts' lists them."
        own = f"'breadproof parts --start {printed}' begins a part file of your own."
        raise click.BadParameter(f"{unknown.why}. {hint} {own}", param_hint="--chip") from None
