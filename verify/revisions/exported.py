"""Verilog that was exported from a board, against this one: its header says in which style."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from breadproof.export.verilog import module_name
from breadproof.specs.load import load_machine
from breadproof.verify.equal.proof import Equality
from breadproof.verify.equal.text import equal_text
from breadproof.verify.revisions.compare import Unknown
from breadproof.verify.revisions.verdicts import Means

_WRITTEN = "Written by breadproof "
_MODULE = re.compile(r"^\s*module\s+(\w+)", re.MULTILINE)
_PERIODS = re.compile(r"one period of the board's clock (\S+), which is low")


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """``clock`` is the control that is the clock of the synchronous style; "" in rounds."""

    clock: str


def style_of(text: str) -> Style | None:
    """The style of an exported text; None if its header does not say that it is one."""
    lines: list[str] = []
    for line in text.splitlines():
        if not line.startswith("//"):
            break
        lines.append(line.removeprefix("//").strip())
    if not any(line.startswith(_WRITTEN) for line in lines):
        return None
    found = _PERIODS.search(" ".join(lines))
    return Style(clock=found[1] if found else "")


def against(
    board: Path, text: str, style: Style, means: Means, folders: tuple[Path, ...] = ()
) -> Equality:
    """Whether an exported text does what a board does; see `verify.equal`.

    Raises:
        BadInput: the board file cannot be understood.
        Unknown: it has no module for the board.
        NoReader: no yosys is installed.
    """
    machine = load_machine(board, folders, bouncing=False)
    top = module_name(machine.netlist)
    modules = _MODULE.findall(text)
    if top not in modules:
        own = f", but {modules[0]}" if modules else ""
        raise Unknown(
            "NEW",
            f"there is no module {top} in it, as which {board} is exported{own}. It is another "
            "board's, or one of them was given another name; with --ports FILE it is compared "
            "whatever it is called.",
        )
    controls = {control.name for control in machine.netlist.controls}
    if style.clock and style.clock not in controls:
        because = f"the Verilog's clock is {style.clock}, and the board has no such control"
        return Equality(verdict="differs", because=because)
    return equal_text(machine, text, means.seconds, tell=means.progress, board_clock=style.clock)
