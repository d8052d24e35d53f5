"""A board as hardware: in which style and shape, proved equal, written whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from breadproof.output_file import unwritable, write
from breadproof.reading_back import READ_BACK, compare

if TYPE_CHECKING:
    from breadproof.export.header import Proofs
    from breadproof.specs.machine.machine import Machine

HARDWARE = ("amaranth", "verilog", "rtlil")
STYLES = ("rounds", "synchronous")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """``synchronous``: a tick is a period of the board's clock, else a round; ``clock`` is the
    control that the clock is, "" if that is to be found. ``flat``: one module. ``package``: the
    folder of a Python package."""

    synchronous: bool
    clock: str
    flat: bool
    package: Path | None

    def refuse(self, form: str, *, no_proof: bool, output: bool) -> None:
        """Refuse what a form has no such shape of.

        Raises:
            click.BadParameter: for the first of them.
        """
        if self.synchronous and form not in HARDWARE:
            raise click.BadParameter(f"{form} has no styles; leave it out", param_hint="--style")
        if self.clock and not self.synchronous:
            message = "only the synchronous style has a clock: --style synchronous"
            raise click.BadParameter(message, param_hint="--clock")
        if self.synchronous and no_proof:
            message = "the synchronous style is written only where it is proved; leave it out"
            raise click.BadParameter(message, param_hint="--no-proof")
        if self.flat and form != "verilog":
            message = "Verilog alone is written as one module: --to verilog"
            raise click.BadParameter(message, param_hint="--flat")
        if self.package is None:
            return
        if form != "amaranth":
            message = "a package is Python: --to amaranth"
            raise click.BadParameter(message, param_hint="--package")
        if output:
            raise click.BadParameter("give a package or a file, not both", param_hint="--package")
        if not self.package.name.isidentifier():
            message = f"'{self.package.name}' is no name that Python can import; letters, digits, _"
            raise click.BadParameter(message, param_hint="--package")


def shape_options(command: Callable[..., int]) -> Callable[..., int]:
    """The options of `Shape`; the command gets it as ``shape``."""

    @wraps(command)
    def with_shape(style: str, clock: str, flat: bool, package: Path | None, **others: Any) -> int:
        synchronous = style == "synchronous"
        shape = Shape(synchronous=synchronous, clock=clock, flat=flat, package=package)
        return command(shape=shape, **others)

    options = (
        click.option(
            "--style",
            type=click.Choice(STYLES),
            default="rounds",
            help="rounds: a tick is a round, right for any board. synchronous: a tick is a period "
            "of the board's clock, gated clocks are enables; written only if that is proved to be "
            "the same. rounds if left out.",
        ),
        click.option(
            "--clock",
            default="",
            metavar="CONTROL",
            help="Of the synchronous style the clock, if there are several oscillators or inputs.",
        ),
        click.option("--flat", is_flag=True, help="Write Verilog as one module."),
        click.option(
            "--package",
            type=click.Path(path_type=Path),
            metavar="FOLDER",
            help="Write Amaranth as a Python package, a file for each type of chip, into this new "
            "folder.",
        ),
    )
    for option in reversed(options):
        with_shape = option(with_shape)
    return with_shape


def write_hardware(
    machine: Machine,
    form: str,
    proofs: Proofs | None,
    shape: Shape,
    *,
    no_proof: bool,
    seconds: float,
    target: Path | None,
    board: Path,
) -> int:
    """Make the text, prove it equal if it can be read back, write it; the exit status."""
    from breadproof.export.amaranth_file import generate, package
    from breadproof.export.lowering.clock import clock_of
    from breadproof.export.lowering.gating import NotSynchronous
    from breadproof.export.verilog import rtlil, verilog

    if shape.package is not None:
        check_new(shape.package)
    netlist, clock, text = machine.netlist, "", ""
    read_back = form in READ_BACK and not no_proof
    try:
        clock = clock_of(netlist, shape.clock) if shape.synchronous else ""
        if form == "verilog":
            text = verilog(netlist, proofs, read_back, clock=clock, flat=shape.flat)
        elif form == "rtlil" or clock:
            text = rtlil(netlist, proofs, read_back, clock=clock)
    except NotSynchronous as why:
        click.echo(
            f"{board}: not exported in the synchronous style: {why}.\n"
            "  '--style rounds' is right for any board.",
            err=True,
        )
        return 1
    if read_back or clock:
        language = READ_BACK.get(form, "rtlil")
        status = compare(machine, text, language, seconds, board, clock)
        if status:
            return status
    if shape.package is not None:
        write_package(shape.package, package(netlist, proofs, clock))
        return 0
    if form == "amaranth":
        text = generate(netlist, proofs, clock).source
    if target is None:
        click.echo(text, nl=False)
    else:
        write(target, text)
    return 0


def check_new(folder: Path) -> None:
    """Refuse early a folder that is there and not empty.

    Raises:
        BadInput: if it is.
    """
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise unwritable(folder, "it is there already")


def write_package(folder: Path, files: Mapping[str, str]) -> None:
    """Write a new folder whole or not at all.

    Raises:
        BadInput: if it cannot be written; then nothing has changed.
    """
    beside = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    try:
        beside.mkdir()
        for name, text in files.items():
            (beside / name).write_text(text, encoding="utf-8")
        beside.replace(folder)
    except OSError as error:
        raise unwritable(folder, error.strerror or str(error)) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
