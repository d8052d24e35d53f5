"""Which faults there are, and which of them are one and the same."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.load import load_board, load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.faults.fault import Fault, collapsed, delta, wiring_of
from breadproof.verify.faults.pinfaults import PinFaults, neighbours
from breadproof.verify.faults.typefaults import TypeFaults
from breadproof.verify.faults.wirefaults import WireFaults
from tests.faults.support import BOARDS, REVISIONS

SAMPLE = 40


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return Catalogue()


def short(fault: Fault) -> bool:
    """Whether a supply is shorted: the net then has one rail or the other, as the netlist wants."""
    assert fault.delta is not None
    return any({"rail:0", "rail:5"} <= group for group in fault.delta[1])


def pins_of(netlist: Netlist, part: str) -> list[tuple[str, str]]:
    found = netlist.part(part)
    assert found is not None
    return [(a.number, b.number) for a, b in neighbours(found)]


def test_neighbours_stand_along_one_side() -> None:
    """JEDEC MS-001: pins 1 to n/2 along one side, the others back along the other."""
    netlist = load_netlist(REVISIONS / "cue-lamp-nand.yaml")
    sides = (["1", "2", "3", "4", "5", "6", "7"], ["14", "13", "12", "11", "10", "9", "8"])
    expected = {pair for side in sides for pair in pairwise(side)}
    assert set(pins_of(netlist, "U1")) == expected
    assert pins_of(netlist, "C1") == []  # legs of wire, as far apart as somebody bends them


def test_what_changes_is_what_the_faulty_board_shows() -> None:
    """Said of a fault before it is made, and read off the board that was made."""
    netlist = load_netlist(BOARDS / "light-store.yaml")
    pins = PinFaults(netlist)
    sound = wiring_of(netlist)
    every = [*pins.opens(), *pins.moved(), *pins.bridges()]
    for fault in Random(7407).sample(every, SAMPLE):
        if not short(fault):
            assert delta(sound, wiring_of(fault.make())) == fault.delta, fault.name


def test_what_a_wire_changes_is_what_the_changed_file_shows() -> None:
    board, netlist, _ = load_board(BOARDS / "light-store-holes.yaml")
    wires = WireFaults(board, netlist)
    sound = wiring_of(netlist)
    every = [*wires.opens(), *wires.moved()]
    assert len({fault.name for fault in every}) == len(every)
    for fault in Random(7407).sample(every, 6):
        if not short(fault):
            assert delta(sound, wiring_of(fault.make())) == fault.delta, fault.name


def test_both_ends_of_a_wire_are_one_open_wire() -> None:
    netlist = load_netlist(REVISIONS / "cue-lamp-nand.yaml")
    kept, more = collapsed([*PinFaults(netlist).opens()])
    named = {fault.name: fault for fault in kept}
    assert named["open:U1.3"].same == ("open:U1.9",)  # the net first_n has these two pins
    assert "open:U1.9" not in named
    assert more == sum(len(fault.same) for fault in kept)


def test_what_changes_nothing_is_no_fault() -> None:
    """U1.12 and U1.13 are both on ground: a bridge between them is none."""
    netlist = load_netlist(REVISIONS / "cue-lamp-nand.yaml")
    kept, _ = collapsed([*PinFaults(netlist).bridges()])
    names = {fault.name for fault in kept}
    assert "bridge:U1.13-12" not in names
    assert "bridge:U1.12-11" in names


@pytest.mark.parametrize(
    ("board", "part", "near", "far"),
    [
        # the quads with inputs at 1, 2, 4, 5, 9, 10, 12, 13 (data book of the series): NAND, AND,
        # OR, exclusive OR; the 02 has its outputs at 1, 4, 10, 13
        ("cue-lamp-nand", "U1", {"08", "32", "86"}, {"02", "10", "74"}),
        # counters 160 to 163 share one pin-out; the 193 has another
        ("ten-steps-163", "U1", {"160", "161", "162"}, {"193", "90"}),
    ],
)
def test_near_types_are_those_of_one_pin_out(
    catalogue: Catalogue, board: str, part: str, near: set[str], far: set[str]
) -> None:
    netlist = load_netlist(REVISIONS / f"{board}.yaml")
    found = netlist.part(part)
    assert found is not None
    numbers = {chip.type.number for chip in TypeFaults(netlist, catalogue).near(found)}
    assert near <= numbers
    assert not far & numbers
    assert found.type.number not in numbers


def test_a_chip_of_another_type_is_wired_by_number(catalogue: Catalogue) -> None:
    netlist = load_netlist(REVISIONS / "cue-lamp-nand.yaml")
    fault = next(f for f in TypeFaults(netlist, catalogue).faults() if f.name == "type:U1-74LS32")
    made = fault.make()
    assert wiring_of(made) == wiring_of(netlist)
    part = made.part("U1")
    assert part is not None
    assert (part.printed, part.type.number) == ("74LS32", "32")
