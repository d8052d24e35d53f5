"""The command `breadproof export`: a board as Amaranth, Verilog or RTLIL."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.limits import time_limit
from breadproof.output_file import check_target, write
from breadproof.own_parts import own_parts, own_parts_again

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
@own_parts
def command(
    board: Path,
    form: str,
    output: Path | None,
    unproved: bool,
    seconds: float,
    folders: tuple[Path, ...],
) -> int:
    """Write the board BOARD as Amaranth, Verilog or RTLIL.

    It is written only if it is proved that no net is driven by two at once, or with --unproved.
    """
    from breadproof.specs.load import load_machine

    target = None if output is None or str(output) == "-" else output
    if target is not None:
        check_target(target, board)
    machine = load_machine(board, folders)
    proofs = None
    if not unproved:
        proofs, possible = prove(machine, seconds)
        if proofs.unproved:
            shown = f"{board} {own_parts_again(folders)}".rstrip()
            click.echo(refusal(shown, form, proofs.unproved, possible, seconds), err=True)
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


def refusal(board: str, form: str, nets: tuple[str, ...], possible: bool, seconds: float) -> str:
    """Why nothing was written, and the ways out; ``board`` as in a command line."""
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
