"""The part files that ship: which there are, their pin-outs, and how much their rows look at.

Pin-outs are from memory of the data books, written here a second time and by another way: which
pin numbers are outputs, going around the package.
"""

from functools import cache

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import Latch, PartType, PinKind, Register, Role
from breadproof.specs.catalogue.rows import expand

CATALOGUE = Catalogue()

OUTPUTS = {
    "00": "3 6 8 11",
    "02": "1 4 10 13",
    "04": "2 4 6 8 10 12",
    "08": "3 6 8 11",
    "10": "6 8 12",
    "11": "6 8 12",
    "14": "2 4 6 8 10 12",
    "20": "6 8",
    "21": "6 8",
    "27": "6 8 12",
    "30": "8",
    "32": "3 6 8 11",
    "74": "5 6 8 9",
    "86": "3 6 8 11",
    "125": "3 6 8 11",
    "126": "3 6 8 11",
    "138": "7 9 10 11 12 13 14 15",
    "139": "4 5 6 7 9 10 11 12",
    "151": "5 6",
    "153": "7 9",
    "157": "4 7 9 12",
    "158": "4 7 9 12",
    "161": "11 12 13 14 15",
    "163": "11 12 13 14 15",
    "164": "3 4 5 6 10 11 12 13",
    "165": "7 9",
    "173": "3 4 5 6",
    "174": "2 5 7 10 12 15",
    "175": "2 3 6 7 10 11 14 15",
    "189": "5 7 9 11",
    "240": "3 5 7 9 12 14 16 18",
    "241": "3 5 7 9 12 14 16 18",
    "244": "3 5 7 9 12 14 16 18",
    "245": "2 3 4 5 6 7 8 9 11 12 13 14 15 16 17 18",
    "257": "4 7 9 12",
    "273": "2 5 6 9 12 15 16 19",
    "283": "1 4 9 10 13",
    "373": "2 5 6 9 12 15 16 19",
    "374": "2 5 6 9 12 15 16 19",
    "377": "2 5 6 9 12 15 16 19",
    "541": "11 12 13 14 15 16 17 18",
    "573": "12 13 14 15 16 17 18 19",
    "574": "12 13 14 15 16 17 18 19",
    "6116": "9 10 11 13 14 15 16 17",
    "28C16": "9 10 11 13 14 15 16 17",
}
NOT_CONNECTED = {"20": "3 11", "21": "3 11", "30": "9 10 13"}
SPECIAL = {
    "74": {"1": "CLR1_n", "3": "CLK1", "4": "PRE1_n", "10": "PRE2_n", "11": "CLK2", "13": "CLR2_n"},
    "125": {"1": "G1_n", "4": "G2_n", "10": "G3_n", "13": "G4_n"},
    "126": {"1": "G1", "4": "G2", "10": "G3", "13": "G4"},
    "138": {"1": "A0", "2": "A1", "3": "A2", "4": "G2A_n", "5": "G2B_n", "6": "G1", "15": "Y0_n"},
    "139": {"1": "G1_n", "2": "A1", "3": "B1", "13": "B2", "14": "A2", "15": "G2_n"},
    "151": {"4": "D0", "5": "Y", "6": "W", "7": "G_n", "9": "C", "10": "B", "11": "A", "12": "D7"},
    "153": {"1": "G1_n", "2": "B", "6": "C10", "10": "C20", "14": "A", "15": "G2_n"},
    "157": {"1": "S", "10": "B3", "11": "A3", "13": "B4", "14": "A4", "15": "G_n"},
    "161": {
        "1": "CLR_n",
        "2": "CLK",
        "7": "ENP",
        "9": "LD_n",
        "10": "ENT",
        "14": "Q0",
        "15": "RCO",
    },
    "163": {
        "1": "CLR_n",
        "2": "CLK",
        "7": "ENP",
        "9": "LD_n",
        "10": "ENT",
        "14": "Q0",
        "15": "RCO",
    },
    "164": {"1": "A", "2": "B", "3": "Q0", "8": "CLK", "9": "CLR_n", "13": "Q7"},
    "165": {"1": "SH_LD_n", "2": "CLK", "7": "Q7_n", "9": "Q7", "10": "SER", "15": "CLK_INH"},
    "173": {"1": "M_n", "2": "N_n", "7": "CLK", "9": "G1_n", "10": "G2_n", "14": "D0", "15": "CLR"},
    "174": {"1": "CLR_n", "9": "CLK"},
    "175": {"1": "CLR_n", "3": "Q0_n", "9": "CLK", "14": "Q3_n"},
    "189": {"1": "A0", "2": "CS_n", "3": "WE_n", "13": "A3", "14": "A2", "15": "A1"},
    "240": {"1": "G1_n", "2": "A11", "11": "A21", "18": "Y11", "19": "G2_n"},
    "241": {"1": "G1_n", "19": "G2"},
    "244": {"1": "G1_n", "19": "G2_n", "3": "Y24", "17": "A24"},
    "245": {"1": "DIR", "2": "A1", "9": "A8", "11": "B8", "18": "B1", "19": "G_n"},
    "257": {"1": "S", "15": "G_n"},
    "273": {"1": "CLR_n", "11": "CLK"},
    "283": {"1": "S2", "4": "S1", "5": "A1", "6": "B1", "7": "C0", "9": "C4", "12": "A4"},
    "373": {"1": "OE_n", "11": "LE"},
    "374": {"1": "OE_n", "11": "CLK"},
    "377": {"1": "G_n", "11": "CLK"},
    "541": {"1": "G1_n", "11": "Y8", "18": "Y1", "19": "G2_n"},
    "573": {"1": "OE_n", "11": "LE", "12": "Q7", "19": "Q0"},
    "574": {"1": "OE_n", "11": "CLK", "12": "Q7", "19": "Q0"},
    "6116": {"8": "A0", "9": "IO0", "18": "CS_n", "19": "A10", "20": "OE_n", "21": "WE_n"},
    "28C16": {"8": "A0", "9": "IO0", "18": "CE_n", "19": "A10", "20": "OE_n", "21": "WE_n"},
}
ROLES = {
    "CLK": Role.CLOCK,
    "CLR": Role.CLEAR,
    "PRE": Role.PRESET,
    "LD": Role.LOAD,
    "SH_LD": Role.LOAD,
    "LE": Role.LATCH,
    "OE": Role.ENABLE,
    "G": Role.ENABLE,
    "WE": Role.WRITE,
    "CS": Role.ENABLE,
    "CE": Role.ENABLE,
    "S": Role.SELECT,
    "DIR": Role.SELECT,
}

