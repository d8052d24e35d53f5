"""The part of a board file that says which EDIF file its parts and nets are in."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near

EDIF_KEYS = ("file", "mapping", "design", "supplies")
_HINT = "Write 'edif: {file: store.edf, mapping: map.yaml, supplies: {VCC: +5V, GND: GND}}'."


@dataclass(frozen=True, slots=True, kw_only=True)
class EdifEntry:
    """``supplies`` are rails of the board file with the nets of the drawing that are them."""

    file: Text
    mapping: Text | None = None
    design: Text | None = None
    supplies: tuple[tuple[Text, tuple[Text, ...]], ...] = ()


def read_edif_key(tree: Tree | None, problems: Problems) -> EdifEntry | None:
    """``edif: {file: store.edf, mapping: map.yaml, design: main, supplies: {VCC: +5V}}``."""
    if tree is None:
        return None
    if isinstance(tree, Text) and tree.value:
        return EdifEntry(file=tree)
    if not isinstance(tree, Table):
        problems.error("board-shape", "'edif' names a file", tree.span, hint=_HINT)
        return None
    found: dict[str, Text] = {}
    for key, value in tree:
        if key.value not in EDIF_KEYS:
            problems.error(
                "key-unknown",
                f"'edif' has no '{key.value}'",
                key.span,
                hint=near(key.value, EDIF_KEYS) or f"It has {', '.join(EDIF_KEYS)}.",
            )
        elif key.value != "supplies":
            if isinstance(value, Text) and value.value:
                found[key.value] = value
            else:
                problems.error("board-shape", f"'{key.value}' is one value", value.span, hint=_HINT)
    if "file" not in found:
        if tree.get("file") is None:
            problems.error("board-shape", "'edif' names no file", tree.span, hint=_HINT)
        return None
    return EdifEntry(
        file=found["file"],
        mapping=found.get("mapping"),
        design=found.get("design"),
        supplies=_supplies(tree.get("supplies"), problems),
    )


def _supplies(tree: Tree | None, problems: Problems) -> tuple[tuple[Text, tuple[Text, ...]], ...]:
    if tree is None:
        return ()
    found: list[tuple[Text, tuple[Text, ...]]] = []
    wrong: Span | None = None if isinstance(tree, Table) else tree.span
    for rail, value in tree if isinstance(tree, Table) else ():
        items = value.items if isinstance(value, Rows) else (value,)
        nets = tuple(item for item in items if isinstance(item, Text) and item.value)
        if nets and len(nets) == len(items):
            found.append((rail, nets))
        else:
            wrong = value.span
    if wrong is not None:
        problems.error(
            "board-shape",
            "'supplies' says which net of the drawing each supply is",
            wrong,
            hint="Write 'supplies: {VCC: +5V, GND: [GND, 0V]}'.",
        )
    return tuple(found)
