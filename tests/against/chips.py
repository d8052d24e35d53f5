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


def family_of(number: str) -> str:
    """The family of a chip: what stands behind the "@" of its number, or the first there is."""
    given = number.partition("@")[2]
    families = CATALOGUE.part(number.partition("@")[0]).families
    return given or next((f for f in FAMILIES if f in families), families[0])


def part_of(number: str) -> PartType:
    """What a number, such as ``266`` or ``266@HC``, means."""
    return CATALOGUE.part(number.partition("@")[0]).in_family(family_of(number))


def printed(number: str) -> str:
    """A name that a board file takes."""
    family = family_of(number)
    plain = number.partition("@")[0]
    return plain if family in ("MOS", "") else full_name(plain, family)


def machine(
    parts: Mapping[str, str],
    joined: Iterable[Sequence[str]] = (),
    contents: Sequence[int] | None = None,
) -> Machine:
    """The machine of a board, of which every net is a port.

    ``parts`` maps names to numbers (``266``, ``266@HC``); ``joined`` are nets of pins (``U1.RCO``);
    all other pins have a net each, ``U1_D0``. ``contents`` are the bytes of all read-only memories.
    """
    types = {name: part_of(number) for name, number in parts.items()}
    nets = {
        f"{name}_{pin.name}": [f"{name}.{pin.name}"]
        for name, part in types.items()
        for pin in part.pins
        if pin.kind is not PinKind.MOMENT
    }
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
        way = _way(kinds) or ("both" if _switched(types, pins[0]) else "")
        if way:
            lines.append(f"  {net}: [{', '.join(_numbered(types, pin) for pin in pins)}]")
            ports.append(f"  {net}: {way}")
    chips = []
    for name, number in parts.items():
        words = ", contents: words.bin" if contents is not None else ""
        chips.append(f'  {name}: {{part: "{printed(number)}"{words}}}')
    supplies = [f"  {rail}: [{', '.join(pins)}]" for rail, pins in rails.items()]
    text = ["board: against", "together: all", "parts:", *chips, "nets:", *supplies, *lines]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "against.yaml")
        Path(folder, "words.bin").write_bytes(bytes(contents or ()))
        path.write_text("\n".join([*text, "ports:", *ports, ""]), "utf-8")
        return load_machine(path)


def _kind(types: Mapping[str, PartType], label: str) -> PinKind:
    name, _, pin = label.partition(".")
    return next(p.kind for p in types[name].pins if p.name == pin)


def _numbered(types: Mapping[str, PartType], label: str) -> str:
    name, _, pin = label.partition(".")
    return f"{name}.{next(p.number for p in types[name].pins if p.name == pin)}"


def _switched(types: Mapping[str, PartType], label: str) -> bool:
    name, _, pin = label.partition(".")
    return pin in types[name].switch_pins


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
        self.single = {c.name for c in self.netlist.controls if c.kind != "both"}

    def put(self, pin: str, level: int, drives: int | None = None) -> None:
        """Put levels on a pin (bit k: lane k); ``drives`` are the lanes that drive it at all."""
        net = self.nets[pin if "." in pin else f"U1.{pin}"]
        bits = self.lanes.controls[net]
        bits[-1] = level
        if net not in self.single:
            bits[0] = self.lanes.bits.true if drives is None else drives

    def lanes_of(self, levels: Iterable[int]) -> int:
        """A level for each lane, as one integer."""
        return int("".join(map(str, levels))[::-1], 2)

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

    def net_number(self, pin: str) -> int:
        """The place of a pin's net among the board's nets."""
        net = self.netlist.net(self.nets[pin if "." in pin else f"U1.{pin}"])
        assert net is not None
        return net.index

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
        """Of the chip U1 alone."""
        self.board = board
        self.kinds = {pin.name: pin.kind for pin in part.pins if pin.kind.drives}
        self.pulled_up = {pin.name for pin in part.pins if pin.pulled_up}
        self.compared: set[tuple[str, Shown]] = set()

    def compare(self, wanted: Sequence[Mapping[str, Shown]], told: Sequence[object]) -> None:
        """``wanted[k]`` by pin in lane k; ``told[k]`` is what a message says of that lane."""
        for pin, kind in self.kinds.items():
            when, level = self.board.shows(pin)
            for lane, levels in enumerate(wanted):
                want = levels[pin]
                if want is None:
                    continue
                if kind.sinks and want == 1:
                    want = "Z"
                seen: Shown = level >> lane & 1 if when >> lane & 1 else "Z"
                assert seen == want, f"{pin} is to be {want} and is {seen}: {told[lane]}"
                self.compared.add((pin, want))

    def everything(self, never: Iterable[tuple[str, Shown]] = ()) -> None:
        """Each pin was compared at each level that it has, but for those of ``never``."""
        wanted: set[tuple[str, Shown]] = set()
        for pin, kind in self.kinds.items():
            wanted.add((pin, 0))
            if not kind.sinks and pin not in self.pulled_up:
                wanted.add((pin, 1))
            if kind is not PinKind.OUT:
                wanted.add((pin, "Z"))
        missing = wanted - set(never) - self.compared
        assert not missing, f"never seen: {sorted(missing, key=str)}"
