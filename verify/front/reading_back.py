"""Hardware is read back before it is written: equal to its board, proved, or not written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from breadproof.specs.machine.machine import Machine
    from breadproof.verify.equal.proof import Equality
    from breadproof.verify.equal.yosys import Language

READ_BACK: dict[str, Language] = {"verilog": "verilog", "rtlil": "rtlil"}
"""The forms that are read back, each with the language that yosys reads it as."""


def compare(
    machine: Machine,
    text: str,
    language: Language,
    seconds: float,
    board: Path,
    clock: str = "",
) -> int:
    """Prove a text equal to its board; say so, or what stands in the way; the exit status.

    ``clock``: the control that is the clock of synchronous hardware.

    Raises:
        click.BadParameter: no yosys is installed that can read it.
    """
    from breadproof.progress import Progress
    from breadproof.verify.equal.text import equal_text
    from breadproof.verify.equal.yosys import NoReader

    name = "Verilog" if language == "verilog" else "RTLIL"
    with Progress() as progress:
        try:
            found = equal_text(machine, text, seconds, language, progress, clock)
        except NoReader as missing:
            other = "--style rounds" if clock else "--no-proof"
            raise click.BadParameter(f"{missing}, or {other}", param_hint="--to") from None
    if clock:
        return _told(board, found, clock, seconds)
    return told(board, found, name, seconds)


def told(board: Path, found: Equality, name: str, seconds: float) -> int:
    """Say what was found of hardware, which has a ``name``; the exit status."""
    if found.verdict == "equal":
        click.echo(
            f"{board}: equal, proved: in every round the {name} does what the board does "
            f"({found.compared} levels).",
            err=True,
        )
        return 0
    if found.verdict == "differs":
        click.echo(
            f"{board}: not exported: the {name} does not do what the board does: "
            f"{found.because}\n"
            "  The fault is in breadproof, not in the board. With --no-proof it is written all the "
            "same, and the file says so.",
            err=True,
        )
        return 1
    limit, way_out = f" (limit {seconds:g} s)", "--time-limit gives it longer; with"
    if found.unmatched:
        limit, way_out = "", "The fault is in breadproof, not in the board. With"
    click.echo(
        f"{board}: not exported: it is not proved that the {name} does what the board does: "
        f"{found.because}{limit}.\n"
        f"  {way_out} --no-proof it is written all the same, and the file says so.",
        err=True,
    )
    return 3


def _told(board: Path, found: Equality, clock: str, seconds: float) -> int:
    """Say what was found of synchronous hardware; the exit status."""
    if found.verdict == "equal":
        click.echo(
            f"{board}: equal, proved: in every period of {clock} the hardware does what the board "
            f"does ({found.compared} levels); change controls only while {clock} is low.",
            err=True,
        )
        return 0
    limit = "" if found.verdict == "differs" else f" (limit {seconds:g} s)"
    proved = "" if found.verdict == "differs" else "it is not proved to be the same: "
    click.echo(
        f"{board}: not exported in the synchronous style: {proved}{found.because}{limit}.\n"
        "  '--style rounds' is right for any board.",
        err=True,
    )
    return 1 if found.verdict == "differs" else 3
