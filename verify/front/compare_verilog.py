"""`breadproof compare BOARD MODULE.v`: a board with Verilog, exported or written by hand."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from breadproof.output_file import write

if TYPE_CHECKING:
    from breadproof.verify.equal.proof import Equality
    from breadproof.verify.report.page import Page
    from breadproof.verify.revisions.beside import Asked
    from breadproof.verify.revisions.exported import Style
    from breadproof.verify.revisions.verdicts import Means

ENDINGS = (".v", ".sv")
"""What the name of a Verilog file ends with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """In which form it is told: as JSON, as Markdown, or else as text, which may be ``plain``; and,
    if there is a ``page_file``, as a page as well."""

    as_json: bool
    as_markdown: bool
    plain: bool
    page_file: Path | None = None

    def page(self) -> Page:
        """The terminal that text is for."""
        from breadproof.verify.report.page import page_of_stdout

        return page_of_stdout(plain=self.plain)


def compare_verilog(
    board: Path,
    verilog: Path,
    ports: Path | None,
    asked: Asked,
    means: Means,
    folders: tuple[Path, ...],
    form: Form,
) -> tuple[str, int]:
    """What is to be printed, and the exit status.

    Raises:
        BadInput: a file cannot be understood.
        Unknown: an option names what is not there, or the Verilog cannot be compared.
    """
    from breadproof.verify.prove.verdict import EXIT_STATUS, INTERRUPTED
    from breadproof.verify.revisions.beside import beside
    from breadproof.verify.revisions.besidewords import json_text, markdown, text

    if ports is None:
        return _exported(board, verilog, asked, means, folders, form)
    found = beside(board, verilog, ports, asked, means, folders)
    paths = (str(board), str(verilog))
    if form.page_file is not None:
        from breadproof.verify.pages.besidepage import beside_page

        write(form.page_file, beside_page(found, paths))
    if form.as_json:
        told = json_text(found)
    elif form.as_markdown:
        told = markdown(found, paths)
    else:
        told = text(found, form.page(), paths)
    return told, INTERRUPTED if found.interrupted else EXIT_STATUS[found.verdict]


def _exported(
    board: Path,
    verilog: Path,
    asked: Asked,
    means: Means,
    folders: tuple[Path, ...],
    form: Form,
) -> tuple[str, int]:
    from breadproof.verify.equal.yosys import NoReader
    from breadproof.verify.revisions.compare import Unknown
    from breadproof.verify.revisions.exported import against, style_of

    try:
        text = verilog.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Unknown("NEW", f"{verilog} cannot be read: {error}") from error
    if form.page_file is not None:
        raise Unknown("--report", "of Verilog that breadproof exported there is no page.")
    style = style_of(text)
    if style is None:
        raise Unknown(
            "--ports",
            f"{verilog} was not exported by breadproof, so that a file must say which of its ports "
            "is what of the board: --ports FILE. 'breadproof schema ports' describes it.",
        )
    if asked.only or asked.when or asked.start != "power-up":
        raise Unknown(
            "--only" if asked.only else "--when" if asked.when else "--after",
            "Verilog that breadproof exported is compared as a whole, from power-up on.",
        )
    try:
        found = against(board, text, style, means, folders)
    except NoReader as missing:
        raise Unknown("NEW", str(missing)) from missing
    return _told(board, verilog, style, found, form)


def _told(board: Path, verilog: Path, style: Style, found: Equality, form: Form) -> tuple[str, int]:
    """What was found of exported Verilog, and the exit status."""
    from breadproof.verify.report.rests import LEFT_OUT, SAFETY
    from breadproof.verify.report.words import wrapped
    from breadproof.verify.revisions.text import as_markdown
    from breadproof.verify.revisions.words import Section

    statuses = {"equal": ("pass", 0), "differs": ("fail", 1), "undecided": ("undecided", 3)}
    verdict, status = statuses[found.verdict]
    if form.as_json:
        behaviour = {"equal": "same", "differs": "differs", "undecided": "undecided"}
        told = {
            "schema": 1,
            "old": {"file": str(board)},
            "new": {"file": str(verilog), "style": "synchronous" if style.clock else "rounds"},
            "verdict": verdict,
            "behaviour": {
                "verdict": behaviour[found.verdict],
                "because": found.because,
                "clock": style.clock or None,
                "levels": found.compared,
            },
        }
        return json.dumps(told, indent=1, ensure_ascii=False) + "\n", status
    when = "in every round"
    if style.clock:
        when = f"in every period of {style.clock}, controls moving only while it is low,"
    if verdict == "pass":
        text = (
            f"THE SAME as {board}, proved: {when} the Verilog does what the board does "
            f"({found.compared} levels)."
        )
    elif verdict == "fail":
        text = f"DIFFERENT from {board}: {found.because}"
    else:
        text = (
            f"UNDECIDED whether it does what {board} does: {found.because}. Parts and nets are "
            "found by the names that they had when it was exported."
        )
    if form.as_markdown:
        words = {"pass": "the same behaviour", "fail": "not the same behaviour"}
        sections = (
            Section(title="what it does", head=text, mark="", lines=()),
            Section(title="what this rests on", head=f"{LEFT_OUT} {SAFETY}", mark="", lines=()),
        )
        paths = (str(board), str(verilog))
        return as_markdown(paths, words.get(verdict, verdict), sections), status
    rests = wrapped(f"{LEFT_OUT} {SAFETY}", 100, "  ", "  ")
    return "\n".join([f"{verilog}: {text}", *rests, ""]), status
