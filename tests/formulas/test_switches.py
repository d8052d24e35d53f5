"""``stable`` of a change-over switch: between its positions it is somewhere, too."""

from __future__ import annotations

import pytest

from breadproof.specs.machine.watch import Watcher
from tests.support.levels import machine_of

BOARD = """
board: moved
parts: {MODE: {part: spdt, positions: [SET, SHOW]}, U1: 74HC14, R1: {part: resistor, value: 10k}}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, MODE.1, U1.3, U1.5, U1.9, U1.11, U1.13]
  set_n: [MODE.2, R1.2, U1.1]
assert:
  still: {says: It stands still., formula: "always stable(MODE)"}
  back: {says: It stands still., formula: "always (MODE == SET -> !stable(MODE))"}
"""
SET, BETWEEN, SHOW = (1, 0), (0, 0), (0, 1)


@pytest.mark.parametrize(
    ("stands", "moved"),
    [
        ([SET, SET], [0, 0]),
        ([SET, BETWEEN, BETWEEN, SHOW, SHOW], [0, 1, 0, 1, 0]),
        ([BETWEEN, SET, BETWEEN, SET], [0, 1, 1, 1]),
    ],
)
def test_stable_tells_of_each_move(stands: list[tuple[int, int]], moved: list[int]) -> None:
    """By hand; in the first moment stable is true (IEEE 1850 has no level before it)."""
    watcher = Watcher(machine_of(BOARD), controls={"MODE": stands[0]})
    watcher.power_up()
    said = [dict(watcher.said)]
    for place in stands[1:]:
        watcher.step({"MODE": place})
        said.append(dict(watcher.said))
    assert [one["still"] for one in said] == moved
    at_set = [place == SET for place in stands]
    assert [one["back"] for one in said] == [
        int(here and not move) for here, move in zip(at_set, moved, strict=True)
    ]
