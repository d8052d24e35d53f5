"""The command `breadproof export`: a board as Amaranth, Verilog or RTLIL."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.limits import time_limit
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span

if TYPE_CHECKING:
    from breadproof.export.header import Proofs
    from breadproof.specs.machine.machine import Machine
    from breadproof.specs.netlist.model import Netlist

FORMS = ("amaranth", "verilog", "rtlil")


@click.command("export")
@click.argument("board", type=click.Path(path_type=Path))
@click.option("--to", "form", type=click.Choice(FORMS), required=True, help="What to write.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="The file to write; without it, or with -, standard output.",
)
@click.option(
    "--unproved",
    is_flag=True,
    help="Write it without proving that no two drivers fight; the file says so.",
)
@time_limit("Time to prove of one net that no two drivers fight. 60 if left out.")
def command(board: Path, form: str, output: Path | None, unproved: bool, seconds: float) -> int:
    """Write the board BOARD as Amaranth, Verilog or RTLIL.

    It is written only if it is proved that no net is driven by two at once, or with --unproved.
    """
    from breadproof.specs.load import load_machine

    target = None if output is None or str(output) == "-" else output
    if target is not None:
        check_target(target, board)
    machine = load_machine(board)
    proofs = None
    if not unproved:
        proofs, possible = prove(machine, seconds)
        if proofs.unproved:
            click.echo(refusal(board, form, proofs.unproved, possible, seconds), err=True)
            return 1 if possible else 3
    text = converted(machine.netlist, form, proofs)
    if target is None:
        click.echo(text, nl=False)
    else:
        write(target, text)
    return 0


def prove(machine: Machine, seconds: float) -> tuple[Proofs, bool]:
    """On which nets two drivers never fight, and whether somewhere they can.

    A net that only one can drive needs no proof.
    """
    from breadproof.export.header import Proofs
    from breadproof.verify.prove.fights import fights_proved

    answer = fights_proved(machine, seconds)
    unproved = (*answer.possible, *answer.undecided)
    return Proofs(proved=answer.proved, unproved=unproved), bool(answer.possible)


def refusal(board: Path, form: str, nets: tuple[str, ...], possible: bool, seconds: float) -> str:
    """Why nothing was written, and the ways out."""
    what = (
        f"two drivers can fight on {', '.join(nets)}"
        if possible
        else f"it is not proved that no two drivers fight on {', '.join(nets)} "
        f"(limit {seconds:g} s)"
    )
    return (
        f"{board}: not exported: {what}.\n"
        f"  'breadproof verify {board} --only fights:{nets[0]}' shows how a fight can come about, "
        "or what stands in the way of the proof.\n"
        f"  'breadproof export {board} --to {form} --unproved' writes it all the same, "
        "and the file says so."
    )


def converted(netlist: Netlist, form: str, proofs: Proofs | None) -> str:
    """The board in one of `FORMS`."""
    if form == "amaranth":
        from breadproof.export.amaranth_file import generate

        return generate(netlist, proofs).source
    from breadproof.export.verilog import rtlil, verilog

    return verilog(netlist, proofs) if form == "verilog" else rtlil(netlist, proofs)


# writing a file -----------------------------------------------------------------------------------


def check_target(target: Path, board: Path) -> None:
    """Refuse early what cannot be written.

    Raises:
        BadInput: if the file is the board itself, a folder, or in no folder.
    """
    if target.is_dir():
        raise unwritable(target, "it is a folder")
    if not target.parent.is_dir():
        raise unwritable(target, f"there is no folder '{target.parent}'")
    if target.exists() and board.exists() and target.samefile(board):
        raise unwritable(target, "it is the board file itself")


def write(target: Path, text: str) -> None:
    """Write a file whole or not at all: into a file beside it, which then takes its place.

    Raises:
        BadInput: if it cannot be written; then nothing has changed.
    """
    final = target.resolve()
    if final.exists() and not final.is_file():
        # A pipe or a device has no whole to be kept.
        try:
            final.write_text(text, encoding="utf-8")
        except OSError as error:
            raise unwritable(target, error.strerror or str(error)) from error
        return
    beside = final.with_name(f".{final.name}.{os.getpid()}.part")
    try:
        with beside.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        beside.replace(final)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise unwritable(target, error.strerror or str(error)) from error


def unwritable(target: Path, why: str) -> BadInput:
    """The error for an output that cannot be written."""
    return BadInput(
        [
            Diagnostic(
                code="output-unwritable",
                message=f"'{target}' cannot be written: {why}",
                span=Span(file=str(target), line=1, column=1),
                hint="Name a file in a folder that you may write to, or leave out -o.",
            )
        ]
    )
