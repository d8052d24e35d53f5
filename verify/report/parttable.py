"""The table of all parts, one line a part: `specs/parts/TABLE.md` is this text."""

from __future__ import annotations

from collections.abc import Iterable

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.parttimes import read_times
from breadproof.verify.report.known import grade_of, rows_of

HEAD = """\
# The parts

Made by `breadproof parts --table`. **rows**: lines of function and mode tables, each written from
its source and run by the tests through the Machine, Amaranth, Icarus Verilog and the encoding of
proofs. **times**: the families of which delays and the like are known. The source is that of the
pin-out and the equations; rows and times have their own, which `breadproof parts NUMBER` shows.

| number | title | families | rows | times | source |
| --- | --- | --- | ---: | --- | --- |
"""


def table_text(parts: Iterable[PartType]) -> str:
    """The table as Markdown, in the order given.

    Raises:
        BadInput: the `times:` of a part file are wrong.
    """
    lines = [_line(part) for part in parts]
    return HEAD + "".join(f"{line}\n" for line in lines) + f"\n{len(lines)} parts.\n"


def _line(part: PartType) -> str:
    title = "; ".join([part.title, *(f"{'/'.join(v.families)}: {v.title}" for v in part.variants)])
    times = ", ".join(grade_of(times) for times in read_times(part))
    cells = (
        part.number,
        title,
        ", ".join(part.families),
        str(rows_of(part)),
        times or "none",
        part.source,
    )
    return f"| {' | '.join(_cell(cell) for cell in cells)} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")
