"""The command `breadproof picture`: the board on its breadboards, or what decides one net."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import formula_names, net_names
from breadproof.limits import time_limit
from breadproof.output_file import check_target, write
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.specs.netlist.model import Netlist
    from breadproof.verify.pictures.conepicture import Moment
    from breadproof.verify.prove.verdict import Result
    from breadproof.verify.report.replay import Replay

EPILOG = """\b
Examples:
  breadproof picture light-store.yaml -o board.svg
      the board on its breadboards; a board of nets alone is laid out
  breadproof picture light-store.yaml --net we_n -o we_n.svg
      the chips that decide we_n, as a circuit diagram
  breadproof picture light-store.yaml --net we_n --run one-press --step 3 -o we_n.svg
      the same with the levels of step 3 of the run of one-press

The picture is an SVG file (W3C) for any browser: there pins tell their nets under the pointer and
by the keyboard, and a net lights up. Wiring findings are marked.

Exit status: 0 written, 2 wrong input or call, 130 interrupted.
"""


@click.command("picture", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path), metavar="BOARD")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="The file to write; without it, or with -, standard output.",
)
@click.option(
    "--net",
    "net",
    shell_complete=net_names,
    metavar="NET",
    help="Draw the chips that decide this net instead.",
)
@click.option(
    "--depth",
    type=click.IntRange(min=1, max=50),
    default=3,
    show_default=True,
    help="How many chips in a row are followed back from the net.",
)
@click.option(
    "--run",
    "run",
    metavar="NAME",
    shell_complete=formula_names,
    help="Write the levels of a run beside the nets: that of this formula or check, which 'verify' "
    "has a run of.",
)
@click.option(
    "--step",
    metavar="STEP",
    help="The step of the run, or a round of it, such as 3 or 3.2. The last one if left out.",
)
@time_limit("Time for the run to be found. 60 if left out.")
@own_parts
def command(
    board: Path,
    output: Path | None,
    net: str | None,
    depth: int,
    run: str | None,
    step: str | None,
    seconds: float,
    folders: tuple[Path, ...],
) -> int:
    """Draw the board file BOARD.

    Wires have the colours that the board file gives them, or colours of nets. What a board still
    needs is dashed. A board that says no places is laid out on breadboards, chip after chip.
    """
    if net is None and (run is not None or step is not None):
        raise click.BadParameter("levels belong to a net's picture: give --net, too.")
    if run is None and step is not None:
        raise click.BadParameter("a step belongs to a run: give --run, too.", param_hint="--step")
    if output is not None and str(output) != "-":
        check_target(output, board)
    with Progress() as progress:
        if net is None:
            text = _board(board, folders)
        else:
            text = _cone(board, folders, net, depth, run, step, seconds, progress)
    if output is None or str(output) == "-":
        click.echo(text, nl=False)
    else:
        write(output, text)
    return 0


def _board(board: Path, folders: tuple[Path, ...]) -> str:
    from breadproof.specs.load import load_netlist
    from breadproof.verify.pictures.boardpicture import board_file
    from breadproof.verify.pictures.stickers import finding_stickers
    from breadproof.verify.wiring.registry import check_wiring

    netlist = load_netlist(board, folders)
    return board_file(netlist, finding_stickers(check_wiring(netlist)))


def _cone(
    board: Path,
    folders: tuple[Path, ...],
    name: str,
    depth: int,
    run: str | None,
    step: str | None,
    seconds: float,
    progress: Progress,
) -> str:
    from breadproof.specs.load import load_netlist
    from breadproof.verify.pictures.cone import cone_of
    from breadproof.verify.pictures.conepicture import cone_file

    netlist = load_netlist(board, folders)
    index = _net(netlist, name)
    moment: Moment | None = None
    if run is not None:
        netlist, moment = _moment(board, folders, run, step, seconds, progress)
    cone = cone_of(netlist, index, depth)
    if not cone.blocks:
        net = netlist.nets[index]
        why = "no output, switch or resistor gives it a level"
        why = why if net.rail is None else "it is a supply, and has its level from there"
        text = f"there is nothing to draw of '{name}': {why}."
        raise click.BadParameter(text, param_hint="--net")
    return cone_file(netlist, cone, moment)


def _net(netlist: Netlist, name: str) -> int:
    """The net of a name, or of a pin.

    Raises:
        BadParameter: there is none, or several.
    """
    from breadproof.specs.netlist.model import NetlistNames
    from breadproof.specs.reading.yamltree import near

    names = NetlistNames(netlist)
    part, _, pin_name = name.rpartition(".")
    part = part.replace(".", "/")  # of a board of boards: store.U1 is called store/U1 inside
    pin = names.parts[part].pin(pin_name) if part in names.parts else None
    if pin is not None and pin.net is not None:
        return pin.net
    found = names.nets_of(name) or names.nets_of(name.replace(".", "/")) or ()
    if len(found) == 1:
        return found[0]
    if pin is not None:
        text = f"{name} is connected to nothing."
    elif found:
        first = netlist.nets[found[-1]].name
        text = f"'{name}' is {len(found)} nets; name one of them, such as '{first}'."
    else:
        hint = near(name, [*names.singles, *names.vectors]) or "Name a net, or a pin such as U1.4."
        text = f"the board has no net '{name}'. {hint}"
    raise click.BadParameter(text, param_hint="--net")


def _moment(
    board: Path,
    folders: tuple[Path, ...],
    name: str,
    step: str | None,
    seconds: float,
    progress: Progress,
) -> tuple[Netlist, Moment]:
    """The run of a result, found as `verify` does it, and a round of it."""
    from breadproof.verify.pictures.conepicture import Moment
    from breadproof.verify.prove.store import Store, users_folder
    from breadproof.verify.report.replay import replay
    from breadproof.verify.verify_board import verify_board

    try:
        report = verify_board(
            board,
            folders=folders,
            only=(name,),
            seconds=seconds,
            progress=progress,
            store=Store(users_folder(), fresh=False),
        )
    except KeyError as unknown:
        if unknown.args != (name,):
            raise
        hint = "'breadproof verify' lists them."
        message = f"the board has no formula or check '{name}'. {hint}"
        raise click.BadParameter(message, param_hint="--run") from None
    found = next((one for one in report.results if one.name == name), None)
    if found is None or found.trace is None:
        raise click.BadParameter(_no_run(name, found), param_hint="--run")
    run = replay(report.machine, found.trace)
    at, called = _round(run, step)
    return report.machine.netlist, Moment(run=run, at=at, called=called)


def _no_run(name: str, found: Result | None) -> str:
    verdict = f"it {found.verdict}" if found and found.verdict == "holds" else "it has none"
    return f"there is no run of '{name}' to show: {verdict}."


def _round(run: Replay, step: str | None) -> tuple[int, str]:
    """The round that a text such as ``3.2`` means, and how it is called."""
    last = len(run.last) - 1
    if step is None:
        return run.last[-1], f"step {last}" if last else "the start"
    match = re.fullmatch(r"(start|\d{1,6})(?:\.(\d{1,6}))?", step)
    number = last + 1 if match is None else 0 if match[1] == "start" else int(match[1])
    if match is None or number > last:
        raise click.BadParameter(
            f"the run has no step '{step}': its steps are start, and 1 to {last}."
            if last
            else f"the run has no step '{step}': it is over at the start.",
            param_hint="--step",
        )
    rounds = run.last[number] - run.first[number] + 1
    one = rounds if match[2] is None else int(match[2])
    if not 1 <= one <= rounds:
        raise click.BadParameter(
            f"step {match[1]} has {rounds} round{'s' if rounds > 1 else ''}: "
            f"{match[1]}.1 to {match[1]}.{rounds}",
            param_hint="--step",
        )
    called = f"step {step}" if number else "the start" if match[2] is None else f"round {step}"
    return run.first[number] + one - 1, called
