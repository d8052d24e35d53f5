"""Formulas of part types that are made in code, not read from a part file."""

from __future__ import annotations

from breadproof.specs.catalogue.part import Formula
from breadproof.specs.formula.parse import parse
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Text


def formula(text: str, where: str, shown: str = "") -> Formula:
    """The formula of a text; ``where`` is the file of code it stands in, ``shown`` is how listings
    write it if not as it is."""
    span = Span(file=where, line=1, column=1)
    expr = parse(Text(value=text, span=span))
    return Formula(expr=expr, text=Text(value=shown or text, span=span))
