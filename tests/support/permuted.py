"""The same wiring, drawn otherwise: parts renumbered, nets renamed, gates and inputs exchanged.

Which gates and inputs of a chip may change places is written here from the pin-outs of the data
books (TTL data book for design engineers, 2nd edition: logic symbols, pin assignments), not from
the part files.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass, replace

from breadproof.specs.netlist.controls import collect_controls
from breadproof.specs.netlist.model import Net, Netlist, Part, Pin

_QUAD = [["1", "2", "3"], ["4", "5", "6"], ["9", "10", "8"], ["12", "13", "11"]]
GATES: dict[str, list[list[str]]] = {
    "00": _QUAD,
    "08": _QUAD,
    "32": _QUAD,
    "86": _QUAD,
    "02": [["2", "3", "1"], ["5", "6", "4"], ["8", "9", "10"], ["11", "12", "13"]],
    "04": [["1", "2"], ["3", "4"], ["5", "6"], ["9", "8"], ["11", "10"], ["13", "12"]],
    "14": [["1", "2"], ["3", "4"], ["5", "6"], ["9", "8"], ["11", "10"], ["13", "12"]],
    "10": [["1", "2", "13", "12"], ["3", "4", "5", "6"], ["9", "10", "11", "8"]],
    "20": [["1", "2", "4", "5", "6"], ["9", "10", "12", "13", "8"]],
    "74": [["1", "2", "3", "4", "5", "6"], ["13", "12", "11", "10", "9", "8"]],
}
"""Pins of each gate, inputs first; of the 74 clear, data, clock, preset and the two outputs."""
INPUTS = {"00": 2, "08": 2, "32": 2, "86": 2, "02": 2, "10": 3, "20": 4}
"""So many of them are inputs that may change places."""


@dataclass(frozen=True, slots=True)
class Permuted:
    """``pins`` maps old labels to new ones, ``parts`` old names to new ones."""

    netlist: Netlist
    parts: dict[str, str]
    pins: dict[str, str]


def permuted(netlist: Netlist, rng: random.Random) -> Permuted:
    """A board with the same wiring; parts that people touch or see keep their names."""
    names = _names(netlist, rng)
    pins: dict[str, str] = {}
    parts: list[Part] = []
    for part in netlist.parts:
        place = _places(part, rng)
        by_number = {pin.number: pin for pin in part.pins}
        back = {new: old for old, new in place.items()}
        moved = tuple(
            replace(pin, part=names[part.name], net=by_number[back.get(pin.number, pin.number)].net)
            for pin in part.pins
        )
        parts.append(replace(part, name=names[part.name], pins=moved))
        for pin in part.pins:
            pins[pin.label] = f"{names[part.name]}.{place.get(pin.number, pin.number)}"
    rng.shuffle(parts)
    nets = _nets(netlist, parts, rng)
    found = collect_controls(tuple(parts), netlist.ports, nets)
    shuffled = replace(
        netlist,
        parts=tuple(parts),
        nets=nets,
        vectors=(),
        aliases=(),
        formulas=(),
        reset=(),
        together=(),
        controls=found.controls,
        contacts=found.contacts,
        resistors=found.resistors,
        lamps=found.lamps,
        diodes=found.diodes,
        links=found.links,
    )
    return Permuted(shuffled, names, pins)


def _names(netlist: Netlist, rng: random.Random) -> dict[str, str]:
    free = [p.name for p in netlist.parts if p.device in ("chip", "resistor", "capacitor")]
    taken = list(free)
    rng.shuffle(taken)
    changed = dict(zip(free, taken, strict=True))
    return {part.name: changed.get(part.name, part.name) for part in netlist.parts}


def _places(part: Part, rng: random.Random) -> dict[str, str]:
    """The new number of each pin that moves."""
    gates = GATES.get(part.type.number, []) if part.device == "chip" else []
    order = list(range(len(gates)))
    rng.shuffle(order)
    found: dict[str, str] = {}
    for place, gate in zip(order, gates, strict=True):
        target = list(gates[place])
        inputs = INPUTS.get(part.type.number, 0)
        head = target[:inputs]
        rng.shuffle(head)
        found.update(zip(gate, [*head, *target[inputs:]], strict=True))
    return found


def _nets(netlist: Netlist, parts: Iterable[Part], rng: random.Random) -> tuple[Net, ...]:
    by_net: dict[int, list[Pin]] = {}
    for part in parts:
        for pin in part.pins:
            if pin.net is not None:
                by_net.setdefault(pin.net, []).append(pin)
    kept = {net for port in netlist.ports for net in port.nets}
    return tuple(
        replace(
            net,
            name=net.name
            if net.rail is not None or net.index in kept
            else f"n{rng.randrange(10**9)}_{net.index}",
            pins=tuple(by_net.get(net.index, ())),
        )
        for net in netlist.nets
    )
