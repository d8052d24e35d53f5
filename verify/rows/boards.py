"""Boards on which every pin of a chip can be set and seen from outside."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from breadproof.specs.catalogue.names import full_name
from breadproof.specs.catalogue.part import PartType, PinKind

FAMILIES = ("LS", "HC", "F", "TTL", "ALS")
"""Which of them a chip gets: the first one that it exists in. Logic is the same in all."""
LISTED = 256
"""So many words of a ROM stand in the board file; more of them are a file beside it."""
BYTE = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A chip on a board of this module, and the words of its ROM."""

    name: str
    part: PartType
    contents: Mapping[int, int]

    def net(self, pin: str) -> str:
        """The net of a pin, which is also the port; of a moment, that which it has by itself."""
        own = any(moment.name == pin for moment in self.part.moments)
        return f"{self.name}.{pin}" if own else f"{self.name}_{pin}"


def board(name: str, chips: Iterable[Placed]) -> str:
    """The text of a board file: each pin on a net of its own, each net a port.

    It has the family of the first chip whose name does not tell it.
    """
    chips = list(chips)
    families = [_family(chip.part) for chip in chips if not _in_series(chip.part)]
    told = [f"family: {family}" for family in families[:1] if family != "MOS"]
    parts: list[str] = []
    rails: dict[str, list[str]] = {"VCC": [], "GND": []}
    nets: list[str] = []
    ports: list[str] = []
    for chip in chips:
        parts.append(f"  {chip.name}: {_printed(chip)}")
        for pin in chip.part.pins:
            here = f"{chip.name}.{pin.number}"
            way = "" if pin.kind is PinKind.MOMENT else _direction(pin.kind)
            if pin.name in chip.part.switch_pins:
                way = "both"
            if pin.kind is PinKind.SUPPLY:
                rails["VCC"].append(here)
            elif pin.kind is PinKind.GROUND:
                rails["GND"].append(here)
            elif way:
                nets.append(f"  {chip.net(pin.name)}: [{here}]")
                ports.append(f"  {chip.net(pin.name)}: {way}")
    supplies = [f"  {rail}: [{', '.join(pins)}]" for rail, pins in rails.items()]
    blocks = [f"board: {name}", *told, "together: all", "parts:", *parts]
    blocks += ["nets:", *supplies, *nets]
    return "\n".join([*blocks, "ports:", *ports, ""])


def _direction(kind: PinKind) -> str:
    """The port's direction; empty for what has no level. What may let go can be driven too."""
    if kind is PinKind.OUT:
        return "out"
    if kind.drives:
        return "both"
    return "in" if kind.reads else ""


def _printed(chip: Placed) -> str:
    part = chip.part
    printed = full_name(part.number, _family(part)) if _in_series(part) else part.number
    if not any(memory.write is None for memory in part.memories):
        return f'"{printed}"'
    if _beside(chip):
        return f'{{part: "{printed}", contents: {_image(chip)}}}'
    return f'{{part: "{printed}", contents: [{", ".join(map(str, _words(chip)))}]}}'


def _family(part: PartType) -> str:
    return next((f for f in (*FAMILIES, *part.families) if f in part.families), "LS")


def _in_series(part: PartType) -> bool:
    """Whether its family can be told by the letters in its name; if not, the board tells it."""
    return part.families != ("MOS",) and part.number.isdigit() and 2 <= len(part.number) <= 5


def images(chips: Iterable[Placed]) -> dict[str, bytes]:
    """The files beside a board of these chips, by name: the words of large ROMs."""
    return {_image(chip): bytes(_words(chip)) for chip in chips if _beside(chip)}


def _beside(chip: Placed) -> bool:
    return any(
        memory.write is None and memory.words > LISTED and memory.bits <= BYTE
        for memory in chip.part.memories
    )


def _image(chip: Placed) -> str:
    return f"{chip.name}.bin"


def _words(chip: Placed) -> list[int]:
    return [chip.contents.get(place, 0) for place in range(chip.part.memories[0].words)]
