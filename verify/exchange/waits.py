"""Names of what strong operators and assumptions wait for, each of which may wait for several."""

from __future__ import annotations

from collections import Counter

from breadproof.verify.prove.system import Goal, System


def numbered(system: System) -> list[tuple[str, Goal, str]]:
    """(``NAME waits K``, the goal, what it says), formulas first, then assumptions."""
    count: Counter[str] = Counter()
    found: list[tuple[str, Goal, str]] = []
    for waiting in system.waiting:
        count[waiting.name] += 1
        said = f"{waiting.name} waits for {waiting.text}: never for ever"
        found.append((f"{waiting.name} waits {count[waiting.name]}", waiting, said))
    for fair in system.fair:
        count[fair.name] += 1
        said = f"assumption {fair.name} waits: never for ever in a run that counts"
        found.append((f"{fair.name} waits {count[fair.name]}", fair, said))
    return found
