"""The command `breadproof check`: the wiring of a board alone, in a second."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.output_file import check_target, write
from breadproof.outputs import file_option
from breadproof.own_parts import own_parts

if TYPE_CHECKING:
    from breadproof.specs.netlist.model import Netlist
    from breadproof.verify.wiring.finding import Finding

EPILOG = """\b
Examples:
  breadproof check board.yaml            after every change, before power goes on
  breadproof rules input-open            what a finding means
'breadproof verify' makes the same check, and then proves what must always hold.

Exit status: 0 nothing of weight, 1 an error, 2 wrong input or call.
"""


@click.command("check", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path), metavar="BOARD")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@file_option("sarif")
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    board: Path, as_json: bool, sarif_file: Path | None, folders: tuple[Path, ...], plain: bool
) -> int:
    """Check the wiring of the board file BOARD, and that its formulas mean something; nothing is
    proved."""
    from breadproof.specs.load import load_netlist
    from breadproof.specs.machine.build import build_machine
    from breadproof.specs.reading.diagnostics import Problems
    from breadproof.verify.wiring.registry import check_wiring

    if sarif_file is not None:
        check_target(sarif_file, board)
    netlist = load_netlist(board, folders)
    findings = check_wiring(netlist)
    failed = any(finding.fails for finding in findings)
    if as_json:
        fields = {
            "schema": 1,
            "board": netlist.board,
            "wiring": [finding.as_json() for finding in findings],
        }
        click.echo(json.dumps(fields, indent=1))
    else:
        click.echo(_text(netlist, findings, str(board), plain=plain), nl=False)
    if sarif_file is not None:
        from breadproof.verify.report.sarif import sarif_text

        write(sarif_file, sarif_text(findings))
    # Last, so that a name that is wrong in a formula hides nothing of the wiring.
    problems = Problems()
    build_machine(netlist, problems)
    problems.stop_if_any()
    return 1 if failed else 0


def _text(netlist: Netlist, findings: tuple[Finding, ...], path: str, *, plain: bool) -> str:
    from breadproof.verify.report.entries import Entries
    from breadproof.verify.report.findings import FindingTexts
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.report.words import count, printable

    page = page_of_stdout(plain=plain)
    texts = FindingTexts(entries=Entries(page), path=path, file=netlist.file)
    chips = sum(part.device == "chip" for part in netlist.parts)
    pins = sum(len(net.pins) for net in netlist.nets)
    size = f"{count(chips, 'chip')}, {count(len(netlist.nets), 'net')}, {count(pins, 'wired pin')}"
    name = page.paint(printable(netlist.board), "bold")
    return "\n".join([f"{name}: {size}", *texts.lines(findings), ""])
