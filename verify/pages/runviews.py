"""Runs as a page shows them: steps in words, waves, chains with the numbers of the waves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from markupsafe import Markup

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.pages.signs import Tone, sign_of
from breadproof.verify.pictures.storywaves import marks_once, story_marks
from breadproof.verify.pictures.svg import as_text, drawing
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
    labels: Markup
    waves: Markup
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
    labels, waves, drawn = _drawn(picture, marks_once(marks), id_)
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
        labels=labels,
        waves=waves,
        legend=_legend(picture),
        chains=tuple(
            tuple(_links(chain, spots, drawn, id_))
            for chain, spots in zip(words.chains, marks, strict=True)
        ),
        loose=words.loose,
        cause=words.cause,
        probes=tuple((label, _arrows(pins)) for label, pins in words.probes),
    )


def _drawn(
    picture: Diagram, marks: tuple[Mark, ...], id_: str
) -> tuple[Markup, Markup, frozenset[int]]:
    """The labels, the waves, and the numbers that are in them."""
    sketch = Waves(picture, marks)
    labels = drawing(sketch.label_width, sketch.height, *sketch.labels())
    waves = drawing(sketch.wave_width, sketch.height, *sketch.waves())
    for half, says in ((labels, "names of the signals"), (waves, "their levels, step by step")):
        half.set("role", "img")
        half.set("aria-label", says)
    found = frozenset(_named(waves, id_))
    return Markup(as_text(labels)), Markup(as_text(waves)), found


def _named(waves: Element, id_: str) -> Iterator[int]:
    """Give each number in the waves its name in the page."""
    for one in waves.iter():
        number = one.get("data-number")
        if number is not None:
            del one.attrib["data-number"]
            one.set("id", mark_id(id_, int(number)))
            yield int(number)


def mark_id(id_: str, number: int) -> str:
    """The name of a number in the waves of a run."""
    return f"mark-{id_}-{number}"


def _links(
    chain: tuple[LinkWords, ...], marks: tuple[Mark, ...], drawn: frozenset[int], id_: str
) -> Iterator[LinkView]:
    for link, mark in zip(chain, marks, strict=True):
        yield LinkView(
            number=mark.number,
            mark=mark_id(id_, mark.number) if mark.number in drawn else "",
            at=link.at,
            via=_arrows(link.via),
            what=_arrows(link.what),
        )


def _arrows(text: str) -> str:
    return text.replace(" -> ", " \N{RIGHTWARDS ARROW} ")


def _legend(picture: Diagram) -> str:
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
    return f"{'; '.join(words)}." if words else ""


_SIGNS = {
    FIGHT: "A zigzag, or a digit X: two drive it",
    FLOAT: "dashes, or a digit Z: nobody drives it",
    DONT_CARE: "dots: does not matter",
}
