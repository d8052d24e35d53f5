"""The cone of a net as a circuit diagram, with levels at a moment of a run where there is one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from xml.etree.ElementTree import Element

from breadproof.specs.catalogue.part import Role
from breadproof.specs.netlist.model import Netlist, Pin
from breadproof.verify.pictures.colours import styled
from breadproof.verify.pictures.cone import Block, Cone, three_state
from breadproof.verify.pictures.coneplan import HEAD, STUB, ConePlan
from breadproof.verify.pictures.svg import (
    Point,
    as_file,
    drawing,
    element,
    points,
    rectangle,
    titled,
)
from breadproof.verify.pictures.symbols import symbol_of
from breadproof.verify.report.bill import detail
from breadproof.verify.report.replay import FIGHT, FLOAT, Replay
from breadproof.verify.report.words import count
from breadproof.verify.wiring.finding import called


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A round of a run; ``called`` is how it is told of: ``step 5.2``."""

    run: Replay
    at: int
    called: str


def cone_file(netlist: Netlist, cone: Cone, moment: Moment | None) -> str:
    """The picture as an SVG file."""
    drawn = ConePicture(netlist, cone, moment).draw()
    name = netlist.nets[cone.net].name
    when = f" in {moment.called}" if moment else ""
    sheet = files("breadproof.verify.pictures").joinpath("cone.css").read_text("utf-8")
    return as_file(drawn, styled(sheet), f"{netlist.board}: what decides {name}{when}")


