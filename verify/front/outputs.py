"""The options that write what was found as files, beside what is printed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from breadproof.verify.board import BoardReport


@dataclass(frozen=True, slots=True, kw_only=True)
class Outputs:
    """The files that are wanted; None for those that are not."""

    page: Path | None

    @property
    def files(self) -> dict[str, Path]:
        """Those that are wanted, by their option."""
        every = {"--report": self.page}
        return {option: path for option, path in every.items() if path is not None}

    def check(self, board: Path) -> None:
        """Refuse early what cannot be written.

        Raises:
            BadInput: a file cannot be written, or is the board file.
            BadParameter: two options name one file.
        """
        from breadproof.output_file import check_target

        taken: dict[Path, str] = {}
        for option, path in self.files.items():
            check_target(path, board)
            other = taken.setdefault(path.resolve(), option)
            if other != option:
                raise click.BadParameter(
                    f"'{path}' is what {other} writes to; name another file", param_hint=option
                )

    def write(self, report: BoardReport, path: str, only: tuple[str, ...], options: str) -> None:
        """Write them, each whole or not at all; arguments as of `verify_page`.

        Raises:
            BadInput: one cannot be written.
        """
        from breadproof.output_file import write

        if self.page is not None:
            from breadproof.verify.pages.verifypage import verify_page

            write(self.page, verify_page(report, path=path, only=only, options=options))


def output_files(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options, handed on as one ``outputs``."""

    @wraps(function)
    def gathered(*args: Any, page_file: Path | None, **kwargs: Any) -> Any:
        return function(*args, outputs=Outputs(page=page_file), **kwargs)

    options = (
        click.option(
            "--report",
            "page_file",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="Write a page for the browser, such as out.html: one file that needs no network, "
            "with the formulas, the runs as waves, the wiring and the board.",
        ),
    )
    decorated: Callable[..., Any] = gathered
    for option in reversed(options):
        decorated = option(decorated)
    return decorated
