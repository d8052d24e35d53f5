"""What is known of a part, and what its model leaves out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from breadproof.specs.catalogue.names import full_name
from breadproof.specs.catalogue.part import PartType, Register
from breadproof.specs.catalogue.parttimes import read_times
from breadproof.specs.catalogue.times import Times
from breadproof.verify.report.words import count, listed, wrapped

HEAD = 10
"""The width of the words at the left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """A part file of the user's own, and whether one that ships stands behind it."""

    path: Path
    hides: bool


def known_lines(part: PartType, width: int, own: Own | None = None) -> list[str]:
    """Families, rows, times and their sources, and what is left out, a line or more each.

    Raises:
        BadInput: the part file's `times:` are wrong.
    """
    lines: list[str] = []
    if own is not None:
        hidden = f"; it hides the {part.number} that ships" if own.hides else ""
        lines += _line("file", f"{own.path}, your own{hidden}", width)
    if part.families and part.families != ("MOS",):
        names = [full_name(part.number, family) for family in part.families]
        lines += _line("families", ", ".join(names), width)
    for variant in part.variants:
        text = f"in {listed(list(variant.families))} it is another: {variant.title}"
        lines += _line("", text, width)
    if part.rows:
        lines += _line("rows", _rows_run(part, own), width)
        for origin, number in row_sources(part):
            lines += _line("", f"{count(number, 'row')}: {origin}", width)
        lines += _line("times", times_text(read_times(part)), width)
    lines += _line("source", part.source, width)
    for number, text in enumerate(left_out(part)):
        lines += _line("" if number else "left out", text, width)
    return lines


def _line(head: str, text: str, width: int) -> list[str]:
    return wrapped(text, width, f"{head:<{HEAD}}")


def rows_of(part: PartType) -> int:
    """How many rows a part has, those of its variants too."""
    return sum(len(table.table) for form in part.forms() for table in form.rows)


def row_sources(part: PartType) -> tuple[tuple[str, int], ...]:
    """Where the rows come from, each source once, with the number of its rows."""
    found: dict[str, int] = {}
    for form in part.forms():
        for table in form.rows:
            found[table.origin] = found.get(table.origin, 0) + len(table.table)
    return tuple(found.items())


def _rows_run(part: PartType, own: Own | None) -> str:
    text = count(rows_of(part), "row")
    if own is None:
        return (
            f"{text}, written from the source; run by the tests of this program through the "
            "Machine, Amaranth, Icarus Verilog and the encoding of proofs"
        )
    return f"{text}; 'breadproof parts --check {own.path}' runs them"


def times_text(times: tuple[Times, ...]) -> str:
    """``LS, HC (data book, from memory)``, by source."""
    if not times:
        return "none known"
    sources: dict[str, list[str]] = {}
    for item in times:
        sources.setdefault(item.source, []).append(grade_of(item))
    return "; ".join(f"{', '.join(names)} ({source})" for source, names in sources.items())


def grade_of(times: Times) -> str:
    """``LS``, or ``MOS-70`` of a memory of that grade."""
    return f"{times.family}-{times.grade}" if times.grade else times.family


def left_out(part: PartType) -> tuple[str, ...]:
    """What the model of a part says nothing about; empty for what is no chip."""
    if not part.rows:
        return ()
    forms = part.forms()
    pins = [pin for form in forms for pin in form.pins]
    said = ["levels only: no voltages in between, no currents of its own, no supply that sags"]
    said.append("proofs let it answer at once; how slow it is stands under times, if known")
    if any(isinstance(store, Register) for form in forms for store in form.storage):
        said.append(
            "no metastable levels: an input that moves at the clock edge is told as a race, and "
            "either level is taken"
        )
    if any(form.storage or _written(form) for form in forms):
        said.append("at power-up it may hold anything")
    if any(pin.kind.sinks and not pin.pulled_up for pin in pins):
        said.append("an open collector only pulls low; its high comes from your resistor")
    if any(pin.schmitt for pin in pins):
        said.append("thresholds and hysteresis: a slow edge is one edge")
    if any(memory.program is not None for form in forms for memory in form.memories):
        said.append(
            "programming and erasing: what rests on its words holds only if it is proved that "
            "nothing programs it"
        )
    if any(form.switches for form in forms):
        said.append("the resistance of its closed switches")
    moments = dict.fromkeys(pin.says for form in forms for pin in form.moments)
    if moments:
        said.append(f"when {listed(list(moments))}: at any time, but not at once")
    return tuple(said)


def _written(part: PartType) -> bool:
    return any(memory.write is not None for memory in part.memories)


def known_object(part: PartType, own: Own | None = None) -> dict[str, Any]:
    """The same for ``--json``."""
    return {
        "file": None if own is None else str(own.path),
        "hides": own is not None and own.hides,
        "rows": rows_of(part),
        "row_sources": [{"from": origin, "rows": n} for origin, n in row_sources(part)],
        "times": [{"family": grade_of(t), "source": t.source} for t in read_times(part)],
        "source": part.source,
        "left_out": list(left_out(part)),
    }
