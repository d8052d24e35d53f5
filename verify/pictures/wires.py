"""The wires of a picture: those of the board file in their colours, and those it still needs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from breadproof.specs.breadboard.model import End, NetEnd, PinEnd, joined
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.netlist.routing import end_text, route
from breadproof.verify.pictures.colours import SIGNALS, WIRES
from breadproof.verify.pictures.lanes import Lanes
from breadproof.verify.pictures.scene import Scene, Spot
from breadproof.verify.pictures.svg import element, points, titled


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire with its net; ``missing``: the board file does not have it yet."""

    ends: tuple[End, End]
    net: int | None
    colour: str
    missing: bool


@dataclass(slots=True)
class Wiring:
    """The wires of a scene; ``own_places``: the file says where things stand.

    What joins a pin of the front panel to a supply is drawn as a sign at the pin.
    """

    netlist: Netlist
    scene: Scene
    own_places: bool
    wires: list[Wire] = field(default_factory=list)
    stubs: list[tuple[Spot, Wire]] = field(default_factory=list)
    families: dict[int, int] = field(default_factory=dict)
    """The nets that were given a colour so far, in order; of a vector the first."""
    lanes: Lanes = field(init=False)

    def __post_init__(self) -> None:
        """Plan the ways, and stack the scene."""
        spots: dict[int, tuple[Spot, Spot]] = {}
        for wire in self.every():
            ends = self.scene.ends(wire.ends)
            if ends is None:
                continue
            panel = [spot for spot in ends if spot.row >= len(self.scene.boards)]
            if panel and wire.net is not None and self.netlist.nets[wire.net].rail is not None:
                self.stubs += [(spot, wire) for spot in panel]
            else:
                spots[len(self.wires)] = ends
                self.wires.append(wire)
        self.lanes = Lanes(self.scene, spots)

    def every(self) -> Iterator[Wire]:
        """The file's wires, then the jumpers that are still needed."""
        nets = _NetAt(self.netlist)
        for wire in self.netlist.layout.wires:
            net = nets.of(wire.ends)
            colour = WIRES.get(wire.colour.lower(), "") or self.colour(net)
            yield Wire(ends=wire.ends, net=net, colour=colour, missing=False)
        by_name = {net.name: net.index for net in self.netlist.nets}
        for jumper in route(self.netlist).jumpers:
            net = by_name.get(jumper.net)
            colour = self.colour(net)
            yield Wire(ends=(jumper.a, jumper.b), net=net, colour=colour, missing=self.own_places)

    def colour(self, net: int | None) -> str:
        """Black for ground, red for supplies; others in turn, those of one vector alike."""
        if net is None:
            return WIRES["grey"]
        rail = self.netlist.nets[net].rail
        if rail is not None:
            return WIRES["red"] if rail else WIRES["black"]
        family = next((v.nets[0] for v in self.netlist.vectors if net in v.nets), net)
        return SIGNALS[self.families.setdefault(family, len(self.families)) % len(SIGNALS)]

    # drawing ----------------------------------------------------------------------------------

    def elements(self) -> Iterator[Element]:
        """All wires, with a shade under them."""
        paths = [self.lanes.path(number) for number in range(len(self.wires))]
        if paths:
            yield element("path", class_="b-casing", d="".join(paths))
        for wire, path in zip(self.wires, paths, strict=True):
            kind = "b-wire b-missing" if wire.missing else "b-wire"
            one = titled("path", self.says(wire), class_=kind, d=path, stroke=wire.colour)
            if wire.net is not None:
                one.set("data-n", str(wire.net))
            yield one

    def signs(self) -> Iterator[Element]:
        """The supplies at the pins of the front panel."""
        for spot, wire in self.stubs:
            x, y = self.scene.at(spot)
            line = points((x, y), (x, y - 15))
            volts = self.netlist.nets[wire.net].rail if wire.net is not None else None
            bar = points((x - 5, y - 15), (x + 5, y - 15))
            if volts:
                bar += points((x, y - 20), (x, y - 10))
            kind, colour = ("b-stub", {"stroke": wire.colour}) if volts else ("b-stub b-ground", {})
            yield titled("path", self.says(wire), class_=kind, d=line + bar, **colour)

    def says(self, wire: Wire) -> str:
        """``net sel: b1.a12 to b1.j30``."""
        boards = self.netlist.layout.boards
        net = "" if wire.net is None else f"net {self.netlist.nets[wire.net].name}: "
        says = f"{net}{end_text(wire.ends[0], boards)} to {end_text(wire.ends[1], boards)}"
        return f"{says}, still to be put in" if wire.missing else says


class _NetAt:
    """Which net is at a place: what stands there tells, or what wires join with it."""

    def __init__(self, netlist: Netlist) -> None:
        self.by_name = {net.name: net.index for net in netlist.nets}
        self.by_pin = {pin.label: pin.net for pin in netlist.pins()}
        self.by_metal: dict[object, int | None] = {
            joined(leg.place): self.by_pin.get(leg.pin.label) for leg in netlist.layout.legs
        }
        changed = True
        while changed:
            changed = False
            for wire in netlist.layout.wires:
                net = self.of(wire.ends)
                for end in wire.ends:
                    if net is not None and not isinstance(end, NetEnd | PinEnd):
                        changed = changed or self.by_metal.get(joined(end)) is None
                        self.by_metal[joined(end)] = net

    def of(self, ends: tuple[End, End]) -> int | None:
        """The net of a wire."""
        for end in ends:
            match end:
                case NetEnd():
                    found = self.by_name.get(end.name)
                case PinEnd():
                    found = self.by_pin.get(end.label)
                case _:
                    found = self.by_metal.get(joined(end))
            if found is not None:
                return found
        return None