LETTERED = ("30", "54", "55", "64", "65", "133", "180", "182", "279", "280", "4078")
"""Gates with inputs named through the alphabet, carries with a G for generate, latches with an S
for set."""

FORMS = {
    form.key: form for number in CATALOGUE.numbers() for form in CATALOGUE.part(number).forms()
}
"""Every part type that ships; what differs in some families as NUMBER@FAMILY."""

every_part = pytest.mark.parametrize("number", FORMS)


@cache
def _expected(number: str) -> dict[str, frozenset[str]]:
    """For every pin and storage bit, what the rows expect of it anywhere."""
    part = FORMS[number]
    found: dict[str, set[str]] = {}
    for table in part.rows:
        for run in expand(part, table):
            for stimulus in run:
                for name, what in stimulus.expect:
                    found.setdefault(name, set()).add(what)
    return {name: frozenset(what) for name, what in found.items()}


@cache
def _set(number: str) -> dict[str, frozenset[int | None]]:
    """For every input, the levels that the rows set it to."""
    part = FORMS[number]
    found: dict[str, set[int | None]] = {}
    for table in part.rows:
        for run in expand(part, table):
            for stimulus in run:
                for name, level in stimulus.inputs:
                    found.setdefault(name, set()).add(level)
    return {name: frozenset(levels) for name, levels in found.items()}


def test_every_chip_that_is_promised_is_there() -> None:
    assert set(OUTPUTS) <= set(CATALOGUE.numbers())
    assert len(OUTPUTS) == 45


