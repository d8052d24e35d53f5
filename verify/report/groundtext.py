"""What a proof rests on, as a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.netlist.bouncing import finger_of
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.report.words import listed

_STANDS = {"low": "tied low", "high": "tied high", "open": "open and taken as high"}
_BESIDE = "whatever other parts do"


def ground_text(grounds: Grounds) -> str:
    """``rests on U7.15 being tied low, the contents of U9, and parts U3 and U4``."""
    things = [_pins(grounds.pins, level) for level in _STANDS]
    if grounds.contents:
        things.append(f"the contents of {listed([n.partition('.')[0] for n in grounds.contents])}")
    things.append(_some("part", "parts", [n for n in grounds.parts if not finger_of(n)]))
    contacts = dict.fromkeys(finger for n in grounds.parts if (finger := finger_of(n)))
    things.append(_some("the contact of", "the contacts of", list(contacts)))
    things.append(_some("the assumption", "the assumptions", grounds.assumptions))
    told = [thing for thing in things if thing]
    if not told:
        return f"rests on no part: it holds by what it says and how it is wired, {_BESIDE}"
    more = "" if grounds.least else "; perhaps less would do"
    return f"rests on {listed(told)}, {_BESIDE}{more}"


def _some(one: str, several: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    return f"{one if len(names) == 1 else several} {listed(names)}"


def _pins(pins: Sequence[tuple[str, str]], level: str) -> str:
    """``U1.[1, 2] and U7.15 being tied low``."""
    by_part: dict[str, list[str]] = {}
    for label, how in pins:
        if how == level:
            part, _, number = label.rpartition(".")
            by_part.setdefault(part, []).append(number)
    if not by_part:
        return ""
    shown = [
        f"{part}.{numbers[0]}" if len(numbers) == 1 else f"{part}.[{', '.join(numbers)}]"
        for part, numbers in by_part.items()
    ]
    return f"{listed(shown)} being {_STANDS[level]}"
