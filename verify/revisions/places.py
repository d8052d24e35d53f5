"""What moved between holes, where both boards are told hole by hole."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.breadboard.model import Leg
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.matching import Matching

FEW_WIRES = 8
"""More wires than this that are gone or new are only counted."""


def place_changes(matching: Matching) -> Iterator[Change]:
    """Parts that stand in other holes, and wires that run elsewhere."""
    old, new = _legs(matching.old), _legs(matching.new)
    for before, after in matching.parts.items():
        one, two = old.get(before), new.get(after)
        if one is None or two is None:
            continue
        if [(leg.pin.number, leg.place) for leg in one] != [
            (leg.pin.number, leg.place) for leg in two
        ]:
            text = f"{after} moved from {_label(one[0])} to {_label(two[0])}"
            yield Change(group="places", kind="moved", text=text, parts=((before,), (after,)))
    if matching.old.layout.boards and matching.new.layout.boards:
        yield from _wires_changed(_wires(matching.old), _wires(matching.new))


def _wires_changed(
    old: dict[frozenset[str], str], new: dict[frozenset[str], str]
) -> Iterator[Change]:
    """The wires one by one, if they are few."""
    gone = [text for ends, text in old.items() if ends not in new]
    come = [text for ends, text in new.items() if ends not in old]
    texts = [f"{text} is gone" for text in gone] + [f"{text} is new" for text in come]
    if len(texts) > FEW_WIRES:
        texts = [f"{len(gone)} gone, {len(come)} new"]
    for text in texts:
        yield Change(group="places", kind="wires", text=text)


def _legs(netlist: Netlist) -> dict[str, list[Leg]]:
    found: dict[str, list[Leg]] = {}
    for leg in netlist.layout.legs:
        found.setdefault(leg.pin.part, []).append(leg)
    return found


def _label(leg: Leg) -> str:
    return leg.place.label


def _wires(netlist: Netlist) -> dict[frozenset[str], str]:
    """Each wire in words, by its ends in any order."""
    return {
        frozenset(end.label for end in wire.ends): " to ".join(end.label for end in wire.ends)
        for wire in netlist.layout.wires
    }
