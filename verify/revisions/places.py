"""What moved between holes, where both boards are told hole by hole."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.breadboard.model import Leg
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.matching import Matching


def place_changes(matching: Matching) -> Iterator[Change]:
    """Parts that stand in other holes, and how many wires run elsewhere."""
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
    one_set, two_set = _wires(matching.old), _wires(matching.new)
    if matching.old.layout.boards and matching.new.layout.boards and one_set != two_set:
        gone, come = len(one_set - two_set), len(two_set - one_set)
        text = f"{gone} gone, {come} new"
        yield Change(group="places", kind="wires", text=text)


def _legs(netlist: Netlist) -> dict[str, list[Leg]]:
    found: dict[str, list[Leg]] = {}
    for leg in netlist.layout.legs:
        found.setdefault(leg.pin.part, []).append(leg)
    return found


def _label(leg: Leg) -> str:
    return leg.place.label


def _wires(netlist: Netlist) -> set[frozenset[str]]:
    return {frozenset(end.label for end in wire.ends) for wire in netlist.layout.wires}
