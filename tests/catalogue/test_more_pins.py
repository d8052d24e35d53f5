"""Pin-outs of counters with registers, 4000-series parts in 74HC numbers and larger memories that
ship, written a second time, going around the package.

From memory of the data books; those of 381, 590, 593, 628512, 27C020 and 697 were compared with
copies of data sheets.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

PINS = {
    "628128": "NC A16 A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A15 CE2 WE_n A13 A8 A9 A11 OE_n A10 CE1_n IO7 IO6 IO5 IO4 IO3",
    "628512": "A18 A16 A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A15 A17 WE_n A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "2114": "A6 A5 A4 A3 A0 A1 A2 CS_n GND / VCC A7 A8 A9 IO0 IO1 IO2 IO3 WE_n",
    "2716": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 VPP OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C16": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 VPP OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "2732": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C32": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C512": "A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C010": "VPP A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n NC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C020": "VPP A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n A17 A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C040": "VPP A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A18 A17 A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "28C010": "NC A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n NC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "39SF010": "NC A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n NC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "39SF020": "NC A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n A17 A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "39SF040": "A18 A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n A17 A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
}
"""The left side from the notch down, and the right side from the notch down."""
TIED = {
    "2716": "VPP",
    "27C16": "VPP",
    "27C010": "VPP PGM_n",
    "27C020": "VPP PGM_n",
    "27C040": "VPP",
}
"""What an erasable memory needs only to be programmed is tied to the supply."""

every = pytest.mark.parametrize("number", PINS)


@every
def test_pins_go_around_the_package(number: str) -> None:
    part = CATALOGUE.part(number)
    left, right = (side.split() for side in PINS[number].split(" / "))
    assert len(left) == len(right)
    names = [*left, *reversed(right)]
    assert part.package == f"DIP-{len(names)}"
    assert {pin.number: pin.name for pin in part.pins} == {
        str(place): name for place, name in enumerate(names, 1)
    }


@every
def test_supply_and_ground(number: str) -> None:
    part = CATALOGUE.part(number)
    kinds = (PinKind.SUPPLY, PinKind.GROUND, PinKind.NOT_CONNECTED)
    found = {pin.name: pin.kind for pin in part.pins if pin.kind in kinds}
    tied = dict.fromkeys(TIED.get(number, "").split(), PinKind.SUPPLY)
    rails = {"VCC": PinKind.SUPPLY, "GND": PinKind.GROUND, **tied}
    loose = {"NC": PinKind.NOT_CONNECTED} if "NC" in PINS[number].split() else {}
    assert found == rails | loose


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("28C010", "39SF010", ""),
        ("27C010", "39SF010", "1 31"),
        ("27C020", "39SF020", "1 31"),
        ("27C040", "39SF040", "1 31"),
        ("2716", "6116", "21"),
        ("628128", "628512", "1 22 30"),
    ],
)
def test_memories_that_take_each_others_place(one: str, other: str, apart: str) -> None:
    """The same names at the same pins, but for those that are told; common practice."""
    pins = [
        {pin.number: pin.name.replace("CS_n", "CE_n") for pin in CATALOGUE.part(number).pins}
        for number in (one, other)
    ]
    assert {number for number, name in pins[0].items() if pins[1][number] != name} == set(
        apart.split()
    )
