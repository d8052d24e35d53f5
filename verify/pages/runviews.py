"""Runs as a page shows them: steps in words, waves, chains with the numbers of the waves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.pages.signs import Tone, sign_of
from breadproof.verify.pages.waveviews import WaveView, mark_id, wave_view
from breadproof.verify.pictures.storywaves import marks_once, story_marks
from breadproof.verify.pictures.waves import Mark, Waves
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.culprits import Story, tell
from breadproof.verify.report.replay import DONT_CARE, FIGHT, FLOAT, replay
from breadproof.verify.report.resultwords import run_ends
from breadproof.verify.report.storywords import LinkWords, Said, told
from breadproof.verify.report.timing import Diagram, diagram


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkView:
    """A link of a chain; ``mark`` is the name of its number in the waves, "" if not drawn."""

    number: int
    mark: str
    at: str
    via: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """A run; ``unfolded``: it is what the reader looks for."""

    id: str
    name: str
    sign: str
    tone: Tone
    ends: str
    says: str
    unfolded: bool
    steps: tuple[Said, ...]
    drawn: WaveView
    legend: str
    chains: tuple[tuple[LinkView, ...], ...]
    loose: tuple[Said, ...]
    cause: str
    probes: tuple[Said, ...]


def story_of(machine: Machine, result: Result, trace: Trace) -> Story:
    """The story of a result's run."""
    return tell(result, replay(machine, trace))


def run_view(story: Story, result: Result, trace: Trace, id_: str, unfolded: bool) -> RunView:
    """The view of a result's run; ``id_`` is its name in the page."""
    picture = diagram(story)
    words = told(story, trace, picture)
    marks = story_marks(story, picture)
    drawn = wave_view(Waves(picture, marks_once(marks)), id_)
    sign = sign_of(result.verdict)
    return RunView(
        id=id_,
        name=result.name,
        sign=sign.sign,
        tone=sign.tone,
        ends=run_ends(result.kind, trace),
        says=result.says,
        unfolded=unfolded or failing(result),
        steps=words.steps,
        drawn=drawn,
        legend=legend(picture),
        chains=tuple(
            tuple(link_views(chain, spots, drawn, id_))
            for chain, spots in zip(words.chains, marks, strict=True)
        ),
        loose=words.loose,
        cause=words.cause,
        probes=tuple((label, _arrows(pins)) for label, pins in words.probes),
    )


def link_views(
    chain: tuple[LinkWords, ...], marks: tuple[Mark, ...], drawn: WaveView, id_: str
) -> Iterator[LinkView]:
    """A chain as a page shows it, beside the waves of the run ``id_`` that have its marks."""
    for link, mark in zip(chain, marks, strict=True):
        yield LinkView(
            number=mark.number,
            mark=mark_id(id_, mark.number) if mark.number in drawn.numbers else "",
            at=link.at,
            via=_arrows(link.via),
            what=_arrows(link.what),
        )


def _arrows(text: str) -> str:
    return text.replace(" -> ", " \N{RIGHTWARDS ARROW} ")


def legend(picture: Diagram) -> str:
    """The signs that occur, in words, and what is left out."""
    shown = {
        sign
        for row in picture.rows
        for at in picture.rounds
        for sign in (FIGHT, FLOAT, DONT_CARE)
        if row.values[at] == sign or (sign in row.values[at] and row.nets)
    }
    words = [text for sign, text in _SIGNS.items() if sign in shown]
    if picture.left_out:
        words.append(f"{picture.left_out} more rows are in the trace (--json, --trace-dir)")
    text = "; ".join(words)
    return f"{text[:1].upper()}{text[1:]}." if words else ""


_SIGNS = {
    FIGHT: "a zigzag, or a digit X: two drive it",
    FLOAT: "dashes, or a digit Z: nobody drives it",
    DONT_CARE: "dots: does not matter",
}
