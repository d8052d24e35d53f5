"""`breadproof compare BOARD MODULE.v`: a board with Verilog, exported or written by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from breadproof.verify.equal.proof import Equality
    from breadproof.verify.revisions.exported import Style
    from breadproof.verify.revisions.start import Start
    from breadproof.verify.revisions.verdicts import Means

ENDINGS = (".v", ".sv")
"""What the name of a Verilog file ends with."""


def compare_verilog(
    board: Path,
    verilog: Path,
    ports: Path | None,
    only: tuple[str, ...],
    start: Start,
    means: Means,
    folders: tuple[Path, ...],
    *,
    proofs: bool,
    as_json: bool,
    plain: bool,
) -> tuple[str, int]:
    """What is to be printed, and the exit status.

    Raises:
        BadInput: a file cannot be understood.
        Unknown: an option names what is not there, or the Verilog cannot be compared.
    """
    from breadproof.verify.prove.verdict import EXIT_STATUS, INTERRUPTED
    from breadproof.verify.revisions.beside import Asked, beside
    from breadproof.verify.revisions.besidewords import json_text, text

    if ports is None:
        return _exported(board, verilog, only, start, means, folders, as_json=as_json)
    asked = Asked(only=only, start=start, proofs=proofs)
    found = beside(board, verilog, ports, asked, means, folders)
    if as_json:
        told = json_text(found)
    else:
        from breadproof.verify.report.page import page_of_stdout

        told = text(found, page_of_stdout(plain=plain), (str(board), str(verilog)))
    return told, INTERRUPTED if found.interrupted else EXIT_STATUS[found.verdict]


def _exported(
    board: Path,
    verilog: Path,
    only: tuple[str, ...],
    start: Start,
    means: Means,
    folders: tuple[Path, ...],
    *,
    as_json: bool,
) -> tuple[str, int]:
    from breadproof.verify.equal.yosys import NoReader
    from breadproof.verify.revisions.compare import Unknown
    from breadproof.verify.revisions.exported import against, style_of

    try:
        text = verilog.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Unknown("NEW", f"{verilog} cannot be read: {error}") from error
    style = style_of(text)
    if style is None:
        raise Unknown(
            "--ports",
            f"{verilog} was not exported by breadproof, so that a file must say which of its ports "
            "is what of the board: --ports FILE. 'breadproof schema ports' describes it.",
        )
    if only or start != "power-up":
        raise Unknown(
            "--only" if only else "--after",
            "Verilog that breadproof exported is compared as a whole, from power-up on.",
        )
    try:
        found = against(board, text, style, means, folders)
    except NoReader as missing:
        raise Unknown("NEW", str(missing)) from missing
    return _told(board, verilog, style, found, as_json=as_json)


def _told(
    board: Path, verilog: Path, style: Style, found: Equality, *, as_json: bool
) -> tuple[str, int]:
    """What was found of exported Verilog, and the exit status."""
    from breadproof.verify.report.rests import LEFT_OUT, SAFETY
    from breadproof.verify.report.words import wrapped

    statuses = {"equal": ("pass", 0), "differs": ("fail", 1), "undecided": ("undecided", 3)}
    verdict, status = statuses[found.verdict]
    if as_json:
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
    rests = wrapped(f"{LEFT_OUT} {SAFETY}", 100, "  ", "  ")
    return "\n".join([f"{verilog}: {text}", *rests, ""]), status
