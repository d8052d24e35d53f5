"""The command `breadproof wires`: the jumpers that a board needs, as a check-list or as CSV."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.own_parts import own_parts

if TYPE_CHECKING:
    from breadproof.specs.netlist.model import Netlist
    from breadproof.specs.netlist.routing import Jumper, Routing

EPILOG = """\b
Examples:
  breadproof wires board.yaml                  a check-list, net by net
  breadproof wires board.yaml --csv > wires.csv
The CSV can be read back: 'wires: wires.csv' in the board file.

Exit status: 0, 1 a net cannot be joined with the holes that are free, 2 wrong input or call.
"""


@click.command("wires", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path), metavar="BOARD")
@click.option("--csv", "as_csv", is_flag=True, help="Print the jumpers as CSV, two ends a row.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@own_parts
def command(board: Path, as_csv: bool, as_json: bool, folders: tuple[Path, ...]) -> int:
    """List the jumpers that BOARD still needs, from hole to hole.

    The parts say where they stand ('at: b1.e5'), the nets what is to be joined; wires that the file
    has already are not listed again. Pins of parts that stand nowhere (a front panel) are ends by
    their own names. The status is 1 if some net cannot be joined with the holes that are free.
    """
    from breadproof.specs.load import load_netlist
    from breadproof.specs.netlist.model import BETWEEN
    from breadproof.specs.netlist.routing import route
    from breadproof.verify.wiring.finding import listed

    if as_csv and as_json:
        raise click.UsageError("--csv and --json are two forms: give one.")
    netlist = load_netlist(board, folders)
    if not netlist.layout.boards:
        files = dict.fromkeys(part.span.file for part in netlist.parts if BETWEEN in part.name)
        told = "the board lists no breadboards. Add 'breadboards: {b1: {tie-points: 830}}', and "
        told += "'at: b1.e5' to its chips."
        if files:
            told = "it joins boards, and the wires of each are its own. Ask for those of "
            told += f"{listed([*files], 'or')}."
        raise click.BadParameter(told, param_hint="BOARD")
    routing = route(netlist)
    if as_csv:
        click.echo(_csv(netlist, routing.jumpers), nl=False)
    elif as_json:
        click.echo(_json(netlist, routing))
    else:
        _list(netlist, routing.jumpers)
    for name in routing.open:
        click.echo(
            f"net '{name}' cannot be joined: too few free holes beside its pins. "
            "Move a chip, or add wires by hand.",
            err=True,
        )
    return 1 if routing.open else 0


def _csv(netlist: Netlist, jumpers: tuple[Jumper, ...]) -> str:
    from breadproof.specs.netlist.routing import end_text

    boards = netlist.layout.boards
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["from", "to", "net"])
    for one in jumpers:
        writer.writerow([end_text(one.a, boards), end_text(one.b, boards), one.net])
    return text.getvalue()


def _json(netlist: Netlist, routing: Routing) -> str:
    from breadproof.specs.netlist.routing import end_text

    boards = netlist.layout.boards
    wires = [
        {"net": one.net, "from": end_text(one.a, boards), "to": end_text(one.b, boards)}
        for one in routing.jumpers
    ]
    told = {"schema": 1, "board": netlist.board, "wires": wires, "open": list(routing.open)}
    return json.dumps(told, indent=1)


def _list(netlist: Netlist, jumpers: tuple[Jumper, ...]) -> None:
    from breadproof.specs.netlist.routing import end_text

    boards = netlist.layout.boards
    groups: dict[str, list[Jumper]] = {}
    for one in jumpers:
        groups.setdefault(one.net, []).append(one)
    wires = f"{len(jumpers)} wire{'' if len(jumpers) == 1 else 's'}"
    click.echo(f"{netlist.board}: {wires} to put in")
    width = max((len(end_text(one.a, boards)) for one in jumpers), default=0)
    for net, members in groups.items():
        click.secho(f"\n{net}", bold=True, nl=False)
        click.echo(f"  ({len(members)})")
        for one in members:
            click.echo(f"  [ ] {end_text(one.a, boards):<{width}}  {end_text(one.b, boards)}")
