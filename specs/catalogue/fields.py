"""Reading the mappings of a part file: known keys only, texts, and formulas.

What cannot be read is noted in a `Problems`, and reading goes on, so that one run tells all.
"""

from __future__ import annotations

from breadproof.specs.catalogue.part import Formula
from breadproof.specs.formula.parse import parse
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near


def table_of(tree: Tree, what: str, known: tuple[str, ...], problems: Problems) -> Table | None:
    """A mapping, its keys checked against ``known`` (any key where that is empty)."""
    if not isinstance(tree, Table):
        problems.error(
            "part-field", f"{what} is to be a mapping", tree.span, hint="Write NAME: VALUE lines."
        )
        return None
    for key, _ in tree:
        if known and key.value not in known:
            problems.error(
                "part-key",
                f"{what} has no entry '{key.value}'",
                key.span,
                hint=near(key.value, known) or f"It may have: {', '.join(known)}.",
            )
    return tree


def text_of(table: Table, key: str, what: str, problems: Problems) -> Text | None:
    """The required text under a key; None, and noted, if it is missing, empty or no text."""
    found = table.get(key)
    if found is None:
        problems.error(
            "part-field", f"{what} has no '{key}'", table.span, hint=f"Write '{key}: …'."
        )
        return None
    if not isinstance(found, Text) or not found.value.strip():
        problems.error("part-field", f"'{key}' is to be a text", found.span, hint="Write one line.")
        return None
    return found


def texts_of(tree: Tree, what: str, problems: Problems) -> tuple[Text, ...]:
    """A list of texts; anything else is noted and left out."""
    if not isinstance(tree, Rows):
        problems.error("part-field", f"{what} is to be a list", tree.span, hint="Write [A, B].")
        return ()
    good = []
    for item in tree.items:
        if isinstance(item, Text) and item.value.strip():
            good.append(item)
        else:
            problems.error(
                "part-field",
                f"an entry of {what} is to be a text",
                item.span,
                hint="Write one line; put it in quotes if it holds : or #.",
            )
    return tuple(good)


def formula_of(tree: Tree, what: str, problems: Problems) -> Formula | None:
    """A parsed formula, or None, and noted."""
    if not isinstance(tree, Text):
        problems.error(
            "part-field",
            f"{what} is to be a formula",
            tree.span,
            hint="If it begins with ! { [ & or *, put it in quotes.",
        )
        return None
    try:
        return Formula(expr=parse(tree), text=tree)
    except BadInput as bad:
        problems.take(bad)
        return None


def formula_under(table: Table, key: str, what: str, problems: Problems) -> Formula | None:
    """The required formula under a key, or None, and noted."""
    tree = table.get(key)
    if tree is None:
        problems.error(
            "part-field", f"{what} has no '{key}'", table.span, hint=f"Write '{key}: FORMULA'."
        )
        return None
    return formula_of(tree, f"'{key}' of {what}", problems)


def formula_if(table: Table, key: str, what: str, problems: Problems) -> Formula | None:
    """The formula under a key that may be left out."""
    tree = table.get(key)
    return None if tree is None else formula_of(tree, f"'{key}' of {what}", problems)
