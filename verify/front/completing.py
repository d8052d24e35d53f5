"""What a shell offers when the tabulator key is pressed: numbers of parts, rules, formulas' names.

Nothing is said where something is wrong: whoever is typing has not finished yet.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from breadproof.specs.reading.board import Board

VARIABLE = "_BREADPROOF_COMPLETE"
"""What the shell sets when it asks."""
MAX_DEPTH = 8
"""Boards of boards of boards: no more are read."""


def complete(group: click.Group, instruction: str) -> int:
    """Answer a shell; see click's shell completion."""
    from click.shell_completion import shell_complete

    return shell_complete(group, {}, "breadproof", VARIABLE, instruction)


def part_numbers(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """Numbers as printed: where a prefix has been typed, behind that, such as ``74LS157``."""
    import re

    from breadproof.specs.catalogue.catalogue import Catalogue
    from breadproof.specs.reading.diagnostics import BadInput

    try:
        numbers = Catalogue(context.params.get("folders") or ()).numbers()
    except BadInput:
        return []
    prefix = re.match(r"(?:54|74)[A-Za-z]*", begun)
    heads = [""] if prefix is None else ["", prefix[0]]
    return _begun((f"{head}{number}" for head in heads for number in numbers), begun)


def rule_codes(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """The codes of the wiring rules."""
    from breadproof.verify.wiring.registry import RULES

    return _begun((rule.code for rule in RULES), begun)


def topics(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """The pages of the manual."""
    from breadproof.verify.manual.shelf import all_names

    program = context.find_root().command
    commands = program.list_commands(context) if isinstance(program, click.Group) else []
    return _begun(all_names(commands), begun)


def formula_names(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """The formulas of the board file that is named before."""
    return _begun(
        (
            f"{on}{one.name.value}"
            for on, board in _boards(context)
            for one in board.formulas
            if one.kind != "assume"
        ),
        begun,
    )


def net_names(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """The nets of the board file that is named before."""
    names = (f"{on}{one.name}" for on, board in _boards(context) for one in board.nets)
    return _begun(names, begun)


def part_names(context: click.Context, parameter: click.Parameter, begun: str) -> list[str]:
    """The parts of the board file that is named before."""
    names = (f"{on}{one.name.value}" for on, board in _boards(context) for one in board.parts)
    return _begun(names, begun)


def _boards(context: click.Context) -> Iterator[tuple[str, Board]]:
    """The board file that is named before, if it can be read, and the boards that it joins, each
    with what its names begin with: ``store/``."""
    path = context.params.get("board") or _file_in_line()
    yield from () if path is None else _read(Path(path), "", MAX_DEPTH)


def _read(path: Path, on: str, depth: int) -> Iterator[tuple[str, Board]]:
    from breadproof.specs.netlist.model import begin_of
    from breadproof.specs.reading.board import read_board
    from breadproof.specs.reading.diagnostics import BadInput, Problems

    try:
        board = read_board(path, Problems())
    except (BadInput, OSError):
        return
    if board is not None:
        yield on, board
        for name, file in board.boards if depth else ():
            yield from _read(path.parent / file.value, f"{on}{begin_of(name.value)}", depth - 1)


def _file_in_line() -> str | None:
    """The first file in the line that is typed: an option that lacks its value hides it from click,
    which has read no argument then."""
    from click.shell_completion import split_arg_string

    words = split_arg_string(os.environ.get("COMP_WORDS", ""))
    return next((word for word in words[2:] if Path(word).is_file()), None)


def _begun(names: Iterable[str], begun: str) -> list[str]:
    return [name for name in names if name.startswith(begun)]
