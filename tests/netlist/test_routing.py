"""Random placements: what is wired as `breadproof wires` says reads back as the nets meant.

Boards, places and nets are drawn by Hypothesis; the reader of holes and the router share only the
geometry of breadboards, which test_holes.py holds against common practice.
"""

import tempfile
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breadproof.specs.breadboard.geometry import Hole
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.netlist.routing import end_text, route

CHIPS = {"74LS00": 7, "74LS161": 8, "74LS374": 10, "74LS181": 12}
"""Chips with the columns they take; the 181 is wide."""


def read(text: str) -> Netlist:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text(text, "utf-8")
        return load_netlist(path)


def drawn(seed: int) -> tuple[str, str]:
    """The head of a board file (breadboards and placed parts), and its nets."""
    dice = Random(seed)
    boards = [(f"b{n}", dice.choice((63, 30)), dice.random() < 0.3) for n in range(1, 4)]
    lines = ["board: random", "breadboards:"]
    for name, columns, split in boards:
        points = 830 if columns == 63 else 400
        lines.append(f"  {name}: {{tie-points: {points}{', rails: split' if split else ''}}}")
    lines.append("parts:")
    pins: list[str] = []
    number = 0
    for name, columns, _ in boards:
        column = dice.randint(1, 3)
        while True:
            printed, length = dice.choice(list(CHIPS.items()))
            if column + length - 1 > columns:
                break
            number += 1
            wide = printed == "74LS181"
            if dice.random() < 0.3:
                row = dice.choice("fghi") if wide else "f"
                place = f"{name}.{row}{column + length - 1}, rotated: true"
            else:
                place = f"{name}.{dice.choice('bcde') if wide else 'e'}{column}"
            lines.append(f"  U{number}: {{part: {printed}, at: {place}}}")
            pins += [f"U{number}.{pin}" for pin in range(1, 2 * length + 1)]
            column += length + dice.randint(0, 2)
    lines.append("  J1: {part: connector, pins: 8}")
    pins += [f"J1.{pin}" for pin in range(1, 9)]
    dice.shuffle(pins)
    nets: list[str] = []
    supplies = ["VCC", "GND"]
    while len(pins) > 10:
        size = dice.randint(2, 5) if nets else 6
        name = supplies.pop() if supplies else f"n{len(nets)}"
        nets.append(f"  {name}: [{', '.join(pins.pop() for _ in range(size))}]")
    return "\n".join(lines), "\n".join(nets)


def pins_of(netlist: Netlist) -> set[frozenset[str]]:
    return {frozenset(pin.label for pin in net.pins) for net in netlist.nets}


def check(seed: int) -> int:
    head, nets = drawn(seed)
    meant = read(f"{head}\nnets:\n{nets}\n")
    routing = route(meant)
    assert routing.open == ()
    boards = meant.layout.boards
    wires = [f"  - {end_text(j.a, boards)} to {end_text(j.b, boards)}" for j in routing.jumpers]
    wired = read("\n".join([head, "wires:", *wires, ""]))
    assert pins_of(wired) == pins_of(meant)
    holes = [end for j in routing.jumpers for end in (j.a, j.b) if isinstance(end, Hole)]
    assert len(holes) == len(set(holes))
    return len(wires)


@settings(max_examples=25)
@given(st.integers(0, 2**32))
def test_jumpers_read_back_as_the_nets(seed: int) -> None:
    assert check(seed) > 0


def test_what_is_wired_already_is_not_listed_again() -> None:
    head, nets = drawn(7)
    first = route(read(f"{head}\nnets:\n{nets}\n"))
    boards = read(f"{head}\nnets:\n{nets}\n").layout.boards
    wires = [f"  - {end_text(j.a, boards)} to {end_text(j.b, boards)}" for j in first.jumpers]
    half = wires[: len(wires) // 2]
    again = route(read("\n".join([head, "wires:", *half, "nets:", nets, ""])))
    assert len(again.jumpers) == len(wires) - len(half)


@pytest.mark.parametrize(("pins", "holes"), [(6, 5), (3, 2)])
def test_a_chain_is_as_short_as_it_can_be(pins: int, holes: int) -> None:
    """Pins side by side in one row are joined each to its neighbour, one column on."""
    nets = ", ".join(f"U1.{pin}" for pin in range(1, pins + 1))
    text = (
        "board: chain\nbreadboards: {b1: {tie-points: 400}}\n"
        f"parts: {{U1: {{part: 74LS00, at: b1.e5}}}}\nnets: {{x: [{nets}]}}\n"
    )
    jumpers = route(read(text)).jumpers
    assert [jumper.tenths for jumper in jumpers] == [1] * holes
