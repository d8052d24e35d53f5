"""The causal chains of a story as numbered marks in its diagram."""

from __future__ import annotations

from breadproof.verify.pictures.waves import Mark
from breadproof.verify.report.chain import Spot
from breadproof.verify.report.culprits import Story
from breadproof.verify.report.timing import Diagram


def story_marks(story: Story, picture: Diagram) -> tuple[tuple[Mark, ...], ...]:
    """For each chain of the story its marks, a link a mark; chains share what they share.

    Numbers begin at 1. A mark whose row is not drawn has the row "".
    """
    rows = {net: row.label for row in picture.rows for net in row.nets}
    known: dict[Spot, int] = {}
    chains: list[tuple[Mark, ...]] = []
    for chain in story.chains:
        marks: list[Mark] = []
        for link in chain:
            spot = known.setdefault(link.spot, len(known) + 1)
            marks.append(
                Mark(
                    number=spot,
                    row=rows.get(link.spot.net, ""),
                    at=link.spot.at,
                    source=known.get(link.source, 0) if link.source is not None else 0,
                    start=link.start if link.kind == "control" else "",
                )
            )
        chains.append(tuple(marks))
    return tuple(chains)


def marks_once(chains: tuple[tuple[Mark, ...], ...]) -> tuple[Mark, ...]:
    """All marks, each number once, in the order of numbers; more than one cause is kept."""
    seen: dict[tuple[int, int, str], Mark] = {}
    for chain in chains:
        for mark in chain:
            seen.setdefault((mark.number, mark.source, mark.start), mark)
    return tuple(sorted(seen.values(), key=lambda mark: (mark.number, mark.source)))
