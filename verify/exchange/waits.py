"""Names of what strong operators and assumptions wait for, each of which may wait for several."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TypeVar

from breadproof.verify.prove.system import Goal

G = TypeVar("G", bound=Goal)


def numbered(goals: Iterable[G]) -> list[tuple[str, G]]:
    """``NAME waits K`` for each, K from 1."""
    count: Counter[str] = Counter()
    found: list[tuple[str, G]] = []
    for goal in goals:
        count[goal.name] += 1
        found.append((f"{goal.name} waits {count[goal.name]}", goal))
    return found
