"""Which pins of a chip stand side by side as one word: those that its part file names as a row."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.catalogue import part as c
from breadproof.specs.catalogue.vectors import pin_names
from breadproof.specs.formula import syntax as s

_INDEXED = re.compile(r"(.*?)(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Pins of one kind, the least significant first."""

    stem: str
    pins: tuple[c.PinType, ...]


def rows_of(part: c.PartType) -> tuple[Row, ...]:
    """The rows, in the order of the package's pins; no pin is in two.

    ``A[8:1]`` of an equation makes a word of A1 to A8. Pins that equations name one by one, as
    those of four gates in a package, stay single, and so does a row of pins that differ in kind.
    """
    found: dict[str, set[int]] = {}
    for names in _named(part):
        parts = [_INDEXED.fullmatch(name) for name in names]
        indexed = [one for one in parts if one is not None]
        if len(indexed) == len(names) > 1 and len({one[1] for one in indexed}) == 1:
            found.setdefault(indexed[0][1], set()).update(int(one[2]) for one in indexed)
    rows: list[Row] = []
    for stem, places in found.items():
        pins = [part.pin(f"{stem}{place}") for place in sorted(places)]
        row = tuple(pin for pin in pins if pin is not None)
        gaps = max(places) - min(places) + 1 > len(places)
        if stem and not gaps and len(row) == len(pins) and len({pin.kind for pin in row}) == 1:
            rows.append(Row(stem=stem, pins=row))
    order = {pin.name: place for place, pin in enumerate(part.pins)}
    return tuple(sorted(rows, key=lambda row: min(order[pin.name] for pin in row.pins)))


def _named(part: c.PartType) -> Iterator[tuple[str, ...]]:
    """Every row of names in the part's equations."""
    for output in part.logic:
        yield output.names
    for formula in _formulas(part):
        stack = [formula.expr]
        while stack:
            node = stack.pop()
            match node:
                case s.Part(
                    base=s.Name() as base, left=s.Number() as left, right=s.Number() as right
                ):
                    yield pin_names(base.path, left.value, right.value)
                case _:
                    stack.extend(s.children(node))


def _formulas(part: c.PartType) -> Iterator[c.Formula]:
    for output in (*part.inner, *part.logic):
        yield output.level
        if output.when is not None:
            yield output.when
    for storage in part.storage:
        if isinstance(storage, c.Register):
            yield storage.next
            if storage.load is not None:
                yield storage.load.source
        else:
            yield storage.source
    for memory in part.memories:
        yield memory.address
        if memory.source is not None:
            yield memory.source
