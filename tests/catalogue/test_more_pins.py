"""Pin-outs of counters with registers, 4000-series parts in 74HC numbers and larger memories that
ship, written a second time, going around the package.

From memory of the data books; those of 381, 590, 593, 861 to 863, 93422, 628512 and 27C020 were
compared with copies of data sheets.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

PINS = {
    "381": "A1 B1 A0 B0 S0 S1 S2 F0 F1 GND / VCC A2 B2 A3 B3 CN P_n G_n F3 F2",
    "590": "Q1 Q2 Q3 Q4 Q5 Q6 Q7 GND / VCC Q0 OE_n RCLK CCKEN_n CCLK CCLR_n RCO_n",
    "592": "D1 D2 D3 D4 D5 D6 D7 GND / VCC D0 CLOAD_n RCK CCKEN_n CCK CCLR_n RCO_n",
    "593": "IO0 IO1 IO2 IO3 IO4 IO5 IO6 IO7 CLOAD_n GND"
    " / VCC G G_n RCKEN_n RCK CCKEN CCKEN_n CCK CCLR_n RCO_n",
    "691": "CCLR_n CCK D0 D1 D2 D3 ENP RCLR_n RCK GND / VCC RCO Q0 Q1 Q2 Q3 ENT LD_n G_n R_C_n",
    "693": "CCLR_n CCK D0 D1 D2 D3 ENP RCLR_n RCK GND / VCC RCO Q0 Q1 Q2 Q3 ENT LD_n G_n R_C_n",
    "697": "U_D_n CCK D0 D1 D2 D3 ENP_n CCLR_n RCK GND"
    " / VCC RCO_n Q0 Q1 Q2 Q3 ENT_n LD_n G_n R_C_n",
    "699": "U_D_n CCK D0 D1 D2 D3 ENP_n CCLR_n RCK GND"
    " / VCC RCO_n Q0 Q1 Q2 Q3 ENT_n LD_n G_n R_C_n",
    "861": "GBA_n A0 A1 A2 A3 A4 A5 A6 A7 A8 A9 GND / VCC B0 B1 B2 B3 B4 B5 B6 B7 B8 B9 GAB_n",
    "862": "GBA_n A0 A1 A2 A3 A4 A5 A6 A7 A8 A9 GND / VCC B0 B1 B2 B3 B4 B5 B6 B7 B8 B9 GAB_n",
    "863": "GBA1_n A0 A1 A2 A3 A4 A5 A6 A7 A8 GBA2_n GND"
    " / VCC B0 B1 B2 B3 B4 B5 B6 B7 B8 GAB2_n GAB1_n",
    "864": "GBA1_n A0 A1 A2 A3 A4 A5 A6 A7 A8 GBA2_n GND"
    " / VCC B0 B1 B2 B3 B4 B5 B6 B7 B8 GAB2_n GAB1_n",
    "65": "A E F G H I GND / VCC D C B K J Y",
    "70": "NC CLR_n J1 J2 J_n Q_n GND / VCC PRE_n CLK K2 K1 K_n Q",
    "4020": "Q11 Q12 Q13 Q5 Q4 Q6 Q3 GND / VCC Q10 Q9 Q7 Q8 MR CP_n Q0",
    "4024": "CP_n MR Q6 Q5 Q4 Q3 GND / VCC NC Q0 Q1 NC Q2 NC",
    "4028": "Y4 Y2 Y0 Y7 Y9 Y5 Y6 GND / VCC Y3 Y1 B C D A Y8",
    "4040": "Q11 Q5 Q4 Q6 Q3 Q2 Q1 GND / VCC Q10 Q9 Q7 Q8 MR CP_n Q0",
    "40105": "OE_n DIR SI D0 D1 D2 D3 GND / VCC SO DOR Q0 Q1 Q2 Q3 MR",
    "4049": "VCC Y1 A1 Y2 A2 Y3 A3 GND / NC Y6 A6 NC Y5 A5 Y4 A4",
    "4050": "VCC Y1 A1 Y2 A2 Y3 A3 GND / NC Y6 A6 NC Y5 A5 Y4 A4",
    "4060": "Q11 Q12 Q13 Q5 Q4 Q6 Q3 GND / VCC Q9 Q7 Q8 MR RS RTC CTC",
    "4072": "Y1 A1 B1 C1 D1 NC GND / VCC Y2 D2 C2 B2 A2 NC",
    "4510": "PL Q3 D3 D0 CE_n Q0 TC_n GND / VCC CP Q2 D2 D1 Q1 UP MR",
    "4514": "LE A0 A1 Y7 Y6 Y5 Y4 Y3 Y1 Y2 Y0 GND / VCC E_n A3 A2 Y10 Y11 Y8 Y9 Y14 Y15 Y12 Y13",
    "4515": "LE A0 A1 Y7_n Y6_n Y5_n Y4_n Y3_n Y1_n Y2_n Y0_n GND"
    " / VCC E_n A3 A2 Y10_n Y11_n Y8_n Y9_n Y14_n Y15_n Y12_n Y13_n",
    "4516": "PL Q3 D3 D0 CE_n Q0 TC_n GND / VCC CP Q2 D2 D1 Q1 UP MR",
    "4518": "CLK1 EN1 Q1A Q1B Q1C Q1D CLR1 GND / VCC CLR2 Q2D Q2C Q2B Q2A EN2 CLK2",
    "4520": "CLK1 EN1 Q1A Q1B Q1C Q1D CLR1 GND / VCC CLR2 Q2D Q2C Q2B Q2A EN2 CLK2",
    "4543": "LE C B D A PH BL GND / VCC f g e d c b a",
    "628128": "NC A16 A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A15 CE2 WE_n A13 A8 A9 A11 OE_n A10 CE1_n IO7 IO6 IO5 IO4 IO3",
    "628512": "A18 A16 A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A15 A17 WE_n A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "93422": "A3 A2 A1 A0 A5 A6 A7 GND D0 O0 D1 / VCC A4 WE_n CS1_n OE_n CS2 O3 D3 O2 D2 O1",
    "2114": "A6 A5 A4 A3 A0 A1 A2 CS_n GND / VCC A7 A8 A9 IO0 IO1 IO2 IO3 WE_n",
    "2716": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 VPP OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C16": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 VPP OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "2732": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C32": "A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "2764": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n NC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27128": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27256": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
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
DRIVES = {
    "381": "8 9 11 12 13 14",
    "590": "1 2 3 4 5 6 7 9 15",
    "592": "9",
    "593": "1 2 3 4 5 6 7 8 11",
    "691": "15 16 17 18 19",
    "693": "15 16 17 18 19",
    "697": "15 16 17 18 19",
    "699": "15 16 17 18 19",
    "861": "2 3 4 5 6 7 8 9 10 11 14 15 16 17 18 19 20 21 22 23",
    "862": "2 3 4 5 6 7 8 9 10 11 14 15 16 17 18 19 20 21 22 23",
    "863": "2 3 4 5 6 7 8 9 10 15 16 17 18 19 20 21 22 23",
    "864": "2 3 4 5 6 7 8 9 10 15 16 17 18 19 20 21 22 23",
    "65": "8",
    "70": "6 8",
    "4020": "1 2 3 4 5 6 7 9 12 13 14 15",
    "4024": "3 4 5 6 9 11 12",
    "4028": "1 2 3 4 5 6 7 9 14 15",
    "4040": "1 2 3 4 5 6 7 9 12 13 14 15",
    "40105": "2 10 11 12 13 14",
    "4049": "2 4 6 10 12 15",
    "4050": "2 4 6 10 12 15",
    "4060": "1 2 3 4 5 6 7 9 10 13 14 15",
    "4072": "1 13",
    "4510": "2 6 7 11 14",
    "4514": "4 5 6 7 8 9 10 11 13 14 15 16 17 18 19 20",
    "4515": "4 5 6 7 8 9 10 11 13 14 15 16 17 18 19 20",
    "4516": "2 6 7 11 14",
    "4518": "3 4 5 6 11 12 13 14",
    "4520": "3 4 5 6 11 12 13 14",
    "4543": "9 10 11 12 13 14 15",
    "93422": "10 12 14 16",
    "2114": "11 12 13 14",
    **dict.fromkeys(("2716", "27C16", "2732", "27C32"), "9 10 11 13 14 15 16 17"),
    **dict.fromkeys(("2764", "27128", "27256"), "11 12 13 15 16 17 18 19"),
    "27C512": "11 12 13 15 16 17 18 19",
    **dict.fromkeys(
        ("628128", "628512", "27C010", "27C020", "27C040", "28C010"), "13 14 15 17 18 19 20 21"
    ),
    **dict.fromkeys(("39SF010", "39SF020", "39SF040"), "13 14 15 17 18 19 20 21"),
}
"""Which pins drive, by number; from memory of the data books."""
TIED = {
    "2716": "VPP",
    "2764": "VPP PGM_n",
    "27128": "VPP PGM_n",
    "27256": "VPP",
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
    pins = [pin for pin in part.pins if pin.kind is not PinKind.MOMENT]
    assert {pin.number: pin.name for pin in pins} == {
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


@every
def test_what_drives(number: str) -> None:
    part = CATALOGUE.part(number)
    assert [pin.number for pin in part.pins if pin.kind.drives] == DRIVES[number].split()
    pulls = [pin.number for pin in part.pins if pin.kind is PinKind.OPEN_COLLECTOR]
    assert pulls == (["8"] if number == "65" else [])


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("28C010", "39SF010", ""),
        ("27C010", "39SF010", "1 31"),
        ("27C020", "39SF020", "1 31"),
        ("27C040", "39SF040", "1 31"),
        ("2716", "6116", "21"),
        ("628128", "628512", "1 22 30"),
        ("4049", "4050", ""),
        ("4518", "4520", ""),
        ("4510", "4516", ""),
        ("691", "693", ""),
        ("697", "699", ""),
        ("861", "862", ""),
        ("863", "864", ""),
    ],
)
def test_parts_that_take_each_others_place(one: str, other: str, apart: str) -> None:
    """The same names at the same pins, but for those that are told; common practice."""
    pins = [
        {pin.number: pin.name.replace("CS_n", "CE_n") for pin in CATALOGUE.part(number).pins}
        for number in (one, other)
    ]
    assert {number for number, name in pins[0].items() if pins[1][number] != name} == set(
        apart.split()
    )
