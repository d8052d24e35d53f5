"""Gates, buffers, selectors and decoders that ship: their pin-outs, written a second time.

From memory of the data books, going around the package; those of 42, 64, 133, 137, 243, 260,
563, 623, 827, 4002, 4075 and 4078 were compared with copies of data sheets.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

OUTPUTS = {
    "03": "3 6 8 11",
    "05": "2 4 6 8 10 12",
    "06": "2 4 6 8 10 12",
    "07": "2 4 6 8 10 12",
    "09": "3 6 8 11",
    "13": "6 8",
    "25": "6 8",
    "26": "3 6 8 11",
    "28": "1 4 10 13",
    "37": "3 6 8 11",
    "38": "3 6 8 11",
    "40": "6 8",
    "42": "1 2 3 4 5 6 7 9 10 11",
    "55": "8",
    "64": "8",
    "132": "3 6 8 11",
    "133": "9",
    "137": "7 9 10 11 12 13 14 15",
    "150": "10",
    "154": "1 2 3 4 5 6 7 8 9 10 11 13 14 15 16 17",
    "238": "7 9 10 11 12 13 14 15",
    "243": "3 4 5 6 8 9 10 11",
    "251": "5 6",
    "253": "7 9",
    "258": "4 7 9 12",
    "260": "5 6",
    "365": "3 5 7 9 11 13",
    "366": "3 5 7 9 11 13",
    "367": "3 5 7 9 11 13",
    "368": "3 5 7 9 11 13",
    "540": "11 12 13 14 15 16 17 18",
    "563": "12 13 14 15 16 17 18 19",
    "564": "12 13 14 15 16 17 18 19",
    "623": "2 3 4 5 6 7 8 9 11 12 13 14 15 16 17 18",
    "640": "2 3 4 5 6 7 8 9 11 12 13 14 15 16 17 18",
    "827": "14 15 16 17 18 19 20 21 22 23",
    "4002": "1 13",
    "4075": "6 9 10",
    "4078": "1 13",
}
NOT_CONNECTED = {
    "13": "3 11",
    "40": "3 11",
    "55": "5 6 9",
    "243": "2 12",
    "4002": "6 8",
    "4078": "6 8",
}
OPEN_COLLECTOR = {"03", "05", "06", "07", "09", "26", "38"}
BUFFERS = {"28", "37", "38", "40"}
BUS_DRIVERS = {
    *("243", "258", "365", "366", "367", "368"),
    *("540", "563", "564", "623", "640", "827"),
}
PACKAGES = {
    16: "42 133 137 238 251 253 258 365 366 367 368",
    20: "540 563 564 623 640",
    24: "150 154 827",
}
INPUTS = {
    "03": "A1 1, B1 2, A2 4, B2 5, A3 9, B3 10, A4 12, B4 13",
    "05": "A1 1, A2 3, A3 5, A4 9, A5 11, A6 13",
    "09": "A1 1, B1 2, A2 4, B2 5, A3 9, B3 10, A4 12, B4 13",
    "13": "A1 1, B1 2, C1 4, D1 5, A2 9, B2 10, C2 12, D2 13",
    "25": "A1 1, B1 2, G1 3, C1 4, D1 5, A2 9, B2 10, G2 11, C2 12, D2 13",
    "28": "Y1 1, A1 2, B1 3, Y2 4, A2 5, B2 6, A3 8, B3 9, Y3 10, A4 11, B4 12, Y4 13",
    "42": "A 15, B 14, C 13, D 12, Y0_n 1, Y6_n 7, Y7_n 9, Y9_n 11",
    "55": "A 1, B 2, C 3, D 4, E 10, F 11, G 12, H 13",
    "64": "A 1, B 11, C 12, D 13, E 2, F 3, G 4, H 5, I 6, J 9, K 10",
    "133": "A 1, G 7, H 10, M 15",
    "137": "A0 1, A1 2, A2 3, GL_n 4, G2_n 5, G1 6, Y7_n 7, Y6_n 9, Y0_n 15",
    "150": "E7 1, E0 8, G_n 9, W 10, D 11, C 13, B 14, A 15, E15 16, E8 23",
    "154": "Y0_n 1, Y10_n 11, Y11_n 13, Y15_n 17, G1_n 18, G2_n 19, D 20, C 21, B 22, A 23",
    "238": "A0 1, A1 2, A2 3, G2A_n 4, G2B_n 5, G1 6, Y7 7, Y6 9, Y0 15",
    "243": "GAB_n 1, A1 3, A4 6, B4 8, B1 11, GBA 13",
    "251": "D3 1, D0 4, Y 5, W 6, G_n 7, C 9, B 10, A 11, D7 12, D4 15",
    "253": "G1_n 1, B 2, C13 3, C10 6, Y1 7, Y2 9, C20 10, C23 13, A 14, G2_n 15",
    "258": "S 1, A1 2, B1 3, Y1 4, Y3 9, B3 10, A3 11, Y4 12, B4 13, A4 14, G_n 15",
    "260": "A1 1, B1 2, C1 3, A2 4, Y1 5, Y2 6, B2 8, C2 9, D2 10, E2 11, D1 12, E1 13",
    "365": "G1_n 1, A1 2, Y1 3, A3 6, Y3 7, Y4 9, A4 10, Y6 13, A6 14, G2_n 15",
    "367": "G1_n 1, A11 2, Y11 3, Y14 9, A14 10, Y21 11, A21 12, Y22 13, A22 14, G2_n 15",
    "540": "G1_n 1, A1 2, A8 9, Y8 11, Y1 18, G2_n 19",
    "563": "OE_n 1, D0 2, D7 9, LE 11, Q7_n 12, Q0_n 19",
    "564": "OE_n 1, D0 2, D7 9, CLK 11, Q7_n 12, Q0_n 19",
    "623": "GAB 1, A1 2, A8 9, B8 11, B1 18, GBA_n 19",
    "640": "DIR 1, A1 2, A8 9, B8 11, B1 18, G_n 19",
    "827": "G1_n 1, A1 2, A10 11, G2_n 13, Y10 14, Y1 23",
    "4002": "Y1 1, A1 2, D1 5, A2 9, D2 12, Y2 13",
    "4075": "A2 1, B2 2, A1 3, B1 4, C1 5, Y1 6, C2 8, Y2 9, Y3 10, A3 11, B3 12, C3 13",
    "4078": "Y 1, A 2, D 5, E 9, H 12, X 13",
}
ALIKE = [
    ("00", "03", "09", "26", "37", "38", "132"),
    ("04", "05", "06", "07"),
    ("02", "28"),
    ("20", "13", "40"),
    ("151", "251"),
    ("153", "253"),
    ("157", "158", "257", "258"),
    ("365", "366"),
    ("367", "368"),
    ("541", "540"),
    ("245", "640"),
]
"""Numbers that can take each other's place on a board: the same names at the same pins."""


