"""Hardware is read back before it is written: equal to its board, proved, or not written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from breadproof.specs.machine.machine import Machine
    from breadproof.verify.equal.yosys import Language

READ_BACK: dict[str, Language] = {"verilog": "verilog", "rtlil": "rtlil"}
"""The forms that are read back, each with the language that yosys reads it as."""


def compare(machine: Machine, text: str, language: Language, seconds: float, board: Path) -> int:
    """Prove a text equal to its board; say so, or what stands in the way; the exit status.

    Raises:
        click.BadParameter: no yosys is installed that can read it.
    """
    from breadproof.progress import Progress
    from breadproof.verify.equal.text import equal_text
    from breadproof.verify.equal.yosys import NoReader

    name = "Verilog" if language == "verilog" else "RTLIL"
    with Progress() as progress:
        try:
            found = equal_text(machine, text, seconds, language, progress)
        except NoReader as missing:
            raise click.BadParameter(f"{missing}, or --no-proof", param_hint="--to") from None
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
    click.echo(
        f"{board}: not exported: it is not proved that the {name} does what the board does: "
        f"{found.because} (limit {seconds:g} s).\n"
        "  --time-limit gives it longer; with --no-proof it is written all the same, and the file "
        "says so.",
        err=True,
    )
    return 3
