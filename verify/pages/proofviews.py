"""What a revision does to everything that is proved, as a page shows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.verify.pages.runviews import RunView, run_view, story_of
from breadproof.verify.pages.signs import Sign, Tone, sign_of
from breadproof.verify.pages.template import Names
from breadproof.verify.report.words import count
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.verdicts import Row
from breadproof.verify.revisions.words import EFFECTS

RUNS = 10
"""So many runs of what got worse are drawn."""
_TONES: dict[str, Tone] = {"worse": "bad", "open": "open", "better": "good"}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """A result on both boards; ``old`` and ``new`` are None where it is not asked."""

    name: str
    says: str
    old: Sign | None
    new: Sign | None
    effect: str
    tone: Tone
    because: str
    run: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofView:
    """``told`` are the rows that changed, ``same`` the others."""

    told: tuple[RowView, ...]
    same: tuple[RowView, ...]
    runs: tuple[RunView, ...]
    counted: str


def proof_view(compared: Compared, names: Names) -> ProofView | None:
    """The view of all that was proved; None if nothing was."""
    if compared.proved is None:
        return None
    rows = compared.proved.rows
    runs = {row.new_name: run for row, run in _runs(compared, names)}
    told = [
        _row(row, names.of(row.new_name) if row.new_name in runs else "")
        for effect in EFFECTS
        for row in rows
        if row.effect == effect != "unchanged"
    ]
    same = [_row(row, "") for row in rows if row.effect == "unchanged"]
    numbers = (
        (sum(row.effect == effect for row in rows), word) for effect, word in EFFECTS.items()
    )
    return ProofView(
        told=tuple(told),
        same=tuple(same),
        runs=tuple(runs.values()),
        counted=", ".join(f"{number} {word}" for number, word in numbers if number),
    )


def _row(row: Row, run: str) -> RowView:
    name = row.new_name or row.old_name
    if row.old_name and row.new_name and row.old_name != row.new_name:
        name = f"{row.old_name}, now {row.new_name}"
    steps = ""
    if row.result is not None and row.result.trace is not None and row.effect == "worse":
        steps = f"{count(len(row.result.trace.steps) - 1, 'step')} after power-up"
    return RowView(
        name=name,
        says=row.says,
        old=sign_of(row.old) if row.old else None,
        new=sign_of(row.new) if row.new else None,
        effect=EFFECTS[row.effect],
        tone=_TONES.get(row.effect, "told"),
        because=row.because if row.effect == "open" else steps,
        run=run,
    )


def _runs(compared: Compared, names: Names) -> Iterator[tuple[Row, RunView]]:
    """The runs of the new board on which something got worse."""
    assert compared.proved is not None, "something was proved"
    machine = compared.proved.machines[1]
    worse = [row for row in compared.proved.rows if row.effect == "worse"]
    shown = 0
    for row in worse:
        result = row.result
        if result is None or result.trace is None or shown == RUNS:
            continue
        shown += 1
        story = story_of(machine, result, result.trace)
        yield row, run_view(story, result, result.trace, names.of(row.new_name), shown == 1)
