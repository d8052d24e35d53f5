"""The command `breadproof export`: a board as hardware, or as what is to be proved of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import formula_names
from breadproof.hardware import HARDWARE as FORMS
from breadproof.hardware import Shape, shape_options, write_hardware
from breadproof.limits import time_limit
from breadproof.output_file import check_target, write
from breadproof.own_parts import own_parts, own_parts_again
from breadproof.reading_back import READ_BACK

if TYPE_CHECKING:
    from breadproof.export.header import Proofs
    from breadproof.specs.machine.machine import Machine
    from breadproof.verify.exchange.obligation import Form

BITSTREAM = "bitstream"
OBLIGATIONS: tuple[Form, ...] = ("btor2", "aiger", "smtlib")
EPILOG = """\b
Hardware:     amaranth, verilog, rtlil
Obligations:  btor2 (Boolector, 2018), aiger (1.9), smtlib (SMT-LIB 2)
FPGA:         bitstream, for the device and pins of --target; a safety sheet goes with it

\b
Examples:
  breadproof export light-store.yaml --to verilog -o light-store.v
      the board for a simulator or an FPGA, proved to do what the board does
  breadproof export mixer.yaml --to amaranth --style synchronous --package mixer
      Python that is kept: a file for each type of chip, one tick a period of the board's clock
  breadproof export light-store.yaml --to btor2 --only one-source -o one-source.btor2
      for a model checker: the board step by step, and one formula as a bad state
  breadproof export tempo.yaml --to aiger -o tempo.aig
      all formulas and checks, in the binary form; .aag, or no file, gives text
  breadproof export light-store.yaml --to bitstream --target light-store-hx8k.yaml -o store.bin
      an FPGA that does what the board does; store.safety.md says what may be wired to it

