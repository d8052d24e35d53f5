"""The options that write what was found as files, beside what is printed."""

from __future__ import annotations

import platform
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
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
    junit: Path | None
    sarif: Path | None
    markdown: Path | None

    @property
    def files(self) -> dict[str, Path]:
        """Those that are wanted, by their option."""
        every = {
            "--report": self.page,
            "--junit": self.junit,
            "--sarif": self.sarif,
            "--markdown": self.markdown,
        }
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

        for file, text in self.texts(report, path, only, options):
            write(file, text)

    def texts(
        self, report: BoardReport, path: str, only: tuple[str, ...], options: str
    ) -> Iterator[tuple[Path, str]]:
        """What goes into each file."""
        # Here and not above: each is imported only where it is wanted.
        if self.page is not None:
            from breadproof.verify.pages.verifypage import verify_page

            yield self.page, verify_page(report, path=path, only=only, options=options)
        if self.junit is not None:
            from breadproof.verify.report.junit import junit_text

            began = datetime.now(UTC) - timedelta(seconds=report.seconds)
            yield self.junit, junit_text(report, path, began, platform.node())
        if self.sarif is not None:
            from breadproof.verify.report.sarif import sarif_text

            yield self.sarif, sarif_text(report.wiring)
        if self.markdown is not None:
            from breadproof.verify.report.markdown import markdown_text

            yield self.markdown, markdown_text(report, path)


_HELP = {
    "report": (
        "page_file",
        "Write a page for the browser, such as out.html: one file that needs no network, with the "
        "formulas, the runs as waves, the wiring and the board.",
    ),
    "junit": (
        "junit_file",
        "Write the results as JUnit XML, which build systems show as tests; what is undecided is "
        "an error there.",
    ),
    "sarif": (
        "sarif_file",
        "Write the findings of the wiring rules, with their places in the board file, as SARIF "
        "2.1.0 (OASIS).",
    ),
    "markdown": (
        "markdown_file",
        "Write a summary in GitHub-flavoured Markdown.",
    ),
}


def output_files(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options, handed on as one ``outputs``."""

    @wraps(function)
    def gathered(
        *args: Any,
        page_file: Path | None,
        junit_file: Path | None,
        sarif_file: Path | None,
        markdown_file: Path | None,
        **kwargs: Any,
    ) -> Any:
        outputs = Outputs(
            page=page_file, junit=junit_file, sarif=sarif_file, markdown=markdown_file
        )
        return function(*args, outputs=outputs, **kwargs)

    decorated: Callable[..., Any] = gathered
    for option in reversed(_HELP):
        decorated = file_option(option)(decorated)
    return decorated


def file_option(name: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """One of these options by itself, handed on under its own name such as ``sarif_file``."""
    target, text = _HELP[name]
    return click.option(
        f"--{name}", target, type=click.Path(path_type=Path), metavar="FILE", help=text
    )
