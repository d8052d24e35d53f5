"""A timing diagram as a drawing: a column a step (a round where it matters), a row a signal."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.etree.ElementTree import Element

from breadproof.verify.pictures.colours import styled
from breadproof.verify.pictures.svg import Point, as_file, drawing, element, number, points, titled
from breadproof.verify.report.replay import DONT_CARE, FIGHT, FLOAT
from breadproof.verify.report.timing import Diagram, Row

HEAD, FOOT = 30, 26
ROW, WAVE = 30, 15
SLOPE = 6
LETTER = 7.3
"""Width of a character of the text of 12 pixels."""
NARROWEST = 52
LEAD, TAIL = 8, 34
"""Room at both ends, for the number of a mark and for a word."""

SHEET = """\
.w-text{font:12px ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,monospace;fill:$ink}
.w-paper{fill:$paper}
.w-head{fill:$soft}
.w-step{stroke:$line;stroke-width:1}
.w-round{stroke:$line;stroke-width:1;stroke-dasharray:2 4}
.w-band{fill:$faint}
.w-wrong{fill:$wrong}
.w-differs{fill:$wrong}
.w-under{stroke:$bad;stroke-width:2}
.w-says{fill:$bad;font-weight:bold}
.w-wave{fill:none;stroke:$wave;stroke-width:1.6;stroke-linejoin:round}
.w-word{fill:$word;stroke:$wave;stroke-width:1.2;stroke-linejoin:round}
.w-idle{fill:none;stroke:$soft;stroke-width:1.2;stroke-dasharray:1 3}
.w-float{fill:none;stroke:$open;stroke-width:1.8;stroke-dasharray:7 4}
.w-fight{fill:none;stroke:$bad;stroke-width:1.8}
.w-link{fill:none;stroke:$told;stroke-width:1.6}
.w-tip{fill:$told}
.w-spot{fill:$paper;stroke:$told;stroke-width:1.6}
.w-number{font:bold 9px 'DejaVu Sans',Helvetica,Arial,sans-serif;fill:$told;text-anchor:middle}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A numbered place in the diagram: something happens in a row (its label) at a round.

    ``source`` is the number of the mark that made it so; 0 for none, and then ``start`` may be the
    label of the row of a control that did.
    """

    number: int
    row: str
    at: int
    source: int = 0
    start: str = ""


def wave_file(picture: Diagram, title: str, marks: Sequence[Mark] = ()) -> str:
    """A diagram as an SVG file."""
    return wave_text(wave_drawing(picture, marks), title)


def wave_text(drawn: Element, title: str) -> str:
    """A drawing of waves as a file."""
    return as_file(drawn, styled(SHEET), title)


def wave_drawing(picture: Diagram, marks: Sequence[Mark] = ()) -> Element:
    """Labels and waves in one."""
    sketch = Waves(picture, marks)
    labels, waves = sketch.label_width, sketch.wave_width
    return drawing(
        labels + waves,
        sketch.height,
        element("rect", class_="w-paper", width=labels + waves, height=sketch.height),
        element("g", *sketch.labels()),
        element("g", *sketch.waves(), transform=f"translate({number(labels)} 0)"),
    )


class Waves:
    """The two halves of a diagram, for who wants to scroll one of them; heights are the same."""

    def __init__(
        self,
        picture: Diagram,
        marks: Sequence[Mark] = (),
        *,
        shaded: Collection[tuple[str, int]] = (),
        says: str = "here",
    ) -> None:
        """Measure it; ``marks`` that are in no row or column are left out.

        ``shaded`` are rows and columns to look at, ``says`` what is said of the wrong column.
        """
        self.picture = picture
        self.shaded = shaded
        self.says = says
        self.rows = {row.label: place for place, row in enumerate(picture.rows)}
        self.marks = [mark for mark in marks if mark.row in self.rows]
        longest = max((len(row.label) for row in picture.rows), default=0)
        self.label_width = max(longest, 4) * LETTER + 16
        widest = max(
            [len(title) * LETTER for title in picture.titles]
            + [
                len(row.values[at]) * LETTER + 16 * self.marked(row, place)
                for row in picture.rows
                if not row.wave
                for place, at in enumerate(picture.rounds)
            ]
            + [0]
        )
        self.column = max(NARROWEST, widest + 20)
        self.wave_width = LEAD + self.column * len(picture.rounds) + TAIL
        self.height = HEAD + ROW * len(picture.rows) + FOOT
        if picture.wrong in picture.rounds:
            middle = self.x(picture.rounds.index(picture.wrong)) + self.column / 2
            self.wave_width = max(self.wave_width, middle + (len(says) + 3) * LETTER)

    # where things are -------------------------------------------------------------------------

    def x(self, place: int) -> float:
        """The left end of a column."""
        return LEAD + self.column * place

    def y(self, row: int) -> float:
        """The middle of a row."""
        return HEAD + ROW * row + ROW / 2

    def place(self, at: int) -> int | None:
        """The column that shows a round: its own, or the next one that is drawn."""
        return next((k for k, shown in enumerate(self.picture.rounds) if shown >= at), None)

    # labels -----------------------------------------------------------------------------------

    def labels(self) -> Iterator[Element]:
        """The names of the rows."""
        yield element("text", class_="w-text w-head", x=8, y=19, text="step")
        for place, row in enumerate(self.picture.rows):
            yield element("text", class_="w-text", x=8, y=self.y(place) + 4, text=row.label)

    # waves ------------------------------------------------------------------------------------

    def waves(self) -> Iterator[Element]:
        """Everything beside the labels."""
        yield from self.grid()
        for place, row in enumerate(self.picture.rows):
            yield from self.levels(row, place) if row.wave else self.words(row, place)
        yield from self.links()

    def grid(self) -> Iterator[Element]:
        """The columns: bands, titles, lines between steps and rounds, and where it goes wrong."""
        bottom = self.height - FOOT
        steps = [title.partition(".")[0] for title in self.picture.titles]
        wrong = None
        if self.picture.wrong in self.picture.rounds:
            wrong = self.picture.rounds.index(self.picture.wrong)
        for place, title in enumerate(self.picture.titles):
            x, first = self.x(place), place == 0 or steps[place] != steps[place - 1]
            odd = list(dict.fromkeys(steps)).index(steps[place]) % 2
            bad = place == wrong and not self.shaded
            kind = "w-wrong" if bad else "w-band" if odd else ""
            if kind:
                high = bottom - HEAD + 6
                yield element("rect", class_=kind, x=x, y=HEAD - 6, width=self.column, height=high)
            line = points((x, HEAD - 6), (x, bottom))
            yield element("path", class_="w-step" if first else "w-round", d=line)
            yield element("text", class_="w-text w-head", x=x + 6, y=19, text=title)
        if wrong is not None:
            x = self.x(wrong) + self.column / 2
            tip = points((x - 6, bottom + 9), (x, bottom + 1), (x + 6, bottom + 9)) + "Z"
            yield element("path", class_="w-says", d=tip)
            anchor = "end" if wrong > len(steps) // 2 else "start"
            shift = -10 if anchor == "end" else 10
            yield element(
                "text",
                class_="w-text w-says",
                x=x + shift,
                y=bottom + 14,
                text_anchor=anchor,
                text=self.says,
            )
        yield from self.shades()

    def shades(self) -> Iterator[Element]:
        """The cells that are to be looked at, with a line under them: no colour stands alone."""
        for row, place in sorted(self.shaded, key=lambda one: (self.rows.get(one[0], -1), one[1])):
            if row in self.rows:
                x, y = self.x(place), self.y(self.rows[row])
                yield element(
                    "rect", class_="w-differs", x=x, y=y - ROW / 2 + 1, width=self.column,
                    height=ROW - 2,
                )  # fmt: skip
                line = points((x, y + ROW / 2 - 2), (x + self.column, y + ROW / 2 - 2))
                yield element("path", class_="w-under", d=line)

    def levels(self, row: Row, place: int) -> Iterator[Element]:
        """A row of one bit: stretches of high and low, and what is neither."""
        y = self.y(place)
        values = [row.values[at] for at in self.picture.rounds]
        before = ""
        start = 0
        for driven, members in groupby(values, key=lambda value: value in ("0", "1")):
            stretch = list(members)
            if driven:
                path = points(*self.driven(stretch, start, y, before))
                yield element("path", class_="w-wave", d=path)
            else:
                for shift, value in enumerate(stretch):
                    yield self.odd(value, start + shift, y)
            start += len(stretch)
            before = stretch[-1]

    def driven(self, values: list[str], start: int, y: float, before: str) -> Iterator[Point]:
        """The corners of a line that is high or low."""
        height = {"0": y + WAVE / 2, "1": y - WAVE / 2}
        yield self.x(start), height[values[0]] if before == "" else y
        last = before
        for shift, value in enumerate(values):
            x = self.x(start + shift)
            if last not in ("", value):
                yield x + SLOPE, height[value]
            yield x + self.column, height[value]
            last = value

    def odd(self, value: str, place: int, y: float) -> Element:
        """A column in which a net is fought over, floats or does not matter."""
        x, end = self.x(place), self.x(place + 1)
        if value == FIGHT:
            high, low = y - WAVE / 2, y + WAVE / 2
            steps = max(2, round(self.column / 12))
            corners = [
                (x + k * (end - x) / steps, low if k % 2 else high) for k in range(steps + 1)
            ]
            return titled("path", "fought over", class_="w-fight", d=points(*corners))
        says = "floats" if value == FLOAT else "does not matter"
        kind = "w-float" if value == FLOAT else "w-idle"
        return titled("path", says, class_=kind, d=points((x, y), (end, y)))

    def words(self, row: Row, place: int) -> Iterator[Element]:
        """A row of texts: a lozenge for each stretch of one value."""
        y, start = self.y(place), 0
        values = [row.values[at] for at in self.picture.rounds]
        for value, members in groupby(values):
            width = len(list(members))
            x, end = self.x(start), self.x(start + width)
            if set(value) <= {DONT_CARE}:
                line = points((x, y), (end, y))
                yield titled("path", "does not matter", class_="w-idle", d=line)
            else:
                high, low, slope = y - WAVE / 2 - 1, y + WAVE / 2 + 1, SLOPE / 2
                corners = [(x, y), (x + slope, high), (end - slope, high)]
                corners += [(end, y), (end - slope, low), (x + slope, low)]
                yield element("path", class_="w-word", d=points(*corners) + "Z")
                room = self.column * width - 2 * SLOPE
                shown = value if len(value) * LETTER <= room else value[: int(room / LETTER)]
                # Said again in long stretches, so that one of them is in sight when it scrolls.
                for again in range(start, start + width, 8):
                    x = self.x(again) + SLOPE + 3 + 16 * self.marked(row, again)
                    yield element("text", class_="w-text", x=x, y=y + 4, text=shown)
            start += width

    def marked(self, row: Row, place: int) -> int:
        """How many marks are at the beginning of a column."""
        return sum(one.row == row.label and self.place(one.at) == place for one in self.marks)

    # the chain --------------------------------------------------------------------------------

    def spot(self, mark: Mark) -> Point | None:
        """Where a mark is."""
        place = self.place(mark.at)
        if place is None:
            return None
        same = [
            other
            for other in self.marks
            if other.row == mark.row
            and other.number < mark.number
            and self.place(other.at) == place
        ]
        return self.x(place) + SLOPE / 2 + 16 * len(same), self.y(self.rows[mark.row])

    def links(self) -> Iterator[Element]:
        """Arrows from cause to effect, and the numbers on them."""
        spots = {mark.number: spot for mark in self.marks if (spot := self.spot(mark)) is not None}
        for mark in self.marks:
            end = spots.get(mark.number)
            begin = spots.get(mark.source)
            if begin is None and mark.start in self.rows and end is not None:
                begin = end[0], self.y(self.rows[mark.start]) + WAVE / 2 + 1
            if begin is not None and end is not None and begin != end:
                yield from _arrow(begin, end)
        for label, (x, y) in spots.items():
            yield element(
                "g",
                element("circle", class_="w-spot", cx=x, cy=y, r=7),
                element("text", class_="w-number", x=x, y=y + 3.3, text=str(label)),
                data_number=label,
            )


def _arrow(begin: Point, end: Point) -> Iterator[Element]:
    """A curve that leaves sideways and arrives from above or below, with a tip."""
    (x, y), (to, down) = begin, end
    sign = 1 if down > y else -1 if down < y else 0
    if sign == 0:
        path = f"M{number(x)} {number(y)}L{number(to - 9)} {number(down)}"
        tip = points((to - 15, down - 3.5), (to - 8, down), (to - 15, down + 3.5))
    else:
        stop = down - 8 * sign
        bow = max(16.0, (to - x) * 0.5) if to <= x + 20 else (to - x) * 0.9
        path = (
            f"M{number(x)} {number(y)}C{number(x + bow)} {number(y + 6 * sign)} "
            f"{number(to)} {number(stop - 18 * sign)} {number(to)} {number(stop)}"
        )
        tip = points((to - 3.5, stop - 6 * sign), (to, stop + sign), (to + 3.5, stop - 6 * sign))
    yield element("path", class_="w-link", d=path)
    yield element("path", class_="w-tip", d=tip + "Z")
