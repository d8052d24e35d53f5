"""A board file in, everything that is known of it out; all of its errors in one run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from breadproof.specs.netlist.assembly import Member, assemble
from breadproof.specs.netlist.connect import connect
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.board import Board, read_board
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.yamltree import Text

if TYPE_CHECKING:
    from breadproof.specs.edif.drawn import Notes
    from breadproof.specs.machine.machine import Machine

MAX_DEPTH = 8
"""Boards of boards of boards: more is taken for a mistake."""


def load_netlist(path: Path, folders: Sequence[Path] = ()) -> Netlist:
    """The netlist of a board file; its formulas are parsed, not yet looked up.

    ``folders`` hold part files of the user's own; they are searched first.

    Raises:
        BadInput: with every problem of the file.
    """
    problems = Problems()
    netlist = _connected(path, folders, problems)
    problems.stop_if_any()
    return netlist


def load_board(path: Path, folders: Sequence[Path] = ()) -> tuple[Board, Netlist, Notes]:
    """One board, what its EDIF file adds included, and its netlist; ``folders`` as above.

    Raises:
        BadInput: with every problem of the file; also if it joins boards.
    """
    from breadproof.specs.edif.drawn import with_edif

    problems = Problems()
    board = read_board(path, problems)
    if board is None:
        problems.stop_if_any()
        raise AssertionError("unreachable: no board without a problem")
    for name, file in board.boards:
        problems.error(
            "boards-joined",
            f"'{name.value}' is a board of its own, and one is wanted",
            file.span,
            hint=f"Convert {path.parent / file.value} by itself.",
        )
    if board.boards:
        problems.stop_if_any()  # what the file says of all boards is nothing for its own parts
    board, notes = with_edif(board, problems, folders)
    netlist = connect(board, problems, folders)
    problems.stop_if_any()
    return board, netlist, notes


def load_machine(path: Path, folders: Sequence[Path] = (), *, bouncing: bool = True) -> Machine:
    """The machine of a board file; ``folders`` as for `load_netlist`.

    Without ``bouncing`` it is as if nothing bounced: what the world moves are the contacts, as it
    is on a bench.

    Raises:
        BadInput: with every problem of the file, those of its formulas included.
    """
    # Here and not above: a netlist is wanted more often than what it means.
    from breadproof.specs.machine.build import build_machine

    problems = Problems()
    netlist = _connected(path, folders, problems)
    if not bouncing:
        netlist = replace(netlist, bounces=())
    machine = build_machine(netlist, problems)
    problems.stop_if_any()
    return machine


def _connected(path: Path, folders: Sequence[Path], problems: Problems) -> Netlist:
    """The netlist as far as the file allows; a file that is no board at all raises at once."""
    board = read_board(path, problems)
    if board is None:
        problems.stop_if_any()
        raise AssertionError("unreachable: no board without a problem")
    if board.boards:
        return _assembled(board, folders, problems, (path.resolve(),))
    return _single(board, folders, problems)


def _single(board: Board, folders: Sequence[Path], problems: Problems) -> Netlist:
    """The netlist of one board; what it has in an EDIF file is read first."""
    if board.edif is None:
        return connect(board, problems, folders)
    # Here and not above: few boards have such a file, and all of them pay for the import.
    from breadproof.specs.edif.drawn import with_edif
    from breadproof.specs.edif.read import collector_paused

    with collector_paused():
        board, _ = with_edif(board, problems, folders)
        return connect(board, problems, folders)


def _member(path: Path, file: Text, problems: Problems) -> Board | None:
    """The board of a file that another one names; if it cannot be read, that is told there."""
    found = Problems()
    board = read_board(path, found)
    for one in found.found:
        if one.code == "file-unreadable":
            where = "The name is taken beside the board file."
            problems.error(one.code, f"'{file.value}': {one.message}", file.span, hint=where)
        else:
            problems.take(BadInput([one]))
    return board


def _assembled(
    board: Board, folders: Sequence[Path], problems: Problems, above: tuple[Path, ...]
) -> Netlist:
    """The netlist of a file that joins boards; ``above`` are the files that it is read for."""
    own_board = replace(board, together=(), reset=(), bounces=())  # these speak of all boards
    members: list[Member] = [Member(name="", netlist=_single(own_board, folders, problems))]
    for name, file in board.boards:
        path = Path(board.file).parent / file.value
        if path.resolve() in above or len(above) > MAX_DEPTH:
            problems.error(
                "board-in-itself",
                f"board '{name.value}' is made of itself",
                file.span,
                hint="A file that joins boards cannot be one of them.",
            )
            continue
        inner = _member(path, file, problems) if file.value else None
        if inner is None:
            continue
        try:
            own = (
                _assembled(inner, folders, problems, (*above, path.resolve()))
                if inner.boards
                else _single(inner, folders, problems)
            )
        except BadInput as bad:  # the other boards may have errors of their own
            problems.take(bad)
            continue
        members.append(Member(name=name.value, netlist=own))
    if len(members) <= len(board.boards):
        problems.stop_if_any()  # of joins with what cannot be read nothing more can be said
    return assemble(board, tuple(members), problems)
