"""Pin-outs of the analogue switches, drawn a second time.

Each is written as the data book's top view is drawn, from memory: one line a row of pins, from the
notch down, the left side and the right side. The part files list the pins by number.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

QUAD = """
    Y1 VCC
    Z1 E1
    Z2 E4
    Y2 Y4
    E2 Z4
    E3 Z3
    GND Y3
"""
DRAWN = {
    "4016": QUAD,
    "4066": QUAD,
    "4316": """
        Z1 VCC
        Y1 S1
        Y2 S4
        Z2 Z4
        S2 Y4
        S3 Y3
        E_n Z3
        GND VEE
    """,
    "4051": """
        Y4 VCC
        Y6 Y2
        Z Y1
        Y7 Y0
        Y5 Y3
        E_n S0
        VEE S1
        GND S2
    """,
    "4052": """
        Y20 VCC
        Y22 Y12
        Z2 Y11
        Y23 Z1
        Y21 Y10
        E_n Y13
        VEE S0
        GND S1
    """,
    "4053": """
        Y21 VCC
        Y20 Z2
        Y31 Z1
        Z3 Y11
        Y30 Y10
        E_n S1
        VEE S2
        GND S3
    """,
    "4067": """
        Z VCC
        Y7 Y8
        Y6 Y9
        Y5 Y10
        Y4 Y11
        Y3 Y12
        Y2 Y13
        Y1 Y14
        Y0 Y15
        S0 E_n
        S1 S2
        GND S3
    """,
}
SWITCHES = {"4016": 4, "4066": 4, "4316": 4, "4051": 8, "4052": 8, "4053": 6, "4067": 16}
"""How many switches the book draws in each."""


@pytest.mark.parametrize("number", DRAWN)
def test_pins_are_where_the_book_draws_them(number: str) -> None:
    part = CATALOGUE.part(number)
    lines = [line.split() for line in DRAWN[number].strip().splitlines()]
    down, up = [left for left, _ in lines], [right for _, right in reversed(lines)]
    wanted = dict(zip(map(str, range(1, 2 * len(lines) + 1)), [*down, *up], strict=True))
    assert {pin.number: pin.name for pin in part.pins} == wanted
    assert part.package == f"DIP-{len(wanted)}"


@pytest.mark.parametrize("number", DRAWN)
def test_what_is_joined(number: str) -> None:
    part = CATALOGUE.part(number)
    assert len(part.switches) == SWITCHES[number]
    passive = {pin.name for pin in part.pins if pin.kind is PinKind.PASSIVE}
    assert part.switch_pins == passive
    assert all(name[0] in "YZ" for name in passive)
    commons = [{name for name in switch.joins if name[0] == "Z"} for switch in part.switches]
    assert all(len(one) == 1 for one in commons)  # always between a Y and a Z


def test_the_negative_rail_is_a_ground_pin() -> None:
    """VEE of the 4051 to 4053 and 4316: wired to GND where only logic levels are passed."""
    for number in ("4051", "4052", "4053", "4316"):
        pin = CATALOGUE.part(number).pin("VEE")
        assert pin is not None
        assert pin.kind is PinKind.GROUND
    assert CATALOGUE.part("4067").pin("VEE") is None
