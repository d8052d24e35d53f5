"""Pins of timers, display decoders, flip-flops and gates that differ in families, a second time.

Each is written as the data book's top view is drawn, from memory: one line a row of pins, from the
notch down, the left side and the right side. The part files list the pins by number.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue

CATALOGUE = Catalogue()

MONOSTABLE = """
    A1_n VCC
    B1 REXT_CEXT1
    CLR1_n CEXT1
    Q1_n Q1
    Q2 Q2_n
    CEXT2 CLR2_n
    REXT_CEXT2 B2
    GND A2_n
"""
DISPLAY = """
    B VCC
    C f
    LT_n g
    BI_RBO_n a
    RBI_n b
    D c
    A d
    GND e
"""
DRAWN = {
    "47": DISPLAY,
    "48": DISPLAY,
    "247": DISPLAY,
    "248": DISPLAY,
    "123": MONOSTABLE,
    "221": MONOSTABLE,
    "423": MONOSTABLE,
    "121": """
        Q_n VCC
        NC NC
        A1_n NC
        A2_n REXT_CEXT
        B CEXT
        Q RINT
        GND NC
    """,
    "122": """
        A1_n VCC
        A2_n REXT_CEXT
        B1 NC
        B2 CEXT
        CLR_n NC
        Q_n RINT
        GND Q
    """,
    "4538": """
        CX1 VCC
        RX1 CX2
        CLR1_n RX2
        A1 CLR2_n
        B1_n A2
        Q1 B2_n
        Q1_n Q2
        GND Q2_n
    """,
    "555": """
        GND VCC
        TRIG_n DISCH
        OUT THRES
        RESET_n CONT
    """,
    "556": """
        DISCH1 VCC
        THRES1 DISCH2
        CONT1 THRES2
        RESET1_n CONT2
        OUT1 RESET2_n
        TRIG1_n OUT2
        GND TRIG2_n
    """,
    "76": """
        CLK1 K1
        PRE1_n Q1
        CLR1_n Q1_n
        J1 GND
        VCC K2
        CLK2 Q2
        PRE2_n Q2_n
        CLR2_n J2
    """,
    "266": """
        A1 VCC
        B1 B4
        Y1 A4
        Y2 Y4
        A2 Y3
        B2 B3
        GND A3
    """,
    "51": """
        A1 VCC
        A2 C1
        B2 B1
        C2 F1
        D2 E1
        Y2 D1
        GND Y1
    """,
    "51@TTL": """
        A1 VCC
        A2 B1
        B2 NC
        C2 NC
        D2 D1
        Y2 C1
        GND Y1
    """,
    "54": """
        A VCC
        B J
        C I
        D H
        E G
        Y F
        GND NC
    """,
    "54@TTL": """
        A VCC
        C B
        D NC
        E NC
        F H
        NC G
        GND Y
    """,
}
DRAWN["266@HC"] = DRAWN["266"]
DRAWN["76@TTL"] = DRAWN["76"]


@pytest.mark.parametrize("key", DRAWN)
def test_pins_are_where_the_data_book_draws_them(key: str) -> None:
    number = key.partition("@")[0]
    part = next(form for form in CATALOGUE.part(number).forms() if form.key == key)
    rows = [line.split() for line in DRAWN[key].strip().splitlines()]
    wanted = [left for left, _ in rows] + [right for _, right in reversed(rows)]
    pins = {pin.number: pin.name for pin in part.pins if pin not in part.moments}
    assert [pins[str(number + 1)] for number in range(len(pins))] == wanted
