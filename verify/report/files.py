"""Writing several files so that none is ever half written."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path

from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span


def check_folder(folder: Path) -> None:
    """See early whether files can be put in a folder, which need not exist yet; writes nothing.

    Raises:
        BadInput: they cannot.
    """
    existing = folder
    while not existing.exists() and existing != existing.parent:
        existing = existing.parent
    if not existing.is_dir():
        raise _unwritable(folder, f"'{existing}' is no folder")
    if not os.access(existing, os.W_OK | os.X_OK):
        raise _unwritable(folder, f"you may not write to '{existing}'")


def check_new_folder(folder: Path) -> None:
    """As `check_folder`, and that there is nothing in the folder yet.

    Raises:
        BadInput: there is, or files cannot be put there.
    """
    check_folder(folder)
    if folder.is_dir() and any(folder.iterdir()):
        raise _unwritable(folder, "it is not empty, and what is in it would be mixed up with this")


def write_files(folder: Path, texts: Mapping[str, str | bytes]) -> None:
    """Put files in a folder, which is made if need be: all of them, or none is changed.

    Each is written beside its place first; only when all are there do they take their names.

    Raises:
        BadInput: the folder or a file cannot be written.
    """
    beside = {name: folder / f".{name}.{os.getpid()}.part" for name in texts}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            if (folder / name).is_dir():
                raise IsADirectoryError(f"'{folder / name}' is a folder")
            with beside[name].open("xb") as file:
                file.write(text.encode() if isinstance(text, str) else text)
        for name, written in beside.items():
            written.replace(folder / name)
    except OSError as error:
        raise _unwritable(folder, error.strerror or str(error)) from error
    finally:
        # Where all went well none is left; where not, Ctrl-C included, they are not wanted.
        if folder.is_dir():
            for written in beside.values():
                written.unlink(missing_ok=True)


def file_stem(name: str) -> str:
    """The name of a result as part of a file's name: ``glitch:U9.21`` as ``glitch-U9.21``.

    Different results may get the same one.
    """
    return re.sub(r"[^\w.+-]", "-", name).lstrip(".") or "-"


def _unwritable(folder: Path, why: str) -> BadInput:
    return BadInput(
        [
            Diagnostic(
                code="output-unwritable",
                message=f"nothing can be written to '{folder}': {why}",
                span=Span(file=str(folder), line=1, column=1),
                hint="Name a folder that you may write to, or one that is still to be made.",
            )
        ]
    )
