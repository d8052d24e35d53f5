"""What a board file says of how its controls move: together, bouncing, and for a reset."""

from __future__ import annotations

from typing import Literal, cast

from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree

RESET_HINT = "Write 'reset: {press: CLEAR}'."


def read_resets(found: Tree | None, problems: Problems) -> tuple[tuple[Text, Text], ...]:
    """``{press: CLEAR, keeps: [U3, U4]}``: several values of a key are an entry each."""
    if not isinstance(found, Table):
        if found is not None and not (isinstance(found, Text) and not found.value):
            problems.error(
                "board-shape", "'reset' is a table of names", found.span, hint=RESET_HINT
            )
        return ()
    entries: list[tuple[Text, Text]] = []
    for name, value in found:
        for item in value.items if isinstance(value, Rows) else (value,):
            if isinstance(item, Text):
                entries.append((name, item))
            else:
                message = f"'{name.value}' is a name or a list of names"
                problems.error("board-shape", message, item.span, hint=RESET_HINT)
    return tuple(entries)


def read_together(
    found: Tree | None, problems: Problems
) -> tuple[tuple[Text, ...], ...] | Literal["all"]:
    """``[[clk, data]]``, or ``all``."""
    if found is None:
        return ()
    if isinstance(found, Text) and found.value == "all":
        return "all"
    groups: list[tuple[Text, ...]] = []
    for item in found.items if isinstance(found, Rows) else (found,):
        texts = item.items if isinstance(item, Rows) else ()
        if texts and all(isinstance(text, Text) for text in texts):
            groups.append(cast(tuple[Text, ...], texts))
        else:
            problems.error(
                "board-shape",
                "'together' is a list of lists of controls, or 'all'",
                item.span,
                hint="Write 'together: [[clk, data]]'.",
            )
    return tuple(groups)


def read_bounces(found: Tree | None, problems: Problems) -> tuple[Text, ...]:
    """``[STORE, MODE]``, or one name alone."""
    if found is None:
        return ()
    names: list[Text] = []
    for item in found.items if isinstance(found, Rows) else (found,):
        if isinstance(item, Text) and item.value:
            names.append(item)
        else:
            problems.error(
                "board-shape",
                "'bounces' is a list of buttons and switches",
                item.span,
                hint="Write 'bounces: [STORE, MODE]'.",
            )
    return tuple(names)