class ConePicture:
    """A picture in the making."""

    def __init__(self, netlist: Netlist, cone: Cone, moment: Moment | None) -> None:
        """Plan it."""
        self.netlist = netlist
        self.cone = cone
        self.moment = moment
        self.plan = ConePlan(netlist, cone)

    def draw(self) -> Element:
        """The whole, with a line of words under it."""
        plan = self.plan
        words = list(self.words())
        height = plan.height + 20 * len(words)
        width = max([plan.width, *(len(text) * 6.4 + 32 for text in words)])
        return drawing(
            width,
            height,
            rectangle("c-paper", 0, 0, width, height),
            *self.lines(),
            *(piece for number in range(len(self.cone.blocks)) for piece in self.block(number)),
            *(
                element("text", class_="c-note", x=16, y=plan.height + 20 * k + 4, text=text)
                for k, text in enumerate(words)
            ),
        )

    def words(self) -> Iterator[str]:
        """What is to be known about the picture."""
        if self.moment:
            yield (
                f"Levels in {self.moment.called}: 1 high, 0 low, X two drive it, Z nobody does; "
                "high lines are thick."
            )
        if self.cone.left_out:
            yield f"Not followed further: {count(self.cone.left_out, 'net')}; see --depth."
        if not self.cone.blocks:
            yield "Nothing puts a level on this net."

    # levels -----------------------------------------------------------------------------------

    def level(self, net: int | None) -> str:
        """The level of a net at the moment, "" if there is none."""
        if self.moment is None or net is None:
            return ""
        return self.moment.run.net(net, self.moment.at)

    def kind(self, net: int | None) -> str:
        """The class of a line."""
        level = self.level(net)
        return f"c-line {_KINDS[level]}" if level else "c-line"

    def wire(self, net: int | None, *corners: Point) -> Element:
        """A line that belongs to a net."""
        name = self.plan.name(net) or "open"
        level = self.level(net)
        title = f"net {name}{f' = {level}' if level else ''}"
        return titled("path", title, class_=self.kind(net), d=points(*corners))

    def tag(self, net: int | None, x: float, y: float, anchor: str) -> Element:
        """A net's name, and its level."""
        name = self.plan.name(net) or "open"
        level = self.level(net)
        text = f"{name} = {level}" if level else name
        return element("text", class_="c-net", x=x, y=y, text_anchor=anchor, text=text)

    # pieces -----------------------------------------------------------------------------------

    def lines(self) -> Iterator[Element]:
        """What joins blocks, a dot where a line forks."""
        forks: dict[tuple[int, Point], int] = {}
        for line in self.plan.lines:
            (x, y), (to, down) = line.begin, line.end
            yield self.wire(line.net, (x, y), (line.track, y), (line.track, down), (to, down))
            key = (line.net, line.begin)
            forks[key] = forks.get(key, 0) + 1
        tracks = {(line.net, line.begin): line.track for line in self.plan.lines}
        for key, ends in forks.items():
            if ends > 1:
                yield element("circle", class_="c-dot", cx=tracks[key], cy=key[1][1], r=3)

    def block(self, number: int) -> Iterator[Element]:
        """A block with its pins."""
        block = self.cone.blocks[number]
        x, y = self.plan.corner[number]
        width, height = self.plan.wide(number), self.plan.size(number)
        if block.part is None:
            yield rectangle("c-source", x, y, width, height, 8)
            for place, text in enumerate(block.lines):
                low = y + height / 2 + 15 * (place - (len(block.lines) - 1) / 2) + 4
                middle = x + width / 2
                yield element("text", class_="c-word", x=middle, y=low, text=text)
            yield from self.outputs(number, block, False)
            return
        symbol, negated = symbol_of(block.part.type, block.outputs[0].name)
        name = f"{block.part.name} {detail(block.part)}"
        says = f"{name}: {block.part.type.title}"
        yield titled("rect", says, class_="c-block", x=x, y=y, width=width, height=height)
        yield element("text", class_="c-name", x=x + width / 2, y=y - 5, text=name)
        yield element("text", class_="c-symbol", x=x + width / 2, y=y + HEAD - 10, text=symbol)
        for place, pin in enumerate(block.inputs):
            yield from self.input(number, place, pin)
        yield from self.outputs(number, block, negated)

    def input(self, number: int, place: int, pin: Pin) -> Iterator[Element]:
        """An input: its number, its name, and a line or the name of its net."""
        x, y = self.plan.input(number, place)
        start = x
        if pin.name.endswith("_n"):
            start = x - 7
            yield element("circle", class_="c-ring", cx=x - 3.5, cy=y, r=3.5)
        if pin.role is Role.CLOCK:
            yield element("path", class_="c-edge", d=points((x, y - 5), (x + 8, y), (x, y + 5)))
        shift = 10 if pin.role is Role.CLOCK else 4
        yield element("text", class_="c-pin", x=x + shift, y=y + 3.5, text=_bare(pin.name))
        yield _number(pin, start - 3, y - 3, "c-number")
        if (number, place) not in self.plan.joined:
            yield self.wire(pin.net, (start - STUB + 6, y), (start, y))
            yield self.tag(pin.net, start - STUB + 2, y + 4, "end")

    def outputs(self, number: int, block: Block, negated: bool) -> Iterator[Element]:
        """The outputs: number, name, circle, and the name of the net."""
        for place, net in enumerate(block.nets):
            x, y = self.plan.output(number, place)
            pin = block.outputs[place] if block.part is not None else None
            low = negated or (pin is not None and pin.name.endswith("_n"))
            if low:
                yield element("circle", class_="c-ring", cx=x + 3.5, cy=y, r=3.5)
            start = x + 7 if low else x
            if pin is not None:
                sign = "\N{WHITE DOWN-POINTING TRIANGLE}" if three_state(pin) else ""
                text = f"{_bare(pin.name)} {sign}".strip()
                yield element("text", class_="c-pin c-right", x=x - 4, y=y + 3.5, text=text)
                yield _number(pin, start + 3, y - 3, "c-number c-left")
            end = start + 18
            yield self.wire(net, (start, y), (end, y))
            if (number, place) in self.plan.sources:
                yield self.tag(net, end - 2, y + 13, "start")
            else:
                yield self.tag(net, end + 3, y + 4, "start")


_KINDS = {"1": "c-high", "0": "c-low", FIGHT: "c-fight", FLOAT: "c-float"}


def _number(pin: Pin, x: float, y: float, kind: str) -> Element:
    """A pin's number, which tells the pin's name under the pointer."""
    title = element("title", text=called(pin))
    return element("text", title, class_=kind, x=x, y=y, text=pin.number)


def _bare(name: str) -> str:
    """A pin's name without the mark that the circle says."""
    return name.removesuffix("_n")
