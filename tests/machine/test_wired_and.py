"""Pins that are read and only pull low, joined with each other, with open collectors and ground.

Sources: function table of the 641 (data book, compared with a copy of the data sheet) and of the 47
(data book, from memory); lows of open collectors and ground on one line are a wired AND (common
practice); "Levels" in design.md section 4 says what fights.
"""

import pytest

from tests.support.levels import Witnessed

LINE = """
board: wired-line
parts:
  U1: 74LS641
  U2: 74LS641
  U3: 74LS05
  S1: push-button
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.20, U2.20, U3.14, R1.1, R2.1]
  GND: [U1.10, U1.19, U2.10, U2.19, U3.7, S1.1]
  line: [U1.2, U2.2, U3.2, S1.2, R1.2]
  a: [U1.18, R2.2]
  b: [U2.18]
  c: [U3.1]
  way: [U1.1]
  back: [U2.1]
ports: {line: both, a: both, b: both, c: in, way: in, back: in}
"""


@pytest.mark.parametrize(
    ("a", "b", "c", "ground", "line", "levels"),
    [
        (1, 1, 0, 0, None, "H"),
        (0, 1, 0, 0, None, "L"),
        (1, 0, 0, 0, None, "L"),
        (0, 0, 0, 0, None, "L"),  # two lows do not fight
        (0, 0, 1, 0, None, "L"),  # nor with an open collector
        (0, 1, 1, 1, None, "L"),  # nor with ground
        (1, 1, 0, 0, 1, "H"),  # all let go
        (0, 1, 0, 0, 1, "!"),  # what drives fights a low
        (0, 1, 0, 0, 0, "!"),  # whatever its level
    ],
)
def test_lows_on_a_line_do_not_fight(
    a: int, b: int, c: int, ground: int, line: int | None, levels: str
) -> None:
    controls = {"way": 0, "back": 0, "a": a, "b": b, "c": c, "S1": ground, "line": line}
    assert Witnessed(LINE).see(controls, "line") == levels


@pytest.mark.parametrize(
    ("b", "levels"),
    [(0, "L L"), (1, "H H")],
)
def test_the_line_is_read(b: int, levels: str) -> None:
    """From B of the one through the line to B of the other, which pulls low or lets go."""
    controls = {"way": 1, "back": 0, "a": None, "b": b, "c": 0, "S1": 0, "line": None}
    assert Witnessed(LINE).see(controls, "line a") == levels


BLANK = """
board: blanking
parts:
  U1: 74LS48
  U2: 74LS48
  U3: 74LS05
  R1: {part: resistor, value: 4.7k}
nets:
  VCC: [U1.16, U1.3, U2.16, U2.3, U3.14, R1.1]
  GND: [U1.8, U1.1, U1.2, U1.6, U2.8, U2.1, U2.2, U2.6, U3.7]
  blank_n: [U1.4, U2.4, U3.2, R1.2]
  dark: [U3.1]
  zero_n: [U1.5, U2.5]
  one: [U1.7]
  other: [U2.7]
  b1: [U1.12]
  b2: [U2.12]
ports: {dark: in, zero_n: in, one: in, other: in, b1: out, b2: out}
"""


@pytest.mark.parametrize(
    ("dark", "zero_n", "one", "other", "levels"),
    [
        (0, 1, 0, 0, "H H H"),  # a nought is shown; segment b is lit in 0 and 1
        (0, 0, 1, 1, "H H H"),
        (0, 0, 0, 1, "L L L"),  # a nought that is not wanted blanks both
        (0, 0, 0, 0, "L L L"),  # both pull low
        (1, 0, 0, 0, "L L L"),  # and an open collector with them
        (1, 1, 1, 1, "L L L"),
    ],
)
def test_blanking_pins_that_are_joined(
    dark: int, zero_n: int, one: int, other: int, levels: str
) -> None:
    controls = {"dark": dark, "zero_n": zero_n, "one": one, "other": other}
    assert Witnessed(BLANK).see(controls, "blank_n b1 b2") == levels
