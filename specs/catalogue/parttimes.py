"""Reading the `times:` of a part file, when somebody asks for it: `times_of`, `read_times`.

Loading a part only cuts the section out of the file's text (`cut_times`): most commands need no
times, and a board is loaded in a fraction of the time so. The code of every problem is
``part-time``; the format is specs/parts/README.md.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from breadproof.specs.catalogue.fields import table_of, text_of
from breadproof.specs.catalogue.part import PartType, PinType
from breadproof.specs.catalogue.timefields import (
    read_clocks,
    read_delays,
    read_stays,
    read_widths,
)
from breadproof.specs.catalogue.timepins import Pins
from breadproof.specs.catalogue.times import Edge, Times, TimesText
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Table, Text, Tree, near, parse_tree

ENTRIES = ("source", "delays", "setup", "hold", "width", "clock")
"""What a family's times may have."""

_SECTION = re.compile(r"^times:(?=\s).*\n?(?:(?:[ \t#\r].*)?\n|[ \t#].+\Z)*", re.MULTILINE)

_GRADE = re.compile(r"-([0-9]{1,3})(?![0-9])")


def cut_times(text: str, file: str) -> tuple[str, TimesText | None]:
    """A part file's text with its `times:` blank, and the section, with all else blank.

    Both keep the lines where they are. A second `times:`, or an indented one, is left in the text.
    """
    found = _SECTION.search(text)
    if found is None:
        return text, None
    section = found[0]
    rest = text[: found.start()] + "\n" * section.count("\n") + text[found.end() :]
    before = "\n" * text.count("\n", 0, found.start())
    return rest, TimesText(file=file, text=before + section)


def with_times(part: PartType, times: TimesText | None) -> PartType:
    """A part and its variants with the section that was cut out of their file."""
    if times is None:
        return part
    known = replace(times, families=part.families)
    variants = tuple(replace(variant, times=known) for variant in part.variants)
    return replace(part, times=known, variants=variants)


def times_of(part: PartType, family: str, grade: str = "") -> Times | None:
    """The times of a part in a family (of a memory: and speed grade), or None if not known.

    Raises:
        BadInput: the part file's `times:` are wrong.
    """
    for times in read_times(part):
        if times.family == family and times.grade == grade:
            return times
    return None


def times_as_printed(part: PartType, family: str, printed: str) -> Times | None:
    """The times of a chip: of a memory, those of the speed grade that is printed on it.

    The grade is what stands behind the dash: ``62256-70``. A memory without it, or of a grade that
    is not known, has no known times: it may be of any.

    Raises:
        BadInput: the part file's `times:` are wrong.
    """
    grade = _GRADE.search(printed)
    plain = times_of(part, family)
    return plain if plain or grade is None else times_of(part, family, grade[1])


def delay(part: PartType, family: str, start: str, end: str, edge: Edge) -> float | None:
    """The longest delay in ns from one pin (by name) to an edge of another; None if not known.

    Raises:
        BadInput: the part file's `times:` are wrong.
    """
    times = times_of(part, family)
    return None if times is None else times.delay(start, end, edge)


def read_times(part: PartType) -> tuple[Times, ...]:
    """The times of a part, one entry a family and speed grade, in file order.

    Raises:
        BadInput: with every problem of the section.
    """
    if part.times is None:
        return ()
    forms = tuple((form.families, form.pins) for form in part.forms())
    return _read(part.times, forms)


Forms = tuple[tuple[tuple[str, ...], tuple[PinType, ...]], ...]
"""Families, and the pins that the part has in these."""


@lru_cache(maxsize=512)
def _read(text: TimesText, forms: Forms) -> tuple[Times, ...]:
    problems = Problems()
    tree = parse_tree(text.text, text.file)
    times = tree.get("times") if isinstance(tree, Table) else None
    if not isinstance(times, Table) or not times.entries:
        problems.error(
            "part-time",
            "'times' is to be a mapping by family",
            tree.span if times is None else times.span,
            hint="Write 'LS:' below it, and under that 'source:' and 'delays:'.",
        )
    else:
        found = [_family(key, body, text.families, forms, problems) for key, body in times]
    problems.stop_if_any()
    return tuple(item for item in found if item is not None)


def _family(
    key: Text, body: Tree, families: tuple[str, ...], forms: Forms, problems: Problems
) -> Times | None:
    """One family's times, or None if they are of another form of the part, or wrong."""
    family, dash, grade = key.value.partition("-")
    pins = next((pins for names, pins in forms if family in names), None)
    if family not in families or bool(dash) != bool(grade):
        problems.error(
            "part-time",
            f"the part is in no family '{key.value}'",
            key.span,
            hint=near(family, families) or f"It is in: {', '.join(families)}.",
        )
    table = table_of(body, f"'times' of {key.value}", ENTRIES, problems)
    if table is None or pins is None:
        return None
    source = text_of(table, "source", f"'times' of {key.value}", problems)
    if len(table.entries) == 1 and source is not None:
        problems.error(
            "part-time",
            f"no time is given for {key.value}",
            key.span,
            hint="Leave the family out: what is not known is not there.",
        )
    names = Pins(pins, problems)
    return Times(
        family=family,
        grade=grade,
        source="" if source is None else source.value,
        delays=read_delays(table.get("delays"), names),
        setups=read_stays(table.get("setup"), "before", names),
        holds=read_stays(table.get("hold"), "after", names),
        widths=read_widths(table.get("width"), names),
        clocks=read_clocks(table.get("clock"), names),
    )
