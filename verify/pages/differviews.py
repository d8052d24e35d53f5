"""The run that tells two revisions apart, as a page shows it."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.netlist.model import Netlist
from breadproof.verify.pages.runviews import LinkView, legend, link_views
from breadproof.verify.pages.waveviews import WaveView, wave_view
from breadproof.verify.pictures.waves import Waves
from breadproof.verify.report.storywords import LinkWords, Said, told
from breadproof.verify.report.timing import diagram
from breadproof.verify.report.words import pin_called
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.matching import net_called
from breadproof.verify.revisions.pairdiagram import pair_diagram
from breadproof.verify.revisions.spread import Passed
from breadproof.verify.revisions.words import LEVELS

ID = "apart"
"""What the run is called in the page."""
APART = (
    "Do the same on both boards. Where both go alike there is one row; where they part, the old "
    "board is above and the new one below, and the levels that differ are shaded and underlined."
)
LATER = (
    "Do the same on both boards. The new one is to be later: what is shaded and underlined was to "
    "be alike, {old} of the old board and step {new} of the new one."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferView:
    """``says`` tells how to read it, ``way`` is how the difference spreads from the first pin to
    what is seen."""

    says: str
    steps: tuple[Said, ...]
    drawn: WaveView
    legend: str
    way: tuple[LinkView, ...]


def differ_view(compared: Compared) -> DifferView | None:
    """The view of the difference; None if there is none."""
    found = None if compared.answered is None else compared.answered.difference
    if found is None or compared.runs is None:
        return None
    pair = pair_diagram(compared, found)
    marks = pair.marks
    shown = compared.shown
    tip = "first difference" if shown is None else "not alike"
    sketch = Waves(pair.picture, marks, shaded=pair.different, says=tip)
    drawn = wave_view(sketch, ID)
    story = pair.stories[0]
    says = APART
    if shown is not None:
        says = LATER.format(old=f"step {shown.old}" if shown.old else "the start", new=shown.new)
    return DifferView(
        says=says,
        steps=told(story, found.old, diagram(story)).steps,
        drawn=drawn,
        legend=legend(pair.picture),
        way=tuple(
            link_views(tuple(_words(compared.old, one) for one in pair.way), marks, drawn, ID)
        ),
    )


def _words(board: Netlist, one: Passed) -> LinkWords:
    """A net on the way, in words."""
    step, number = one.at
    first, second = (LEVELS[level] for level in one.levels)
    name = net_called(board.nets[one.net])
    pins = [pin_called(board, pin) for pin in (one.into, one.out) if pin]
    return LinkWords(
        at=f"{step}.{number + 1}" if step else "start",
        via=" -> ".join(pins) or "here it begins",
        what=f"{name} is {first} on the old board, {second} on the new one",
    )
