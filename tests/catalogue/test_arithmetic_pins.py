"""Arithmetic chips, comparators, encoders, register files and memories that ship: their pin-outs,
written a second time.

From memory of the data books, going around the package; those of 83, 85, 89, 148, 170, 181, 182,
219, 280, 520, 521, 682, 688, 4511, 27C64 and 28C256 were compared with copies of data sheets,
that of 382 with one of its twin with G and P.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

PINS = {
    "83": "A4 S3 A3 B3 VCC S2 B2 A2 / B4 S4 C4 C0 GND B1 A1 S1",
    "85": "B3 ALTB_IN AEQB_IN AGTB_IN AGTB_OUT AEQB_OUT ALTB_OUT GND / VCC A3 B2 A2 A1 B1 A0 B0",
    "89": "A0 ME_n WE_n D0 S0_n D1 S1_n GND / VCC A1 A2 A3 D3 S3_n D2 S2_n",
    "148": "I4_n I5_n I6_n I7_n EI_n A2_n A1_n GND / VCC EO_n GS_n I3_n I2_n I1_n I0_n A0_n",
    "170": "D2 D3 D4 RB RA Q4 Q3 GND / VCC D1 WA WB GW_n GR_n Q1 Q2",
    "181": "B0 A0 S3 S2 S1 S0 CN M F0 F1 F2 GND / VCC A1 B1 A2 B2 A3 B3 G_n CN4 P_n AEQB F3",
    "182": "G1_n P1_n G0_n P0_n G3_n P3_n P_n GND / VCC P2_n G2_n CN CNX CNY G_n CNZ",
    "219": "A0 CS_n WE_n D0 O0 D1 O1 GND / VCC A1 A2 A3 D3 O3 D2 O2",
    "280": "G H NC I EVEN ODD GND / VCC F E D C B A",
    "382": "A1 B1 A0 B0 S0 S1 S2 F0 F1 GND / VCC A2 B2 A3 B3 CN CN4 OVR F3 F2",
    "520": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "521": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "670": "D2 D3 D4 RB RA Q4 Q3 GND / VCC D1 WA WB GW_n GR_n Q1 Q2",
    "682": "PGTQ_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "688": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "4511": "B C LT_n BL_n LE D A GND / VCC f g a b c d e",
    "6264": "NC A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n CS2 A8 A9 A11 OE_n A10 CS1_n IO7 IO6 IO5 IO4 IO3",
    "62256": "A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n A13 A8 A9 A11 OE_n A10 CS_n IO7 IO6 IO5 IO4 IO3",
    "27C64": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n NC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C128": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC PGM_n A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "27C256": "VPP A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC A14 A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "28C64": "NC A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n NC A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
    "28C256": "A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 IO0 IO1 IO2 GND"
    " / VCC WE_n A13 A8 A9 A11 OE_n A10 CE_n IO7 IO6 IO5 IO4 IO3",
}
"""The left side from the notch down, and the right side from the notch down."""
OUTPUTS = {
    "83": "S C",
    "85": "AGTB_OUT AEQB_OUT ALTB_OUT",
    "89": "S",
    "148": "A EO GS",
    "170": "Q",
    "181": "F P G CN4 AEQB",
    "182": "P G CNX CNY CNZ",
    "219": "O",
    "280": "EVEN ODD",
    "382": "F CN4 OVR",
    "520": "PEQQ",
    "521": "PEQQ",
    "670": "Q",
    "682": "PEQQ PGTQ",
    "688": "PEQQ",
    "4511": "a b c d e f g",
}
"""Stems of the outputs' names; those of the memories are IO."""
INPUTS_OF_THAT_STEM = {"83": {"C0"}, "182": {f"{s}{i}_n" for s in "PG" for i in range(4)}}
OPEN_COLLECTOR = {
    "89": {"S0_n", "S1_n", "S2_n", "S3_n"},
    "170": {"Q1", "Q2", "Q3", "Q4"},
    "181": {"AEQB"},
}

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
    """Ground at the last pin of the left side and supply at the last of the right, but for the
    83. What an erasable memory needs only to be programmed is tied to the supply."""
    part = CATALOGUE.part(number)
    rails = {pin.name for pin in part.pins if pin.kind in (PinKind.SUPPLY, PinKind.GROUND)}
    tied = {"27C64": {"VPP", "PGM_n"}, "27C128": {"VPP", "PGM_n"}, "27C256": {"VPP"}}
    assert rails == {"VCC", "GND"} | tied.get(number, set())
    assert {pin.name for pin in part.pins if pin.kind is PinKind.GROUND} == {"GND"}


@every
def test_what_drives(number: str) -> None:
    part = CATALOGUE.part(number)
    stems = OUTPUTS.get(number, "IO").split()
    wanted = {
        name
        for name in PINS[number].replace("/", "").split()
        if name in stems or name.removesuffix("_n").rstrip("0123456789") in stems
    } - INPUTS_OF_THAT_STEM.get(number, set())
    assert {pin.name for pin in part.pins if pin.kind.drives} == wanted
    pulls = {pin.name for pin in part.pins if pin.kind is PinKind.OPEN_COLLECTOR}
    assert pulls == OPEN_COLLECTOR.get(number, set())


@pytest.mark.parametrize(("one", "other"), [("189", "219"), ("28C16", "6116"), ("28C256", "62256")])
def test_memories_that_take_each_others_place(one: str, other: str) -> None:
    """The same addresses, data, write and supply at the same pins; common practice."""
    pins = [
        {pin.number: pin.name.replace("CS_n", "CE_n").removesuffix("_n") for pin in part.pins}
        for part in (CATALOGUE.part(one), CATALOGUE.part(other))
    ]
    assert pins[0] == pins[1]
