"""The command `breadproof convert`: EDIF, wire lists and holes as a board of nets, or as EDIF."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.output_file import check_target, write
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.specs.edif.drawn import Notes
    from breadproof.specs.reading.board import Board
    from breadproof.specs.reading.diagnostics import Problems

FORMS = ("board", "edif")
_BEGINNING = 4096
EPILOG = """\b
Examples:
  breadproof convert drawing.edf --mapping map.yaml --to board -o store.yaml
      a netlist from a drawing as a board file to go on with
  breadproof convert store.yaml --to edif -o store.edf
      a board file, with nets, wires or holes, as EDIF 2 0 0
  breadproof convert bench.yaml --to board
      holes and wires as nets

\b
The mapping file says which cell is which part:
  cells: {"RES*": resistor, NAND2: {part: 74LS00, ports: {A: A1}}, "TP*": ignore}
  values: {"SN74LS157*": 74LS157}
  designators: {"H?": ignore}
  hidden-supplies: true      # the drawing leaves supply pins out

Exit status: 0 written, 2 wrong input or call.
"""


@click.command("convert", epilog=EPILOG)
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--to", "form", type=click.Choice(FORMS), required=True, help="What to write.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="The file to write; without it, or with -, standard output.",
)
@click.option(
    "--mapping",
    type=click.Path(path_type=Path),
    help="The file that says which cell of an EDIF file is which part.",
)
@click.option(
    "--supply",
    "supplies",
    multiple=True,
    metavar="RAIL=NET",
    help="Which net of an EDIF file is a supply, as VCC=+5V; may be given several times.",
)
@click.option("--design", default="", metavar="NAME", help="Which design of an EDIF file.")
@own_parts
def command(
    file: Path,
    form: str,
    output: Path | None,
    mapping: Path | None,
    supplies: tuple[str, ...],
    design: str,
    folders: tuple[Path, ...],
) -> int:
    """Write FILE, an EDIF 2 0 0 netlist or a board file, as a board file of nets or as EDIF.

    Nothing is lost: names that a board file cannot use, properties and comments of the drawing are
    told in comments. What is no part that is known is told once, with near names.
    """
    target = None if output is None or str(output) == "-" else output
    if target is not None:
        check_target(target, file)
    with Progress() as progress:
        progress(f"reading {file.name}")
        beside = Path() if target is None else target.parent
        text = converted(file, form, mapping, supplies, design, folders, beside)
    if target is None:
        click.echo(text, nl=False)
    else:
        write(target, text)
    return 0


def converted(
    file: Path,
    form: str,
    mapping: Path | None,
    supplies: tuple[str, ...],
    design: str,
    folders: tuple[Path, ...],
    beside: Path = Path(),
) -> str:
    """FILE in one of `FORMS`, as a file in the folder ``beside``."""
    from breadproof.specs.load import load_board
    from breadproof.specs.netlist.connect import connect
    from breadproof.specs.netlist.level import level
    from breadproof.specs.reading.diagnostics import Problems

    if _is_edif(file):
        problems = Problems()
        found = _from_edif(file, mapping, supplies, design, folders, problems)
        problems.stop_if_any()
        if found is None:
            raise AssertionError("no board without a problem")
        board, notes = found
        netlist = connect(board, problems, folders)
        problems.stop_if_any()
    else:
        _refuse_edif_options(mapping, supplies, design)
        board, netlist, notes = load_board(file, folders)
    if form == "edif":
        from breadproof.export.edif import edif

        return edif(board, netlist)
    from breadproof.export.boardfile import Remarks, board_text

    levelled = level(_moved(board, file.parent, beside), netlist)
    head = notes.head or [f"From {file.name}."]
    nets = {name: list(told) for name, told in notes.nets.items()}
    for old, new in levelled.renamed:
        nets.setdefault(new, []).append(f"no name in {file.name}: the net of {old}")
    remarks = Remarks(head=[*head, _HOW], parts=notes.parts, nets=nets)
    return board_text(levelled.board, remarks)


_HOW = "Written by 'breadproof convert'; go on from here with 'breadproof verify'."


def _moved(board: Board, here: Path, there: Path) -> Board:
    """The board in another folder: its folder of part files is named from there."""
    if board.catalogue is None:
        return board
    path = os.path.relpath(here / board.catalogue.value, there)
    return replace(board, catalogue=replace(board.catalogue, value=path))


def _is_edif(file: Path) -> bool:
    """Whether a file begins as EDIF does; one that cannot be read is left to its reader."""
    try:
        with file.open("rb") as handle:
            start = handle.read(_BEGINNING)
    except OSError:
        return False
    return start.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"(") or file.suffix.lower() in (
        ".edf", ".edif", ".edn",
    )  # fmt: skip


def _refuse_edif_options(mapping: Path | None, supplies: tuple[str, ...], design: str) -> None:
    if mapping is not None or supplies or design:
        raise click.UsageError(
            "--mapping, --supply and --design are for EDIF files; a board file says the same under "
            "'edif:'."
        )


def _from_edif(
    file: Path,
    mapping: Path | None,
    supplies: tuple[str, ...],
    design: str,
    folders: tuple[Path, ...],
    problems: Problems,
) -> tuple[Board, Notes] | None:
    from breadproof.specs.edif.alone import board_of_edif
    from breadproof.specs.reading.diagnostics import Span
    from breadproof.specs.reading.edifkey import EdifEntry
    from breadproof.specs.reading.yamltree import Text

    def text(value: str) -> Text:
        return Text(value=value, span=Span(file=str(file), line=1, column=1))

    told: dict[str, list[Text]] = {}
    for one in supplies:
        rail, equals, net = one.partition("=")
        if not (rail.strip() and equals and net.strip()):
            raise click.BadParameter(f"'{one}' is no RAIL=NET", param_hint="--supply")
        told.setdefault(rail.strip(), []).append(text(net.strip()))
    entry = EdifEntry(
        file=text(file.name),
        design=text(design) if design else None,
        supplies=tuple((text(rail), tuple(nets)) for rail, nets in told.items()),
    )
    return board_of_edif(file, entry, mapping, problems, folders)
