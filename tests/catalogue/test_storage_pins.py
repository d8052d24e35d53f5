"""Pin-outs of registers, counters and shift registers, drawn a second time.

Each is written as the data book's top view is drawn, from memory: one line a row of pins, from the
notch down, the left side and the right side. The part files list the pins by number.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

DRAWN = {
    "73": """
        CLK1 J1
        CLR1_n Q1_n
        K1 Q1
        VCC GND
        CLK2 K2
        CLR2_n Q2
        J2 Q2_n
    """,
    "75": """
        Q1_n Q1
        D1 Q2
        D2 Q2_n
        C34 C12
        VCC GND
        D3 Q3_n
        D4 Q3
        Q4_n Q4
    """,
    "77": """
        D1 Q1
        D2 Q2
        C34 C12
        VCC GND
        D3 NC
        D4 Q3
        NC Q4
    """,
    "90": """
        CKB CKA
        R01 NC
        R02 Q0
        NC Q3
        VCC GND
        R91 Q1
        R92 Q2
    """,
    "93": """
        CKB CKA
        R01 NC
        R02 Q0
        NC Q3
        VCC GND
        NC Q1
        NC Q2
    """,
    "95": """
        SER VCC
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        MODE CLK1
        GND CLK2
    """,
    "107": """
        J1 VCC
        Q1_n CLR1_n
        Q1 CLK1
        K1 K2
        Q2 CLR2_n
        Q2_n CLK2
        GND J2
    """,
    "109": """
        CLR1_n VCC
        J1 CLR2_n
        K1_n J2
        CLK1 K2_n
        PRE1_n CLK2
        Q1 PRE2_n
        Q1_n Q2
        GND Q2_n
    """,
    "112": """
        CLK1 VCC
        K1 CLR1_n
        J1 CLR2_n
        PRE1_n CLK2
        Q1 K2
        Q1_n J2
        Q2_n PRE2_n
        GND Q2
    """,
    "160": """
        CLR_n VCC
        CLK RCO
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        ENP ENT
        GND LD_n
    """,
    "162": """
        CLR_n VCC
        CLK RCO
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        ENP ENT
        GND LD_n
    """,
    "166": """
        SER VCC
        D0 SH_LD_n
        D1 D7
        D2 Q7
        D3 D6
        CLK_INH D5
        CLK D4
        GND CLR_n
    """,
    "169": """
        U_D_n VCC
        CLK RCO_n
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        ENP_n ENT_n
        GND LD_n
    """,
    "190": """
        D1 VCC
        Q1 D0
        Q0 CLK
        CTEN_n RCO_n
        D_U_n MAX_MIN
        Q2 LD_n
        Q3 D2
        GND D3
    """,
    "191": """
        D1 VCC
        Q1 D0
        Q0 CLK
        CTEN_n RCO_n
        D_U_n MAX_MIN
        Q2 LD_n
        Q3 D2
        GND D3
    """,
    "192": """
        D1 VCC
        Q1 D0
        Q0 CLR
        DOWN BO_n
        UP CO_n
        Q2 LD_n
        Q3 D2
        GND D3
    """,
    "193": """
        D1 VCC
        Q1 D0
        Q0 CLR
        DOWN BO_n
        UP CO_n
        Q2 LD_n
        Q3 D2
        GND D3
    """,
    "194": """
        CLR_n VCC
        SR_SER Q0
        D0 Q1
        D1 Q2
        D2 Q3
        D3 CLK
        SL_SER S1
        GND S0
    """,
    "195": """
        CLR_n VCC
        J Q0
        K_n Q1
        D0 Q2
        D1 Q3
        D2 Q3_n
        D3 CLK
        GND SH_LD_n
    """,
    "198": """
        S0 VCC
        SR_SER S1
        D0 SL_SER
        Q0 D7
        D1 Q7
        Q1 D6
        D2 Q6
        Q2 D5
        D3 Q5
        Q3 D4
        CLK Q4
        GND CLR_n
    """,
    "259": """
        A0 VCC
        A1 CLR_n
        A2 LE_n
        Q0 D
        Q1 Q7
        Q2 Q6
        Q3 Q5
        GND Q4
    """,
    "293": """
        NC VCC
        NC R02
        NC R01
        Q2 CKB
        Q1 CKA
        NC Q0
        GND Q3
    """,
    "299": """
        S0 VCC
        G1_n S1
        G2_n SL
        IO6 Q7S
        IO4 IO7
        IO2 IO5
        IO0 IO3
        Q0S IO1
        CLR_n CLK
        GND SR
    """,
    "323": """
        S0 VCC
        G1_n S1
        G2_n SL
        IO6 Q7S
        IO4 IO7
        IO2 IO5
        IO0 IO3
        Q0S IO1
        CLR_n CLK
        GND SR
    """,
    "393": """
        CLK1 VCC
        CLR1 CLK2
        Q1A CLR2
        Q1B Q2A
        Q1C Q2B
        Q1D Q2C
        GND Q2D
    """,
    "594": """
        Q1 VCC
        Q2 Q0
        Q3 SER
        Q4 RCLR_n
        Q5 RCLK
        Q6 SRCLK
        Q7 SRCLR_n
        GND Q7S
    """,
    "595": """
        Q1 VCC
        Q2 Q0
        Q3 SER
        Q4 OE_n
        Q5 RCLK
        Q6 SRCLK
        Q7 SRCLR_n
        GND Q7S
    """,
    "597": """
        D1 VCC
        D2 D0
        D3 SER
        D4 SRLD_n
        D5 RCLK
        D6 SRCLK
        D7 SRCLR_n
        GND Q7
    """,
    "646": """
        CLKAB VCC
        SAB CLKBA
        DIR SBA
        A1 G_n
        A2 B1
        A3 B2
        A4 B3
        A5 B4
        A6 B5
        A7 B6
        A8 B7
        GND B8
    """,
    "652": """
        CLKAB VCC
        SAB CLKBA
        GAB SBA
        A1 GBA_n
        A2 B1
        A3 B2
        A4 B3
        A5 B4
        A6 B5
        A7 B6
        A8 B7
        GND B8
    """,
    "821": """
        OE_n VCC
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        D8 Q8
        D9 Q9
        GND CLK
    """,
    "823": """
        OE_n VCC
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        D8 Q8
        CLR_n CLKEN_n
        GND CLK
    """,
    "825": """
        OE1_n VCC
        OE2_n OE3_n
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        CLR_n CLKEN_n
        GND CLK
    """,
    "841": """
        OE_n VCC
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        D8 Q8
        D9 Q9
        GND LE
    """,
    "867": """
        S0 VCC
        S1 ENP_n
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        ENT_n CLK
        GND RCO_n
    """,
    "869": """
        S0 VCC
        S1 ENP_n
        D0 Q0
        D1 Q1
        D2 Q2
        D3 Q3
        D4 Q4
        D5 Q5
        D6 Q6
        D7 Q7
        ENT_n CLK
        GND RCO_n
    """,
    "4017": """
        Q5 VCC
        Q1 MR
        Q0 CP0
        Q2 CP1_n
        Q6 CO
        Q7 Q9
        Q3 Q4
        GND Q8
    """,
    "4094": """
        STR VCC
        D OE
        CP Q4
        Q0 Q5
        Q1 Q6
        Q2 Q7
        Q3 QS2
        GND QS1
    """,
}
OUTPUTS = {
    "73": "8 9 12 13",
    "75": "1 8 9 10 11 14 15 16",
    "77": "8 9 13 14",
    "90": "8 9 11 12",
    "93": "8 9 11 12",
    "95": "10 11 12 13",
    "107": "2 3 5 6",
    "109": "6 7 9 10",
    "112": "5 6 7 9",
    "160": "11 12 13 14 15",
    "162": "11 12 13 14 15",
    "166": "13",
    "169": "11 12 13 14 15",
    "190": "2 3 6 7 12 13",
    "191": "2 3 6 7 12 13",
    "192": "2 3 6 7 12 13",
    "193": "2 3 6 7 12 13",
    "194": "12 13 14 15",
    "195": "11 12 13 14 15",
    "198": "4 6 8 10 14 16 18 20",
    "259": "4 5 6 7 9 10 11 12",
    "293": "4 5 8 9",
    "299": "4 5 6 7 8 13 14 15 16 17",
    "323": "4 5 6 7 8 13 14 15 16 17",
    "393": "3 4 5 6 8 9 10 11",
    "594": "1 2 3 4 5 6 7 9 15",
    "595": "1 2 3 4 5 6 7 9 15",
    "597": "9",
    "646": "4 5 6 7 8 9 10 11 13 14 15 16 17 18 19 20",
    "652": "4 5 6 7 8 9 10 11 13 14 15 16 17 18 19 20",
    "821": "14 15 16 17 18 19 20 21 22 23",
    "823": "15 16 17 18 19 20 21 22 23",
    "825": "15 16 17 18 19 20 21 22",
    "841": "14 15 16 17 18 19 20 21 22 23",
    "867": "13 15 16 17 18 19 20 21 22",
    "869": "13 15 16 17 18 19 20 21 22",
    "4017": "1 2 3 4 5 6 7 9 10 11 12",
    "4094": "4 5 6 7 9 10 11 12 13 14",
}
"""Which pins drive, by number, going around the package; from memory of the data books."""


def _drawn(number: str) -> list[str]:
    """Names by pin number: down the left side, up the right."""
    rows = [row.split() for row in DRAWN[number].split("\n") if row.strip()]
    return [row[0] for row in rows] + [row[1] for row in reversed(rows)]


@pytest.mark.parametrize("number", DRAWN)
def test_pins_are_where_the_data_book_draws_them(number: str) -> None:
    part = CATALOGUE.part(number)
    drawn = _drawn(number)
    assert part.package == f"DIP-{len(drawn)}"
    assert [pin.number for pin in part.pins] == [str(at + 1) for at in range(len(drawn))]
    names = ["NC" if pin.kind is PinKind.NOT_CONNECTED else pin.name for pin in part.pins]
    assert names == drawn
    supplies = {pin.name for pin in part.pins if pin.kind is PinKind.SUPPLY}
    grounds = {pin.name for pin in part.pins if pin.kind is PinKind.GROUND}
    assert (supplies, grounds) == ({"VCC"}, {"GND"})


@pytest.mark.parametrize("number", OUTPUTS)
def test_outputs_are_those_of_the_data_book(number: str) -> None:
    drives = [pin.number for pin in CATALOGUE.part(number).pins if pin.kind.drives]
    assert drives == OUTPUTS[number].split()


def test_each_drawing_says_which_pins_drive() -> None:
    assert list(OUTPUTS) == list(DRAWN)
