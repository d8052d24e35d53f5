"""Analogue switches against indexing: what is put on one side is on the other, and nowhere else.

Source: the function tables of the data books, from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from tests.against.chips import Board, machine, part_of, reading

Levels = Mapping[str, int]
Pairs = list[tuple[str, str]]


def selected(stem: str, common: str) -> Callable[[Levels], Pairs]:
    """The addressed channel and its common pin, unless E_n is high."""

    def function(p: Levels) -> Pairs:
        selects = sorted(name for name in p if name[0] == "S")
        chosen = sum(p[name] << place for place, name in enumerate(selects))
        return [] if p["E_n"] else [(f"{stem}{chosen}", common)]

    return function


def dual_4052(p: Levels) -> Pairs:
    chosen = p["S0"] + 2 * p["S1"]
    return [] if p["E_n"] else [(f"Y{k}{chosen}", f"Z{k}") for k in (1, 2)]


def triple_4053(p: Levels) -> Pairs:
    return [] if p["E_n"] else [(f"Y{k}{p[f'S{k}']}", f"Z{k}") for k in (1, 2, 3)]


def four(letter: str) -> Callable[[Levels], Pairs]:
    return lambda p: [
        (f"Y{k}", f"Z{k}") for k in (1, 2, 3, 4) if p[f"{letter}{k}"] and not p.get("E_n", 0)
    ]


CHIPS: dict[str, Callable[[Levels], Pairs]] = {
    "4016": four("E"),
    "4051": selected("Y", "Z"),
    "4052": dual_4052,
    "4053": triple_4053,
    "4066": four("E"),
    "4067": selected("Y", "Z"),
    "4316": four("S"),
}


@pytest.mark.parametrize("number", CHIPS)
def test_switches(number: str) -> None:
    """A lane for each state of the inputs and each level; each contact pin is driven in turn."""
    part = part_of(number)
    inputs = reading(part)
    board = Board(machine({"U1": number}), 2 << len(inputs), number)
    lanes = [
        ({name: lane >> place & 1 for place, name in enumerate(inputs)}, lane >> len(inputs) & 1)
        for lane in range(board.count)
    ]
    for name in inputs:
        board.put(name, board.lanes_of(levels[name] for levels, _ in lanes))
    contacts = sorted(part.switch_pins)
    level = board.lanes_of(put for _, put in lanes)
    closed = [CHIPS[number](levels) for levels, _ in lanes]
    for driven in contacts:
        for name in contacts:
            drives = board.lanes.bits.true if name == driven else 0
            board.put(name, level, drives)
        board.run()
        for name in contacts:
            joins = {(name, driven), (driven, name)}
            wanted = board.lanes_of(int(name == driven or bool(joins & set(c))) for c in closed)
            net = board.machine.nets[board.net_number(name)]
            assert board.lanes.level(net.driven) == wanted, (driven, name)
            assert board.lanes.level(net.level) & wanted == level & wanted, (driven, name)
