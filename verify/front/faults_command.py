"""The command `breadproof faults`: which wiring faults of a board its checks would tell of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import part_names
from breadproof.limits import crew_of, time_limit
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.verify.faults.run import FaultReport

EPILOG = """\b
Examples:
  breadproof faults light-store.yaml
      every single fault; what is undetected tells which formula is missing
  breadproof faults light-store.yaml --at U14 --kind open --kind moved
      wires of one chip alone, while you wire it
  breadproof faults light-store.yaml --json > faults.json
      for programs; 'breadproof schema faults' describes it

A fault is detected if 'breadproof verify' would tell of it: a wiring rule fires that is
silent without it, or a standing check or formula fails that holds without it. It is
redundant if it is proved that no lamp, port or memory is ever different, and no check.
It is undetected if there is a run that differs: the shortest is told. Whatever is not
settled is not classified, and counts as not detected.

Exit status: 0 every fault that makes a difference is detected, 1 one is not, 2 wrong input
or call, 3 none is known to be undetected but some are not classified, 4 our own error,
130 interrupted.
"""


@click.command("faults", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path))
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    type=click.Choice(["open", "moved", "bridge", "type"]),
    help="Only these: a wire left out, a wire's end one pin over, neighbouring pins bridged, a "
    "chip of a near type in its place. May be given several times.",
)
@click.option(
    "--at",
    "parts",
    multiple=True,
    shell_complete=part_names,
    metavar="PART",
    help="Only faults at this part's pins, such as U14; may be given several times.",
)
@click.option(
    "--strict",
    is_flag=True,
    help="A warning does not detect, since the board still passes with it: look for an error, or "
    "for a formula that fails. Takes longer.",
)
@click.option("--all", "every", is_flag=True, help="List what is detected, too, and by what.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@time_limit("Time for one question about one fault; what takes longer leaves the fault "
            "unclassified. 60 if left out.")  # fmt: skip
@click.option(
    "--jobs",
    type=click.IntRange(min=1),
    metavar="N",
    help="Processes at a time. As many as there are processors if left out.",
)
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    board: Path,
    kinds: tuple[str, ...],
    parts: tuple[str, ...],
    strict: bool,
    every: bool,
    as_json: bool,
    seconds: float,
    jobs: int | None,
    folders: tuple[Path, ...],
    plain: bool,
) -> int:
    """Try every single wiring fault of the board file BOARD on its checks.

    Each wire is left out, each wire's end is one pin over, each pair of neighbouring pins is
    bridged, each chip is one of a near type: one fault at a time. Where a file lists nets and no
    wires, each pin has a wire of its own to its net. Detected over not redundant is the fault
    coverage of the board's checks: what a mistake at the bench is found by.
    """
    from breadproof.verify.faults.fault import KINDS
    from breadproof.verify.faults.run import Means, Wanted, find_faults
    from breadproof.verify.prove.store import Store, users_folder

    wanted = Wanted(
        kinds=tuple(kind for kind in KINDS if not kinds or kind in kinds),
        parts=parts,
        strict=strict,
    )
    with Progress() as progress, crew_of(jobs, None, None) as crew:
        store = Store(users_folder())
        means = Means(seconds=seconds, progress=progress, crew=crew, store=store)
        try:
            report = find_faults(board, wanted, means, folders)
        except KeyError as unknown:
            if not unknown.args or unknown.args[0] not in parts:
                raise
            raise _no_part(unknown.args[0], board, folders) from None
    click.echo(_text(report, as_json, every, plain), nl=False)
    return _status(report)


def _status(report: FaultReport) -> int:
    from breadproof.verify.prove.verdict import INTERRUPTED

    groups = [one.group for one in report.judged]
    if report.interrupted:
        done = len(groups) - groups.count("unclassified")
        click.echo(
            f"interrupted: {done} of {len(groups)} faults were classified and stand above", err=True
        )
        return INTERRUPTED
    return 1 if "undetected" in groups else 3 if "unclassified" in groups else 0


def _no_part(name: str, board: Path, folders: tuple[Path, ...]) -> click.BadParameter:
    from breadproof.specs.load import load_netlist
    from breadproof.specs.reading.yamltree import near

    names = [part.name for part in load_netlist(board, folders).parts]
    hint = near(name, names) or "Name a part as the board file does."
    return click.BadParameter(f"the board has no part '{name}'. {hint}", param_hint="--at")


def _text(report: FaultReport, as_json: bool, every: bool, plain: bool) -> str:
    from breadproof.verify.faults.jsonout import json_text
    from breadproof.verify.faults.text import text
    from breadproof.verify.report.page import page_of_stdout

    return json_text(report) if as_json else text(report, page_of_stdout(plain=plain), every=every)
