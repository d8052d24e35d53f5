"""Chips on a board, in lanes, whose pins can be set and seen by name."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from random import Random

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.names import full_name
from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from tests.against.lanes import Lanes

CATALOGUE = Catalogue()
FAMILIES = ("LS", "HC", "F", "TTL", "ALS", "AS", "S", "HCT", "AC", "4000B")
"""Which of them a chip gets: the first one that it exists in."""

Shown = int | str | None
"""What a pin is to show: 0, 1, "Z" (it drives nothing), or None: nobody says."""


def driving(part: PartType) -> tuple[str, ...]:
    """The pins that the chip drives."""
    return tuple(pin.name for pin in part.pins if pin.kind.drives)


def reading(part: PartType) -> tuple[str, ...]:
    """The pins that the chip reads."""
    return tuple(pin.name for pin in part.pins if pin.kind.reads)


def printed(part: PartType) -> str:
    """A name that a board file takes."""
    if not any(family in FAMILIES for family in part.families):
        return part.number
    return full_name(part.number, next(f for f in FAMILIES if f in part.families))


def machine(
    parts: Mapping[str, str],
    joined: Iterable[Sequence[str]] = (),
    contents: Sequence[int] | None = None,
) -> Machine:
    """The machine of a board. ``parts`` maps names to numbers; ``joined`` are nets of pins
    (``U1.RCO``); all other pins have a net each, ``U1_D0``. Every net is a port."""
    types = {name: CATALOGUE.part(number) for name, number in parts.items()}
    nets = {f"{n}_{p.name}": [f"{n}.{p.name}"] for n, t in types.items() for p in t.pins}
    for pins in joined:
        for pin in pins:
            del nets[pin.replace(".", "_")]
        nets[pins[0].replace(".", "_")] = list(pins)
    lines, ports = [], []
    rails: dict[str, list[str]] = {"VCC": [], "GND": []}
    for net, pins in nets.items():
        kinds = {_kind(types, pin) for pin in pins}
        if kinds & {PinKind.SUPPLY, PinKind.GROUND}:
            name, _, pin = pins[0].partition(".")
            numbers = [p.number for p in types[name].pins if p.name == pin]
            rail = "VCC" if PinKind.SUPPLY in kinds else "GND"
            rails[rail] += [f"{name}.{number}" for number in numbers]
            continue
        way = _way(kinds)
        if way:
            lines.append(f"  {net}: [{', '.join(_numbered(types, pin) for pin in pins)}]")
            ports.append(f"  {net}: {way}")
    chips = []
    for name, part in types.items():
        words = f", contents: [{', '.join(map(str, contents))}]" if contents is not None else ""
        chips.append(f'  {name}: {{part: "{printed(part)}"{words}}}')
    supplies = [f"  {rail}: [{', '.join(pins)}]" for rail, pins in rails.items()]
    text = ["board: against", "together: all", "parts:", *chips, "nets:", *supplies, *lines]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "against.yaml")
        path.write_text("\n".join([*text, "ports:", *ports, ""]), "utf-8")
        return load_machine(path)


def _kind(types: Mapping[str, PartType], label: str) -> PinKind:
    name, _, pin = label.partition(".")
    return next(p.kind for p in types[name].pins if p.name == pin)


def _numbered(types: Mapping[str, PartType], label: str) -> str:
    name, _, pin = label.partition(".")
    return f"{name}.{next(p.number for p in types[name].pins if p.name == pin)}"


def _way(kinds: set[PinKind]) -> str:
    if PinKind.OUT in kinds:
        return "out"
    if any(kind.drives for kind in kinds):
        return "both"
    return "in" if any(kind.reads for kind in kinds) else ""


class Board:
    """Chips in lanes. A pin is ``U1.D0``; ``D0`` alone is one of U1."""

    def __init__(self, machine: Machine, count: int, seed: object = 0) -> None:
        self.machine = machine
        self.count = count
        self.lanes = Lanes(machine, count, Random(str(seed)))
        self.netlist = machine.netlist
        self.nets: dict[str, str] = {}
        self.labels: dict[str, str] = {}
        for pin in self.netlist.pins():
            if pin.net is not None:
                name = f"{pin.part}.{pin.name}"
                self.nets[name] = self.netlist.nets[pin.net].name
                self.labels[name] = pin.label
        self.inputs = {control.name for control in self.netlist.controls if control.kind == "in"}

    def put(self, pin: str, level: int, drives: int | None = None) -> None:
        """Put levels on a pin (bit k: lane k); ``drives`` are the lanes that drive it at all."""
        net = self.nets[pin if "." in pin else f"U1.{pin}"]
        bits = self.lanes.controls[net]
        bits[-1] = level
        if net not in self.inputs:
            bits[0] = self.lanes.bits.true if drives is None else drives

    def every(self, **pins: int) -> None:
        """Put the same level on a pin in all lanes: ``every(CLK=1)``."""
        for pin, level in pins.items():
            self.put(pin, self.lanes.bits.true * level)

    def run(self) -> None:
        """Let the board become quiet."""
        assert self.lanes.run() == 0

    def set(self, **pins: int) -> None:
        """`every`, then `run`."""
        self.every(**pins)
        self.run()

    def shows(self, pin: str) -> tuple[int, int]:
        """The lanes in which a pin drives, and its level."""
        drive = self.machine.drives[self.labels[pin if "." in pin else f"U1.{pin}"]]
        return self.lanes.level(drive.when), self.lanes.level(drive.level)

    def number(self, pins: Iterable[str], lane: int = 0) -> int:
        """What pins show in a lane, the first one least significant."""
        found = 0
        for place, pin in enumerate(pins):
            when, level = self.shows(pin)
            assert when >> lane & 1
            found |= (level >> lane & 1) << place
        return found


class Judge:
    """Compares what pins show with what they are to show, lane by lane."""

    def __init__(self, board: Board, part: PartType) -> None:
        self.board = board
        self.kinds = {pin.name: pin.kind for pin in part.pins if pin.kind.drives}
        self.compared: set[tuple[str, Shown]] = set()

    def compare(self, wanted: Sequence[Mapping[str, Shown]], told: Sequence[object]) -> None:
        """``wanted[k]`` by pin in lane k; ``told[k]`` is what a message says of that lane."""
        for pin, kind in self.kinds.items():
            when, level = self.board.shows(pin)
            for lane, levels in enumerate(wanted):
                want = levels[pin]
                if want is None:
                    continue
                if kind is PinKind.OPEN_COLLECTOR and want == 1:
                    want = "Z"
                seen: Shown = level >> lane & 1 if when >> lane & 1 else "Z"
                assert seen == want, f"{pin} is to be {want} and is {seen}: {told[lane]}"
                self.compared.add((pin, want))

    def everything(self, never: Iterable[tuple[str, Shown]] = ()) -> None:
        """Each pin was compared at each level that it has, but for those of ``never``."""
        wanted: set[tuple[str, Shown]] = set()
        for pin, kind in self.kinds.items():
            wanted.add((pin, 0))
            if kind is not PinKind.OPEN_COLLECTOR:
                wanted.add((pin, 1))
            if kind is not PinKind.OUT:
                wanted.add((pin, "Z"))
        assert wanted - set(never) == self.compared
