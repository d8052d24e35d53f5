"""Writing the one file that a command was asked for: whole, or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span


def check_target(target: Path, source: Path | None = None) -> None:
    """Refuse early what cannot be written.

    Raises:
        BadInput: if the file is the one that is read, a folder, or in no folder, or in one that may
            not be written into.
    """
    if target.is_dir():
        raise unwritable(target, "it is a folder")
    if not target.parent.is_dir():
        raise unwritable(target, f"there is no folder '{target.parent}'")
    if (target.is_file() or not target.exists()) and not os.access(target.parent, os.W_OK):
        raise unwritable(target, f"nothing may be written into '{target.parent}'")
    if source is not None and target.exists() and source.exists() and target.samefile(source):
        raise unwritable(target, "it is the board file itself")


def write(target: Path, text: str | bytes, *, replace: bool = True) -> None:
    """Write a file whole or not at all: into a file beside it, which then takes its place.

    Without ``replace`` a file that is there is left as it is.

    Raises:
        BadInput: if it cannot be written, or is there; then nothing has changed.
    """
    data = text.encode() if isinstance(text, str) else text
    final = target.resolve()
    if final.exists() and not final.is_file():
        # A pipe or a device has no whole to be kept.
        try:
            final.write_bytes(data)
        except OSError as error:
            raise unwritable(target, error.strerror or str(error)) from error
        return
    beside = final.with_name(f".{final.name}.{os.getpid()}.part")
    try:
        with beside.open("xb") as file:
            file.write(data)
        if replace:
            beside.replace(final)
        elif not _taken(beside, final):
            raise there_already(target)
    except OSError as error:
        raise unwritable(target, error.strerror or str(error)) from error
    finally:
        beside.unlink(missing_ok=True)


@contextmanager
def writing(target: Path) -> Iterator[TextIO]:
    """A text file that is written bit by bit; it takes its place when all is written, or never.

    Raises:
        BadInput: if it cannot be written; then nothing has changed.
    """
    final = target.resolve()
    through = final.exists() and not final.is_file()  # a pipe or a device
    beside = final if through else final.with_name(f".{final.name}.{os.getpid()}.part")
    try:
        with beside.open("w" if through else "x", encoding="utf-8") as file:
            yield file
        if not through:
            beside.replace(final)
    except OSError as error:
        raise unwritable(target, error.strerror or str(error)) from error
    finally:
        if not through:
            beside.unlink(missing_ok=True)


def _taken(beside: Path, final: Path) -> bool:
    """Give a written file its name unless that is taken; whether it got it."""
    try:
        # Unlike a look and then a move, a link fails if the name is taken meanwhile.
        os.link(beside, final)
    except FileExistsError:
        return False
    except OSError:  # a file system without links
        if final.exists():
            return False
        beside.replace(final)
    return True


def there_already(target: Path) -> BadInput:
    """The error for a file that is there and was not to be replaced."""
    hint = "Name another file, or give --force to replace it."
    return _bad(target, f"'{target}' is there already and was left as it is", hint)


def unwritable(target: Path, why: str) -> BadInput:
    """The error for an output that cannot be written."""
    hint = "Name a file in a folder that you may write to."
    return _bad(target, f"'{target}' cannot be written: {why}", hint)


def _bad(target: Path, message: str, hint: str) -> BadInput:
    span = Span(file=str(target), line=1, column=1)
    return BadInput([Diagnostic(code="output-unwritable", message=message, span=span, hint=hint)])
