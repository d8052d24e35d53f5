"""Waves as a page shows them: names that stand still, levels that scroll, strips for paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from markupsafe import Markup

from breadproof.verify.pictures.svg import as_text, drawing, element, number
from breadproof.verify.pictures.waves import LEAD, Waves

PAPER = 1000
"""A drawing wider than this is cut in strips on paper, where nothing scrolls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveView:
    """``strips`` is empty if all fits on paper; ``numbers`` are the marks that are drawn."""

    labels: Markup
    waves: Markup
    strips: Markup
    numbers: frozenset[int]


def wave_view(sketch: Waves, id_: str) -> WaveView:
    """The waves of a run that is called ``id_`` in the page."""
    inside = element("g", *sketch.waves(), id=f"waves-{id_}")
    names = element("g", *sketch.labels(), id=f"names-{id_}")
    labels = drawing(sketch.label_width, sketch.height, names)
    waves = drawing(sketch.wave_width, sketch.height, inside)
    for half, says in ((labels, "names of the signals"), (waves, "their levels, step by step")):
        half.set("role", "img")
        half.set("aria-label", says)
    numbers = frozenset(_named(waves, id_))
    strips = [as_text(strip) for strip in _strips(sketch, id_)]
    return WaveView(
        labels=Markup(as_text(labels)),
        waves=Markup(as_text(waves)),
        strips=Markup("\n".join(strips)),
        numbers=numbers,
    )


def mark_id(id_: str, number: int) -> str:
    """The name of a number in the waves of a run."""
    return f"mark-{id_}-{number}"


def _named(waves: Element, id_: str) -> Iterator[int]:
    """Give each number in the waves its name in the page."""
    for one in waves.iter():
        number = one.get("data-number")
        if number is not None:
            del one.attrib["data-number"]
            one.set("id", mark_id(id_, int(number)))
            yield int(number)


def _strips(sketch: Waves, id_: str) -> Iterator[Element]:
    """The drawing again, cut after as many columns as a page has room for."""
    if sketch.label_width + sketch.wave_width <= PAPER:
        return
    count = len(sketch.picture.rounds)
    many = max(2, int((PAPER - sketch.label_width - LEAD) // sketch.column))
    for first in range(0, count, many):
        start = 0.0 if first == 0 else sketch.x(first)
        end = sketch.wave_width if first + many >= count else sketch.x(first + many)
        window = element(
            "svg",
            element("use", href=f"#waves-{id_}"),
            x=sketch.label_width,
            width=end - start,
            height=sketch.height,
            viewBox=f"{number(start)} 0 {number(end - start)} {number(sketch.height)}",
        )
        names = element("use", href=f"#names-{id_}")
        yield drawing(PAPER, sketch.height, names, window)
