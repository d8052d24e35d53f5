"""Boards that are laid out: what the metal under the holes joins is what the nets say.

How a solderless breadboard is joined underneath, and the legs of dual in-line packages (a tenth of
an inch apart in rows of 0.3 or 0.6 inch, JEDEC MS-001 and MS-011, from memory), are written anew
here; rows e and f are 0.3 inch apart.
"""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

import pytest
from networkx import Graph, connected_components

from breadproof.export.placement import placed
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.netlist.routing import end_text, route

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"
HEIGHT = dict(zip("abcdefghij", (0, 1, 2, 3, 4, 7, 8, 9, 10, 11), strict=True))
HOLE = re.compile(r"(b\d+)\.([a-j])(\d+)$")


def _metal(place: str) -> str:
    """What a hole is joined with: a half of its column; a rail is one piece."""
    hole = HOLE.match(place)
    if hole is None:
        return place
    assert 1 <= int(hole[3]) <= 63
    return f"{hole[1]} {'lower' if hole[2] in 'abcde' else 'upper'} {hole[3]}"


def _places(netlist: Netlist) -> dict[str, str]:
    boards = netlist.layout.boards
    return {leg.pin.label: end_text(leg.place, boards) for leg in netlist.layout.legs}


@pytest.mark.parametrize("name", ["light-store", "fade-engine", "tempo", "sequencer"])
def test_holes_and_wires_join_what_the_nets_join(name: str) -> None:
    netlist = placed(load_netlist(BOARDS / f"{name}.yaml"))
    places = _places(netlist)
    routing = route(netlist)
    assert routing.open == ()
    boards = netlist.layout.boards
    ends = [(end_text(one.a, boards), end_text(one.b, boards)) for one in routing.jumpers]
    used = [place for place in [*places.values(), *sum(ends, ())] if HOLE.match(place)]
    assert len(used) == len(set(used))  # one thing a hole
    joined: Graph[str] = Graph()
    joined.add_nodes_from(pin.label for net in netlist.nets for pin in net.pins)
    joined.add_edges_from((label, _metal(place)) for label, place in places.items())
    joined.add_edges_from((_metal(a), _metal(b)) for a, b in ends)
    labels = {pin.label for net in netlist.nets for pin in net.pins}
    found = {frozenset(group & labels) for group in connected_components(joined)}
    wanted = {frozenset(pin.label for pin in net.pins) for net in netlist.nets}
    assert {group for group in found if len(group) > 1} == {
        group for group in wanted if len(group) > 1
    }


def test_chips_stand_across_the_trench_as_their_packages_do() -> None:
    netlist = placed(load_netlist(BOARDS / "fade-engine.yaml"))
    places = _places(netlist)
    columns: dict[str, list[int]] = defaultdict(list)
    chips = [part for part in netlist.parts if re.fullmatch(r"DIP-\d+", part.type.package)]
    assert len(chips) == 60
    for part in chips:
        pins = int(part.type.package[4:])
        holes = [HOLE.match(places[f"{part.name}.{number}"]) for number in range(1, pins + 1)]
        found = [(one[1], HEIGHT[one[2]], int(one[3])) for one in holes if one is not None]
        assert len(found) == pins
        board, low, first = found[0]
        _, high, _ = found[-1]
        assert high - low in (3, 6)
        assert low < 5.5 < high
        half = pins // 2
        assert found[:half] == [(board, low, first + k) for k in range(half)]
        assert found[half:] == [(board, high, first + half - 1 - k) for k in range(half)]
        columns[board] += range(first, first + half)
    for taken in columns.values():
        assert len(taken) == len(set(taken))


def test_a_board_that_says_its_places_keeps_them() -> None:
    netlist = load_netlist(BOARDS / "light-store-holes.yaml")
    assert placed(netlist) is netlist
