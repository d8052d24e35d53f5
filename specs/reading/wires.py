"""The part of a board file that says which holes are wired: breadboards, wires, names of places."""

from __future__ import annotations

import re
from dataclasses import dataclass

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near

_TO = re.compile(r"(?P<first>\S+)(?P<gap>\s+to\s+)(?P<second>\S+)\Z")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\Z")
BREADBOARD_KEYS = ("tie-points", "rails")
RAILS = ("split", "whole")
WIRE_KEYS = ("from", "to", "colour")
FORMS = {
    "wires": "Write 'b1.a12 to b1.j30', or {from: b1.a12, to: b1.j30, colour: red}.",
    "joins": "Write 'store.bus[7:0] to sequencer.bus[7:0]'.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BreadboardEntry:
    """A breadboard as the file gives it."""

    name: Text
    tie_points: Text
    rails: Text | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WireEntry:
    """A wire between two ends: holes, rails, pins or nets, not looked up yet."""

    ends: tuple[Text, Text]
    colour: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class NameEntry:
    """A name for the net at a place."""

    name: Text
    place: Text


def read_breadboards(tree: Tree | None, problems: Problems) -> tuple[BreadboardEntry, ...]:
    """``breadboards: {b1: {tie-points: 830}, b2: {tie-points: 400, rails: split}}``."""
    hint = "Write 'breadboards: {b1: {tie-points: 830}}'."
    if tree is not None and not isinstance(tree, Table):
        problems.error("board-shape", "'breadboards' is a table of names", tree.span, hint=hint)
        return ()
    found: list[BreadboardEntry] = []
    for name, body in tree or ():
        if not _NAME.match(name.value):
            problems.error(
                "name-malformed",
                f"'{name.value}' is no name for a breadboard",
                name.span,
                hint="Letters, digits and _, a letter first, such as b1.",
            )
            continue
        points = body.get("tie-points") if isinstance(body, Table) else None
        rails = body.get("rails") if isinstance(body, Table) else None
        if not isinstance(body, Table) or not isinstance(points, Text):
            problems.error(
                "board-shape",
                f"'{name.value}' does not say how many tie points it has",
                body.span if not isinstance(body, Text) else name.span,
                hint=hint,
            )
            continue
        for key, value in body:
            if key.value not in BREADBOARD_KEYS:
                problems.error(
                    "key-unknown",
                    f"a breadboard has no '{key.value}'",
                    key.span,
                    hint=near(key.value, BREADBOARD_KEYS) or "It has tie-points and rails.",
                )
            elif key.value == "rails" and not (isinstance(value, Text) and value.value in RAILS):
                problems.error(
                    "board-shape",
                    "rails are split or whole",
                    value.span,
                    hint="Write 'rails: split' if they are broken in the middle.",
                )
        found.append(
            BreadboardEntry(
                name=name, tie_points=points, rails=rails if isinstance(rails, Text) else None
            )
        )
    return tuple(found)


def read_wires(tree: Tree | None, problems: Problems, key: str = "wires") -> tuple[WireEntry, ...]:
    """A list of wires (or of joins); a text is the name of a file and read elsewhere."""
    if tree is None or (isinstance(tree, Text) and tree.value):
        return ()
    if not isinstance(tree, Rows):
        if not (isinstance(tree, Text) and not tree.value):
            problems.error("board-shape", f"'{key}' is a list", tree.span, hint=FORMS[key])
        return ()
    found = (_wire(item, problems, key) for item in tree.items)
    return tuple(wire for wire in found if wire is not None)


def _wire(item: Tree, problems: Problems, key: str) -> WireEntry | None:
    if isinstance(item, Text):
        text = item.value.strip()
        match = _TO.match(text)
        if match is not None:
            lead = len(item.value) - len(item.value.lstrip())
            ends = tuple(
                Text(
                    value=match[end],
                    span=item.at(lead + match.start(end), len(match[end])),
                )
                for end in ("first", "second")
            )
            return WireEntry(ends=(ends[0], ends[1]), colour="", span=item.span)
    if isinstance(item, Table):
        ends_found = [item.get(key) for key in ("from", "to")]
        colour = item.get("colour")
        strange = [name for name, _ in item if name.value not in WIRE_KEYS]
        for name in strange:
            problems.error(
                "key-unknown",
                f"a wire has no '{name.value}'",
                name.span,
                hint=near(name.value, WIRE_KEYS) or "It has from, to and colour.",
            )
        first, second = ends_found
        if isinstance(first, Text) and isinstance(second, Text) and first.value and second.value:
            return WireEntry(
                ends=(first, second),
                colour=colour.value if isinstance(colour, Text) else "",
                span=first.span,
            )
        if strange:
            return None
    what = key.removesuffix("s")
    problems.error("wire-malformed", f"this is no {what}", item.span, hint=FORMS[key])
    return None


def read_names(tree: Tree | None, problems: Problems) -> tuple[NameEntry, ...]:
    """``names: {sel: U1.1}``."""
    if tree is not None and not isinstance(tree, Table):
        problems.error(
            "board-shape", "'names' is a table of names", tree.span, hint="Write '{sel: U1.1}'."
        )
        return ()
    found: list[NameEntry] = []
    for name, place in tree or ():
        if not _NAME.match(name.value):
            problems.error(
                "name-malformed",
                f"'{name.value}' is no name for a net",
                name.span,
                hint="Letters, digits and _, a letter first.",
            )
        elif not isinstance(place, Text) or not place.value:
            problems.error(
                "board-shape",
                f"'{name.value}' names one place",
                place.span,
                hint="Write a pin or a hole: 'sel: U1.1'.",
            )
        else:
            found.append(NameEntry(name=name, place=place))
    return tuple(found)
