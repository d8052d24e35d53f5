"""A bare crystal beside a gate: which of its two pins is the source of the clock.

A gate with a crystal from its output to its input swings for ever, which no machine of rounds can
show: it would never get quiet. What the board sees of it is a level at the gate's input that goes
high and low whenever it likes, so that is what the crystal is: at the pin beside an input that
nothing else drives it is an oscillator's output, in every way that an oscillator is. The gate then
does to that level what it does. That the gate does swing is not checked.
"""

from __future__ import annotations

from dataclasses import replace

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Part, Pin


def swinging(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """The parts, with the pin of each crystal that is a source made an output."""
    if all(part.device != "crystal" for part in parts):
        return parts
    on_net: dict[int, list[Pin]] = {}
    for part in parts:
        for pin in part.pins:
            if pin.net is not None:
                on_net.setdefault(pin.net, []).append(pin)
    return tuple(_with_source(part, on_net) if part.device == "crystal" else part for part in parts)


def _with_source(part: Part, on_net: dict[int, list[Pin]]) -> Part:
    sources = [pin for pin in part.pins if _feeds(pin, on_net)]
    if len(sources) != 1:
        return part
    pins = tuple(replace(pin, kind=PinKind.OUT) if pin is sources[0] else pin for pin in part.pins)
    return replace(part, pins=pins)


def _feeds(pin: Pin, on_net: dict[int, list[Pin]]) -> bool:
    """Whether a crystal's pin is beside an input of a gate, and nothing drives it."""
    beside = on_net.get(pin.net, []) if pin.net is not None else []
    return any(one.kind.reads for one in beside) and not any(one.kind.drives for one in beside)
