"""A board as it stands on the bench: breadboards, chips, wires, front panel, and what is marked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from xml.etree.ElementTree import Element

from breadproof.export.placement import placed
from breadproof.specs.netlist.model import Netlist, Part, Pin
from breadproof.specs.netlist.segments import shown
from breadproof.verify.pictures.breadboards import Plastic
from breadproof.verify.pictures.colours import styled
from breadproof.verify.pictures.scene import BOX_HEIGHT, MARGIN, PITCH, Box, Scene
from breadproof.verify.pictures.stickers import Kind, Sticker
from breadproof.verify.pictures.svg import (
    Point,
    as_file,
    drawing,
    element,
    number,
    points,
    rectangle,
    titled,
)
from breadproof.verify.pictures.wires import Wiring
from breadproof.verify.wiring.finding import called


def board_file(netlist: Netlist, stickers: Mapping[str, Sticker]) -> str:
    """The picture as an SVG file, with a script for who opens it in a browser."""
    picture = BoardPicture(netlist, stickers)
    drawn = picture.draw()
    drawn.append(element("script", text=board_script()))
    title = f"{netlist.board}: the board"
    return as_file(drawn, styled(board_sheet()), title, single=False)


def board_sheet() -> str:
    """The style sheet of such a picture, with the ``$names`` of colours."""
    return files("breadproof.verify.pictures").joinpath("board.css").read_text("utf-8")


def board_script() -> str:
    """The script that lights a net, and takes the arrow keys from pin to pin."""
    return files("breadproof.verify.pictures").joinpath("board.js").read_text("utf-8")


@dataclass(slots=True)
class BoardPicture:
    """A picture in the making.

    ``stickers`` go by the label of a pin or the name of a part. ``prefix`` begins the names of all
    that is named in the drawing, where a page has several. ``lit`` are the lamps that shine, None
    where nobody knows.
    """

    netlist: Netlist
    stickers: Mapping[str, Sticker]
    prefix: str = ""
    lit: frozenset[str] | None = None
    scene: Scene = field(init=False)
    own_places: bool = field(init=False)
    """Whether the board file says where things stand."""

    def __post_init__(self) -> None:
        """Place what stands nowhere."""
        self.own_places = bool(self.netlist.layout.boards)
        self.netlist = placed(self.netlist)
        self.scene = Scene(self.netlist)

    def draw(self) -> Element:
        """The whole."""
        scene = self.scene
        wiring = Wiring(self.netlist, scene, self.own_places)
        left, right = wiring.lanes.room(True), wiring.lanes.room(False)
        height = scene.stack(wiring.lanes.heights(), left)
        width = left + scene.width + right + 2 * MARGIN
        boards = self.netlist.layout.boards
        parts = [
            part for part in self.netlist.parts if any(p.label in scene.pins for p in part.pins)
        ]
        return drawing(
            width,
            height,
            rectangle("b-paper", 0, 0, width, height),
            *(one for board in boards for one in Plastic(scene, board).elements()),
            *wiring.elements(),
            *self.panel(),
            *(self.part(part) for part in parts),
            *wiring.signs(),
            *self.marks(),
        )

    # parts ------------------------------------------------------------------------------------

    def part(self, part: Part) -> Element:
        """A part, which the tabulator key reaches, and its pins, which the arrow keys do."""
        pins = [pin for pin in part.pins if pin.label in self.scene.pins]
        box = next((box for box in self.scene.boxes if box.part.name == part.name), None)
        body = self.body(part, pins) if box is None else self.box(box)
        says = f"{part.name}: {part.printed}, {part.type.title}" if part.type.title else part.name
        shows = self.shows(part)
        says = f"{says}, {shows}" if shows else says
        return titled(
            "g",
            says,
            *body,
            *(self.pin(pin) for pin in pins),
            class_="b-part",
            tabindex="0",
            role="group",
        )

    def shows(self, part: Part) -> str:
        """What is seen at a lamp, a bar of lamps or a display; "" where nobody knows."""
        if self.lit is None or part.device not in ("led", "led-bar", "display"):
            return ""
        if part.device == "led":
            return "lit" if part.name in self.lit else "dark"
        own = (name.partition("[") for name in self.lit if name.startswith(f"{part.name}["))
        lamps = [rest.removesuffix("]") for _, _, rest in own]
        if part.device == "display":
            return f"shows {shown(lamps)}"
        return f"lit: {' '.join(sorted(lamps, key=int)) or 'none'}"

    def shines(self, part: Part) -> str:
        """The class of a lamp that is lit."""
        return " b-shines" if self.lit is not None and part.name in self.lit else ""

    def box(self, box: Box) -> Iterator[Element]:
        """A part of the front panel."""
        x, y = self.scene.at(box.corner)
        yield rectangle(f"b-box{self.shines(box.part)}", x, y, box.width, BOX_HEIGHT, 6)
        yield self.words(box.part.name, x + box.width / 2, y + 37, "b-name")
        text = self.shows(box.part) or _short(box.part)
        yield self.words(text, x + box.width / 2, y + 49, "")
        for pin in box.part.pins:
            name = pin.name if len(pin.name) <= 2 else pin.number
            yield self.words(name, self.at(pin.label)[0], y + 23, "b-pin-name")

    def words(self, text: str, x: float, y: float, kind: str) -> Element:
        """A text in the middle of something."""
        return element("text", class_=f"b-text b-mid {kind}".strip(), x=x, y=y, text=text)

    def body(self, part: Part, pins: list[Pin]) -> Iterator[Element]:
        """A chip across the trench, or a small part over the columns."""
        places = [self.at(pin.label) for pin in pins]
        xs, ys = [x for x, _ in places], [y for _, y in places]
        left, right, top, bottom = min(xs), max(xs), min(ys), max(ys)
        middle = (left + right) / 2, (top + bottom) / 2
        if len(pins) > 3 and bottom - top > 2.5 * PITCH:
            x, y, width, height = left - 5, top + 5, right - left + 10, bottom - top - 10
            yield rectangle("b-chip", x, y, width, height, 2)
            first = places[0]
            notch = x if first[0] < middle[0] else x + width
            turn = 1 if notch == x else 0
            arc = f"M{number(notch)} {number(middle[1] - 4)}a4 4 0 0 {turn} 0 8Z"
            yield element("path", class_="b-trench", d=arc)
            room = width - 12
            label = f"{part.name} {self.shows(part) or part.printed}"
            label = label if len(label) * 6.1 <= room else part.name
            yield element(
                "text", class_="b-print b-mid", x=middle[0], y=middle[1] + 3.5, text=label
            )
            for pin, (px, py) in zip(pins, places, strict=True):
                py += 12 if py < middle[1] else -7.5
                yield element("text", class_="b-number b-mid", x=px, y=py, text=pin.number)
            return
        yield from self.small(part, places, middle)

    def small(self, part: Part, places: list[Point], middle: Point) -> Iterator[Element]:
        """A part whose legs are in a row, or a capacitor across two rails."""
        left, right = min(x for x, _ in places), max(x for x, _ in places)
        yield element("path", class_="b-lead", d=points(*places))
        long = right - left + 12 if len(places) > 2 else min(right - left, 26)
        width = max(10.0, long)
        kind = f"b-small{self.shines(part)}"
        yield rectangle(kind, middle[0] - width / 2, middle[1] - 4.5, width, 9, 3)
        if right - left >= 2 * PITCH:
            yield self.words(part.name, middle[0], middle[1] + 14, "b-halo")
        else:  # it stands across two rows: the name fits beside it
            yield element(
                "text", class_="b-text b-halo", x=middle[0] + 8, y=middle[1] + 3, text=part.name
            )

    def pin(self, pin: Pin) -> Element:
        """A pin with all that is to be said of it."""
        x, y = self.at(pin.label)
        sticker = self.stickers.get(pin.label)
        more = f". {sticker.text}" if sticker else ""
        return titled(
            "circle",
            f"{called(pin)}: {self.net_text(pin)}{more}",
            class_="b-pin",
            id=f"{self.prefix}pin-{pin.label}",
            cx=x,
            cy=y,
            r=3.6,
            tabindex="0" if sticker else "-1",
            role="img",
            **({"data_n": pin.net} if pin.net is not None else {}),
        )

    def at(self, label: str) -> Point:
        """The place of a pin in the picture."""
        return self.scene.at(self.scene.pins[label])

    def net_text(self, pin: Pin) -> str:
        """The net of a pin, and with what it is joined; of a long one how many."""
        if pin.net is None:
            return "connected to nothing"
        net = self.netlist.nets[pin.net]
        others = [other.label for other in net.pins if other.label != pin.label]
        joined = ", ".join(others) if len(others) <= 6 else f"{len(others)} other pins"
        return f"net {net.name}, with {joined}" if others else f"net {net.name}, alone"

    def panel(self) -> Iterator[Element]:
        """The heading of the front panel."""
        if self.scene.boxes:
            x, y = self.scene.at(self.scene.boxes[0].corner)
            yield element("text", class_="b-text b-name b-halo", x=x, y=y - 9, text="Front panel")

    # marks ------------------------------------------------------------------------------------

    def marks(self) -> Iterator[Element]:
        """A ring and a sign at each pin that is marked, a frame and a sign at each part."""
        for label, sticker in self.stickers.items():
            kind = f" b-{sticker.kind}"
            if label in self.scene.pins:
                x, y = self.at(label)
                yield element("circle", class_=f"b-ring{kind}", cx=x, cy=y, r=7)
            else:
                places = [self.at(pin) for pin in self.scene.pins if pin.startswith(f"{label}.")]
                if not places:
                    continue
                xs, ys = [x for x, _ in places], [y for _, y in places]
                x, y = max(xs) + 8, min(ys) - 8
                left, down = min(xs) - 8, max(ys) + 8
                yield rectangle(f"b-ring{kind}", left, y, x - left, down - y, 5)
                x, y = x - 8, y + 8
            yield element("circle", class_=f"b-flag{kind}", cx=x + 8, cy=y - 8, r=5.5)
            yield element("text", class_="b-sign", x=x + 8, y=y - 4.8, text=SIGNS[sticker.kind])


SIGNS: dict[Kind, str] = {
    "error": "\N{MULTIPLICATION X}",
    "warns": "!",
    "changed": "\N{NOT EQUAL TO}",
}


def _short(part: Part) -> str:
    """What a part of the front panel is, in few words."""
    if part.positions:
        return " | ".join(part.positions)
    return _NAMES.get(part.device, part.printed)


_NAMES = {"push-button": "button", "led": "LED", "dip-switch": "switches"}