@pytest.mark.parametrize("number", OUTPUTS)
def test_outputs_are_at_the_pins_of_the_data_book(number: str) -> None:
    part = FORMS[number]
    drives = [pin.number for pin in part.pins if pin.kind.drives]
    assert sorted(drives, key=int) == OUTPUTS[number].split()
    loose = [pin.number for pin in part.pins if pin.kind is PinKind.NOT_CONNECTED]
    assert loose == NOT_CONNECTED.get(number, "").split()
    for pin_number, name in SPECIAL.get(number, {}).items():
        pin = part.pin(pin_number)
        assert pin is not None
        assert pin.name == name


@pytest.mark.parametrize("number", OUTPUTS)
def test_supply_and_ground_are_at_the_corners(number: str) -> None:
    """All chips of this list have ground at the last pin of the left side, supply at the last of
    the right (data books, from memory)."""
    part = FORMS[number]
    count = int(part.package.removeprefix("DIP-"))
    assert len(part.pins) == count
    supplies = {pin.number: pin.kind for pin in part.pins if pin.name in ("VCC", "GND")}
    assert supplies == {str(count // 2): PinKind.GROUND, str(count): PinKind.SUPPLY}


@every_part
def test_rows_look_at_every_output_in_every_state(number: str) -> None:
    """An output that no row expects low, high and, if it can let go, off, is not known."""
    part = FORMS[number]
    for pin in part.pins:
        if not pin.kind.drives:
            continue
        wanted = {"L", "H"}
        if pin.kind in (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL):
            wanted.add("Z")
        if pin.kind in (PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND):
            wanted = {"L", "Z"}  # it only pulls low
        assert wanted <= _expected(number).get(pin.name, frozenset()), pin.name


@every_part
def test_rows_move_every_input(number: str) -> None:
    for pin in FORMS[number].pins:
        if pin.kind.reads:
            high = None if pin.pulled_up and pin.kind.drives else 1  # by its own resistor
            assert {0, high} <= _set(number).get(pin.name, frozenset()), pin.name


def _holds(part: PartType) -> bool:
    return any(isinstance(storage, Register | Latch) for storage in part.storage)


@every_part
def test_what_stores_has_rows_that_hold(number: str) -> None:
    """A register's or latch's table says when it does not change: the same level stands in two
    rows that follow each other, or '='."""
    part = FORMS[number]
    if not _holds(part):
        return
    held = 0
    for table in part.rows:
        for before, row in zip(table.table, table.table[1:], strict=False):
            edge = any(cell in ("^", "v") for cell in row[0])
            held += not edge and (before[1] == row[1] or "=" in row[1])
    assert held >= 2


@every_part
def test_rows_say_where_they_come_from(number: str) -> None:
    part = FORMS[number]
    assert "from memory" in part.source
    assert all(table.origin for table in part.rows)
    first = part.rows[0].origin
    assert "data book" in first
    assert "from memory" in first


@every_part
def test_roles_follow_the_names(number: str) -> None:
    """Pins with these names are warned of loudly when they are left open."""
    part = FORMS[number]
    for pin in part.pins:
        name = pin.name.removesuffix("_n").rstrip("1234")
        if pin.kind.reads and name in ROLES and part.number not in LETTERED:
            assert pin.role is ROLES[name], pin.name
    for storage in () if part.moments else part.storage:
        # A master and a slave are two latches on one clock.
        wanted = (Role.CLOCK,) if isinstance(storage, Register) else (Role.LATCH, Role.CLOCK)
        assert any(pin.role in wanted for pin in part.pins)


@every_part
def test_addresses_of_memories_have_their_role(number: str) -> None:
    part = FORMS[number]
    addresses = sum(pin.role is Role.ADDRESS for pin in part.pins)
    words = [memory.words for memory in part.memories]
    assert words == ([2**addresses] if words else [])
    assert bool(words) == bool(addresses)


def test_the_bus_drivers() -> None:
    """The stronger outputs, from memory of the data books: 24 mA in LS."""
    strong = {
        number
        for number in OUTPUTS
        if {kind for _, kind in CATALOGUE.part(number).output_classes}
        & {"bus-output", "bus-driver"}
    }
    assert strong == {
        *("125", "126", "173", "240", "241", "244", "245", "257"),
        *("373", "374", "541", "573", "574"),
    }