def _size(number: str) -> int:
    return next((size for size, those in PACKAGES.items() if number in those.split()), 14)


@pytest.mark.parametrize("number", OUTPUTS)
def test_outputs_are_at_the_pins_of_the_data_book(number: str) -> None:
    part = CATALOGUE.part(number)
    drives = [pin.number for pin in part.pins if pin.kind.drives]
    assert sorted(drives, key=int) == OUTPUTS[number].split()
    loose = [pin.number for pin in part.pins if pin.kind is PinKind.NOT_CONNECTED]
    assert loose == NOT_CONNECTED.get(number, "").split()


@pytest.mark.parametrize("number", INPUTS)
def test_names_are_at_the_pins_of_the_data_book(number: str) -> None:
    part = CATALOGUE.part(number)
    for entry in INPUTS[number].split(", "):
        name, place = entry.split()
        pin = part.pin(place)
        assert pin is not None
        assert pin.name == name


@pytest.mark.parametrize("number", OUTPUTS)
def test_supply_and_ground_are_at_the_corners(number: str) -> None:
    part = CATALOGUE.part(number)
    count = _size(number)
    assert part.package == f"DIP-{count}"
    assert len(part.pins) == count
    supplies = {pin.number: pin.kind for pin in part.pins if pin.name in ("VCC", "GND")}
    assert supplies == {str(count // 2): PinKind.GROUND, str(count): PinKind.SUPPLY}


@pytest.mark.parametrize("numbers", ALIKE, ids=" ".join)
def test_kin_have_the_same_pin_out(numbers: tuple[str, ...]) -> None:
    first, *others = ([(p.number, p.name) for p in CATALOGUE.part(n).pins] for n in numbers)
    assert all(other == first for other in others)


def test_what_only_pulls_down_and_what_drives_a_bus() -> None:
    """From memory of the data books."""
    pulls = {
        number
        for number in OUTPUTS
        if any(pin.kind is PinKind.OPEN_COLLECTOR for pin in CATALOGUE.part(number).pins)
    }
    assert pulls == OPEN_COLLECTOR
    classes = {
        number: {kind for _, kind in CATALOGUE.part(number).output_classes} for number in OUTPUTS
    }
    strong = {number for number, kinds in classes.items() if kinds & {"bus-output", "bus-driver"}}
    assert strong == BUS_DRIVERS
    assert {number for number, kinds in classes.items() if "buffer" in kinds} == BUFFERS
    assert {number for number, kinds in classes.items() if "driver-30" in kinds} == {"06", "07"}
