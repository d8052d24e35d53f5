"""The option that commands share for a user's own chips."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click


def own_parts(function: Callable[..., Any]) -> Callable[..., Any]:
    """The option ``--parts DIR``, handed on as ``folders``; a folder that is missing is told."""
    return click.option(
        "--parts",
        "folders",
        multiple=True,
        type=click.Path(path_type=Path),
        metavar="DIR",
        help="A folder of your own part files, searched before those that ship (and before the "
        "one that 'catalogue:' in the board file names); may be given several times. "
        "'breadproof parts --start NUMBER' begins such a file.",
    )(function)


def own_parts_again(folders: tuple[Path, ...]) -> str:
    """The options once more, for a command line that is proposed; "" for none."""
    return " ".join(f"--parts {shlex.quote(str(folder))}" for folder in folders)
