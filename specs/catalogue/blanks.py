"""Blanks of a part file that was begun and is still to be filled in."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree

BLANK = "___"
"""What stands where something is to be filled in, as on a form."""


@dataclass(slots=True)
class _Open:
    """The blanks below one key of the file: their names, and the place of the first."""

    span: Span
    names: list[str] = field(default_factory=list)


def note_blanks(table: Table, problems: Problems) -> None:
    """Say what is still to be filled in, once for each part of the file."""
    top: dict[str, Span] = {}
    for key, body in table:
        found = _below(key.value, body)
        if found is None:
            continue
        if set(found.names) == {key.value}:
            top[key.value] = found.span
        else:
            _say(f"'{key.value}': {_short(found.names)}", found.span, problems)
    if top:
        _say(", ".join(f"'{name}'" for name in top), next(iter(top.values())), problems)


def _say(what: str, span: Span, problems: Problems) -> None:
    problems.error(
        "part-blank",
        f"still to be filled in: {what}",
        span,
        hint=f"Write in place of {BLANK}; the comments in the file say what.",
    )


def _below(key: str, body: Tree) -> _Open | None:
    """The blanks of one key, each by the key or the number of the entry it stands in."""
    found: _Open | None = None
    stack: list[tuple[str, Tree]] = [(key, body)]
    while stack:
        name, tree = stack.pop()
        match tree:
            case Text():
                if BLANK in tree.value.split() or name == BLANK:
                    found = found or _Open(tree.span)
                    found.names.append(name)
            case Rows():
                stack += [(name, item) for item in reversed(tree.items)]
            case Table():
                stack += [(k.value, item) for k, item in reversed(tree.entries)]
    return found


def _short(names: list[str]) -> str:
    """The names, neighbouring numbers as a range: ``1 to 7, 9``."""
    found: list[list[str]] = []
    for name in dict.fromkeys("an entry" if name == BLANK else name for name in names):
        before = found[-1] if found else []
        numbers = before and name.isdecimal() and before[-1].isdecimal()
        if numbers and int(name) == int(before[-1]) + 1:
            before.append(name)
        else:
            found.append([name])
    return ", ".join(
        f"{group[0]} to {group[-1]}" if len(group) > 2 else ", ".join(group) for group in found
    )