Exit status: 0 written, 1 a fight is possible, the board does not get quiet, or the hardware differs
from it, 2 wrong input or call, 3 none of these is decided, 4 our own error.
"""


@click.command("export", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "form",
    type=click.Choice((*FORMS, *OBLIGATIONS, BITSTREAM)),
    required=True,
    help="What to write.",
)
@click.option(
    "--target",
    "target_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Of a bitstream the file that says which FPGA it is for, and what is at its pins.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="The file to write; without it, or with -, standard output.",
)
@click.option(
    "--unproved",
    is_flag=True,
    help="Write it without proving that no two drivers fight (and, of a bitstream, that the board "
    "gets quiet); the file says so.",
)
@click.option(
    "--no-proof",
    is_flag=True,
    help="Write Verilog, RTLIL or a bitstream without reading it (a bitstream's modules) back and "
    "proving it equal to the board; the file says so.",
)
@click.option(
    "--only",
    multiple=True,
    shell_complete=formula_names,
    metavar="NAME",
    help="Of an obligation only this formula or check; may be given several times.",
)
@time_limit(
    "Time to prove of one net that no two drivers fight, that the board gets quiet, or that the "
    "hardware is equal to it. 60 if left out."
)
@own_parts
@shape_options
def command(
    board: Path,
    form: str,
    target_file: Path | None,
    output: Path | None,
    unproved: bool,
    no_proof: bool,
    only: tuple[str, ...],
    seconds: float,
    folders: tuple[Path, ...],
    shape: Shape,
) -> int:
    """Write the board BOARD as hardware, or all that is to be proved of it for other provers.

    Hardware is written only if it is proved that no net is driven by two at once, or with
    --unproved. Verilog and RTLIL are read back through yosys and written only if they are proved
    to do what the board does, round by round ("equal, proved"), or with --no-proof. An obligation
    has the board as a transition system from one quiet moment to the next, with every formula and
    standing check as a property: fights, glitches, races and floats too. Memories are arrays in
    BTOR2 and SMT-LIB 2; AIGER has them bit by bit, if they are small.

    A bitstream has the board behind synchronised and debounced inputs; one control at a time is
    handed to it, while it is quiet. What synthesis makes of it, the mapped netlist, is proved to do
    what the design did before. It is refused if it does not fit, or if a clock leaves the
    board's rounds too little time.
    """
    from breadproof.specs.load import load_machine

    refuse(form, only=bool(only), target=target_file is not None, no_proof=no_proof)
    shape.refuse(form, no_proof=no_proof, output=output is not None)
    if form == BITSTREAM:
        return bitstream(board, target_file, output, unproved, no_proof, seconds, folders)
    target = None if output is None or str(output) == "-" else output
    if target is not None:
        check_target(target, board)
    obliged = next((one for one in OBLIGATIONS if one == form), None)
    machine = load_machine(board, folders, bouncing=obliged is not None)
    if obliged is not None:
        binary = target is not None and target.suffix != ".aag"
        return write_obligation(machine, obliged, only, seconds, target, board, binary)
    proofs = None
    if not unproved:
        proofs, possible = prove(machine, seconds)
        if proofs.unproved:
            shown = f"{board} {own_parts_again(folders)}".rstrip()
            click.echo(refusal(shown, form, proofs.unproved, possible, seconds), err=True)
            return 1 if possible else 3
    return write_hardware(
        machine,
        form,
        proofs,
        shape,
        no_proof=no_proof,
        seconds=seconds,
        target=target,
        board=board,
    )


def refuse(form: str, *, only: bool, target: bool, no_proof: bool) -> None:
    """Refuse options that a form knows nothing of.

    Raises:
        click.BadParameter: for the first of them.
    """
    if only and form == BITSTREAM:
        raise click.BadParameter("a bitstream has no formulas", param_hint="--only")
    if only and form in FORMS:
        raise click.BadParameter("hardware has no formulas; leave it out", param_hint="--only")
    if target and form != BITSTREAM:
        raise click.BadParameter("only a bitstream has a target", param_hint="--target")
    if no_proof and form not in (*READ_BACK, BITSTREAM):
        raise click.BadParameter(
            "only Verilog and RTLIL are read back and compared", param_hint="--no-proof"
        )


def bitstream(
    board: Path,
    target: Path | None,
    output: Path | None,
    unproved: bool,
    no_proof: bool,
    seconds: float,
    folders: tuple[Path, ...],
) -> int:
    """Prove what a bitstream rests on, then build and write it; the exit status."""
    from breadproof import bitstream as made
    from breadproof.progress import Progress
    from breadproof.specs.load import load_machine

    paths = made.paths_of(board, target, output)
    machine = load_machine(board, folders, bouncing=False)
    mapped = made.mapped_board(machine, paths)
    proofs = None
    with Progress() as progress:
        progress("proving that the board gets quiet")
        rounds = made.rounds_of(machine, seconds)
        if rounds.rounds is None and not unproved:
            click.echo(f"{board}: not exported: {rounds.because}.", err=True)
            return 1 if rounds.fails else 3
        if not unproved:
            progress("proving that no two drivers fight")
            proofs, possible = prove(machine, seconds)
    if proofs is not None and proofs.unproved:
        shown = f"{board} {own_parts_again(folders)}".rstrip()
        click.echo(refusal(shown, BITSTREAM, proofs.unproved, possible, seconds), err=True)
        return 1 if possible else 3
    return made.write_bitstream(
        machine, mapped, paths, proofs, rounds, equal=not no_proof, seconds=seconds
    )


def write_obligation(
    machine: Machine,
    form: Form,
    only: tuple[str, ...],
    seconds: float,
    target: Path | None,
    board: Path,
    binary: bool,
) -> int:
    """Write what is to be proved; the exit status."""
    from breadproof.verify.exchange.flat import TooManyWords
    from breadproof.verify.exchange.obligation import Unsteady, obligation, written

    try:
        system = obligation(machine, only, seconds)
        found = written(machine.netlist, system, form, binary=binary)
    except KeyError as unknown:
        if not unknown.args or unknown.args[0] not in only:
            raise
        raise _no_such(unknown.args[0], machine) from None
    except TooManyWords as large:
        raise click.BadParameter(
            f"{large}. BTOR2 and SMT-LIB 2 keep memories as they are: --to btor2, --to smtlib. "
            "With --only a property that reads no memory may do.",
            param_hint="--to",
        ) from None
    except Unsteady as unsteady:
        click.echo(f"{board}: not exported: {unsteady}.", err=True)
        return 1 if unsteady.fails else 3
    if target is not None:
        write(target, found)
    else:
        click.echo(found, nl=False)
    return 0


def _no_such(name: str, machine: Machine) -> click.BadParameter:
    from breadproof.specs.reading.yamltree import near
    from breadproof.verify.prove.checks import standing_checks

    formulas = [one.formula.name for one in machine.logic.formulas if one.kind != "assume"]
    hint = near(name, [*formulas, *(check.name for check in standing_checks(machine))])
    what = f"the board has no formula '{name}', and no check of that name on levels"
    return click.BadParameter(f"{what}. {hint}" if hint else what, param_hint="--only")


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
