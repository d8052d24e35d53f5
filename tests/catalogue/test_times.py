"""Times of parts: what the lookups give, and that the shipped ones hang together.

Sanity rules are common practice: what a clocked part must have, which families are faster. The
values of the copies were typed from stored copies of makers' data sheets, not from our part files.
"""

import re
from functools import cache

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import Latch, PartType, PinKind, Register, Role
from breadproof.specs.catalogue.parttimes import (
    cut_times,
    delay,
    read_times,
    times_as_printed,
    times_of,
)
from breadproof.specs.catalogue.times import Edge, Times, Turn
from tests.catalogue.timesupport import WITH_TIMES, count_by_family, read_with_times, times_in

NUMBERS = Catalogue().numbers()


@cache
def _part(number: str) -> PartType:
    return Catalogue().part(number)


# ------------------------------------------------------------------------------------- lookups


def test_what_is_known_and_what_is_not() -> None:
    (times,) = times_in(WITH_TIMES)
    assert (times.family, times.grade, times.source) == ("LS", "", "made up for this test")
    assert times.delay("A1", "Q0", Edge.LH) == 15
    assert times.delay("A0", "Q0", Edge.HL) == 14.5
    assert times.delay("CLK", "Q1", Edge.LH) == times.delay("CLK", "Q1", Edge.HL) == 27
    assert times.delay("G_n", "Q1", Edge.ZL) == 30
    assert times.delay("G_n", "Q1", Edge.HZ) == 18
    assert times.delay("G_n", "Q1", Edge.LH) is None
    assert times.delay("A1", "Q1", Edge.LH) is None
    assert times.setup("A1", "CLK", Turn.RISE) == 20
    assert times.setup("A1", "CLK", Turn.FALL) is None
    assert times.hold("A0", "CLK", Turn.RISE) == 5
    assert times.hold("CLK", "A0", Turn.RISE) is None
    assert times.width("CLK", high=True) == times.width("CLK", high=False) == 25
    assert times.width("G_n", high=False) == 30
    assert times.width("G_n", high=True) is None
    assert times.fastest("CLK") == 25
    assert times.fastest("A0") is None


def test_by_part_and_family() -> None:
    part = read_with_times(WITH_TIMES)
    assert delay(part, "LS", "A1", "Q0", Edge.LH) == 15
    assert delay(part, "HC", "A1", "Q0", Edge.LH) is None
    assert times_of(part, "LS") == read_times(part)[0]
    assert times_of(part, "LS", "70") is None


def test_a_memory_has_times_by_grade() -> None:
    ram = _part("62256")
    assert delay(ram, "MOS", "A0", "IO7", Edge.LH) is None  # which one is not said
    slow, fast = times_of(ram, "MOS", "70"), times_of(ram, "MOS", "55")
    assert slow is not None
    assert slow.delay("A0", "IO7", Edge.LH) == 70
    assert fast is not None
    assert fast.delay("A0", "IO7", Edge.LH) == 55


@pytest.mark.parametrize(
    ("printed", "access"),
    [
        ("62256-70", 70),
        ("AS6C62256-55PCN", 55),
        ("HM62256BLP-7", None),  # some makers print tens of ns: not known, so not taken
        ("62256", None),
        ("62256-700", None),
    ],
)
def test_the_grade_is_what_is_printed(printed: str, access: float | None) -> None:
    chip = Catalogue().find(printed, "LS")
    times = times_as_printed(chip.type, chip.family.name, printed)
    assert (times and times.delay("A0", "IO0", Edge.LH)) == access


def test_logic_has_no_grade() -> None:
    times = times_as_printed(_part("00"), "LS", "SN74LS00N-10")
    assert times == _known("00", "LS")


def test_a_number_stands_for_each_and_a_star_for_all() -> None:
    text = WITH_TIMES.replace("A* to Q0: plh 15 phl 14.5", "A# to Q#: pd 9").replace(
        "CLK to Q1", "CLK to Q*"
    )
    (times,) = times_in(text)
    assert times.delay("A1", "Q1", Edge.LH) == times.delay("A0", "Q0", Edge.LH) == 9
    assert times.delay("A1", "Q0", Edge.LH) is None
    assert times.delay("CLK", "Q0", Edge.LH) == times.delay("CLK", "Q1", Edge.LH) == 27


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_cutting_keeps_every_line_where_it_is(end: str) -> None:
    text = "part: 1\ntimes:\n  # a comment\n\n  LS:\n# another\n    x\nrows: 2\n".replace("\n", end)
    rest, times = cut_times(text, "f")
    assert times is not None
    lines, kept = text.split("\n"), rest.split("\n")
    section = times.text.split("\n")
    assert len(kept) == len(lines)
    assert [n for n, line in enumerate(kept) if line.strip()] == [0, 7]
    assert [n for n, line in enumerate(section) if line.strip()] == [1, 2, 4, 5, 6]
    assert all(line in ("", lines[n]) for n, line in enumerate(kept))


def test_a_file_without_times() -> None:
    assert cut_times("part: 1\ntimes-like: 2\n", "f") == ("part: 1\ntimes-like: 2\n", None)


# ------------------------------------------------------------------------------ what is shipped


@pytest.mark.parametrize("number", NUMBERS)
def test_times_are_those_of_chips(number: str) -> None:
    """Delays of 0.5 to 2000 ns; the supply and the temperature stand in each source."""
    for times in read_times(_part(number)):
        assert re.search(r"\bV\b.*degC", times.source), times.source
        for one in times.delays:
            assert all(0.5 <= ns <= 2000 for _, ns in one.times), one
        stays = (*times.setups, *times.holds)
        assert all(0 <= ns <= 2000 for ns in [s.ns for s in stays] + [w.ns for w in times.widths])
        assert all(1 <= clock.mhz <= 250 for clock in times.clocks)


WITHOUT = {
    # The clock and its inhibit are two inputs of one gate: the book gives times of the clock.
    ("165", "CLK_INH"),
    ("166", "CLK_INH"),
    # The book's table has no highest frequency of the second clock.
    ("594", "RCLK"),
    ("595", "RCLK"),
    ("597", "RCLK"),
    ("4094", "STR"),
}
PULSE_TRIGGERED = {"73", "76", "107"}
"""The first family's look at their inputs all through the pulse, from one edge to the other."""
OLD = {"190", "191", "192", "193"}
"""Of these the first family's book gives no set-up time before the clock."""


@pytest.mark.parametrize("number", NUMBERS)
def test_a_clocked_part_has_setup_width_and_clock(number: str) -> None:
    part = _part(number)
    for times in read_times(part):
        form = part.in_family(times.family)
        for pin in form.pins:
            if form.moments:
                continue  # a monostable: what starts it is no clock
            if pin.role is Role.CLOCK and (number, pin.name) not in WITHOUT:
                assert times.fastest(pin.name) is not None, (times.family, pin.name)
                assert any(width.pin == pin.name for width in times.widths), pin.name
                old = number in OLD and times.family == "TTL"
                assert old or any(s.reference == pin.name for s in times.setups), pin.name
            if pin.role is Role.LATCH:
                stays = (times.setups, times.holds)
                assert all(any(s.reference == pin.name for s in some) for some in stays), pin.name
                assert any(width.pin == pin.name for width in times.widths), pin.name


@pytest.mark.parametrize("number", NUMBERS)
def test_setup_is_to_the_edge_that_captures(number: str) -> None:
    part = _part(number)
    for times in read_times(part):
        form = part.in_family(times.family)
        if number in PULSE_TRIGGERED and times.family == "TTL":
            continue
        turns: dict[str, set[Turn]] = {}
        for item in form.storage:
            match item:
                case Register():
                    found = re.fullmatch(r"(rose|fell)\((\w+)\)", item.clock.text.value)
                    if found:
                        turn = Turn.RISE if found[1] == "rose" else Turn.FALL
                        turns.setdefault(found[2], set()).add(turn)
                case Latch():
                    found = re.fullmatch(r"(!?)(\w+)", item.open.text.value)
                    if found:
                        turn = Turn.RISE if found[1] else Turn.FALL
                        turns.setdefault(found[2], set()).add(turn)
        data = {pin.name for pin in form.pins if pin.role is Role.DATA}
        for stay in (*times.setups, *times.holds):
            if stay.pin in data:
                assert stay.turn in turns.get(stay.reference, {stay.turn}), stay


@pytest.mark.parametrize("number", NUMBERS)
def test_every_output_has_delays_and_a_three_state_one_lets_go_and_comes_back(number: str) -> None:
    part = _part(number)
    for times in read_times(part):
        known = {(end, edge) for d in times.delays for end in d.ends for edge, _ in d.times}
        for pin in part.in_family(times.family).pins:
            if not pin.kind.drives:
                continue
            assert any(end == pin.name for end, _ in known), (times.family, pin.name)
            if pin.kind in (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL):
                needed = (Edge.ZH, Edge.ZL, Edge.HZ, Edge.LZ)
                assert all((pin.name, edge) in known for edge in needed), (times.family, pin.name)


FASTER = [("F", "LS"), ("AS", "LS"), ("AS", "ALS"), ("S", "TTL"), ("S", "LS"), ("F", "HC"),
          ("AS", "HC"), ("ALS", "HC")]  # fmt: skip
"""Families of which the first is the faster throughout: common practice."""


@pytest.mark.parametrize("number", NUMBERS)
def test_faster_families_are_faster(number: str) -> None:
    by_family = {times.family: times for times in read_times(_part(number)) if not times.grade}
    for fast, slow in FASTER:
        if fast in by_family and slow in by_family:
            for one in by_family[fast].delays:
                for start in one.starts:
                    for end in one.ends:
                        for edge, ns in one.times:
                            other = by_family[slow].delay(start, end, edge)
                            assert other is None or ns <= other, (fast, slow, start, end, edge)


def test_how_many_parts_have_times() -> None:
    """A floor, so that times are not lost; `python -m tests.catalogue.timesupport` prints them."""
    parts = count_by_family()
    floor = {"LS": 104, "HC": 86, "TTL": 74, "S": 46, "ALS": 37, "F": 28, "AS": 25, "MOS": 13}
    assert all(parts[family] >= count for family, count in floor.items()), parts


# ------------------------------------------------------------------------------- makers' copies

DELAYS = {
    # HD74LS161A, copy of the sheet of February 2005
    ("161", "LS", "CLK", "RCO"): "plh 35 phl 35",
    ("161", "LS", "CLK", "Q0"): "plh 24 phl 27",
    ("161", "LS", "ENT", "RCO"): "plh 14 phl 14",
    ("161", "LS", "CLR_n", "Q3"): "phl 28",
    # DM74LS157, copy
    ("157", "LS", "A1", "Y1"): "plh 14 phl 14",
    ("157", "LS", "G_n", "Y4"): "plh 20 phl 21",
    ("157", "LS", "S", "Y2"): "plh 23 phl 27",
    # SN74LS137, copy: the worst of the paths through 2, 3 and 4 levels
    ("137", "LS", "A0", "Y7_n"): "plh 24 phl 38",
    ("137", "LS", "G2_n", "Y0_n"): "plh 21 phl 27",
    ("137", "LS", "G1", "Y0_n"): "plh 21 phl 27",
    ("137", "LS", "GL_n", "Y0_n"): "plh 27 phl 38",
    # DM74151A, copy
    ("151", "TTL", "A", "Y"): "plh 38 phl 30",
    ("151", "TTL", "C", "W"): "plh 26 phl 30",
    ("151", "TTL", "G_n", "Y"): "plh 33 phl 30",
    ("151", "TTL", "G_n", "W"): "plh 21 phl 25",
    ("151", "TTL", "D7", "Y"): "plh 24 phl 24",
    ("151", "TTL", "D0", "W"): "plh 14 phl 14",
    # SN74LS540 and 541, copy
    ("540", "LS", "A1", "Y1"): "plh 15 phl 15",
    ("540", "LS", "G1_n", "Y8"): "pzh 25 pzl 38 phz 18 plz 25",
    ("541", "LS", "A8", "Y8"): "plh 15 phl 18",
    ("541", "LS", "G2_n", "Y1"): "pzh 32 pzl 38 phz 18 plz 29",
    # SN74ALS166, copy of the sheet of August 2000
    ("166", "ALS", "CLR_n", "Q7"): "phl 14",
    ("166", "ALS", "CLK", "Q7"): "plh 12 phl 13",
    # SN74HCT138, copy of the sheet of March 2022; CD74AC138 and CD74ACT138, of April 2024
    ("138", "HCT", "A0", "Y0_n"): "plh 36 phl 36",
    ("138", "HCT", "G1", "Y0_n"): "plh 33 phl 33",
    ("138", "AC", "A2", "Y7_n"): "plh 10 phl 10",
    ("138", "AC", "G2A_n", "Y7_n"): "plh 9.1 phl 9.1",
    ("138", "ACT", "A2", "Y7_n"): "plh 10.9 phl 10.9",
    ("138", "ACT", "G1", "Y7_n"): "plh 10 phl 10",
    # CD74HCT164, copy of the sheet of May 2024
    ("164", "HCT", "CLK", "Q7"): "plh 36 phl 36",
    ("164", "HCT", "CLR_n", "Q0"): "phl 38",
    # 74HC595, copy of a sheet
    ("595", "HC", "SRCLK", "Q7S"): "plh 32 phl 32",
    ("595", "HC", "RCLK", "Q0"): "plh 35 phl 35",
    ("595", "HC", "SRCLR_n", "Q7S"): "phl 35",
}


@pytest.mark.parametrize("where", DELAYS, ids=" ".join)
def test_a_delay_is_that_of_a_copy(where: tuple[str, str, str, str]) -> None:
    number, family, start, end = where
    words = DELAYS[where].split()
    for word, ns in zip(words[::2], words[1::2], strict=True):
        assert delay(_part(number), family, start, end, Edge(word)) == float(ns)


def _known(number: str, family: str) -> Times:
    times = times_of(_part(number), family)
    assert times is not None
    return times


@pytest.mark.parametrize(
    ("number", "family", "pin", "reference", "turn", "before", "after"),
    [
        # DM74LS169A, copy
        ("169", "LS", "D0", "CLK", Turn.RISE, 20, 0),
        ("169", "LS", "ENT_n", "CLK", Turn.RISE, 20, 0),
        ("169", "LS", "LD_n", "CLK", Turn.RISE, 25, 0),
        ("169", "LS", "U_D_n", "CLK", Turn.RISE, 30, 0),
        # DM74LS259, copy
        ("259", "LS", "D", "LE_n", Turn.RISE, 15, 2.5),
        ("259", "LS", "A0", "LE_n", Turn.FALL, 15, None),
        # SN74LS273, copy
        ("273", "LS", "D7", "CLK", Turn.RISE, 20, 5),
        ("273", "LS", "CLR_n", "CLK", Turn.RISE, 25, None),
        # SN74LS137, copy
        ("137", "LS", "A2", "GL_n", Turn.RISE, 10, 10),
        # SN74ALS166, CD74HCT164 and SN74HCT374, copies
        ("166", "ALS", "SH_LD_n", "CLK", Turn.RISE, 16, None),
        ("166", "ALS", "D3", "CLK", Turn.RISE, 7, 3),
        ("164", "HCT", "A", "CLK", Turn.RISE, 12, 4),
        ("374", "HCT", "D0", "CLK", Turn.RISE, 20, 10),
        # SN74F112, copy of the sheet of October 1993
        ("112", "F", "J1", "CLK1", Turn.FALL, 5, 0),
        ("112", "F", "CLR2_n", "CLK2", Turn.FALL, 5, None),
    ],
)
def test_setup_and_hold_are_those_of_a_copy(
    number: str,
    family: str,
    pin: str,
    reference: str,
    turn: Turn,
    before: float,
    after: float | None,
) -> None:
    times = _known(number, family)
    assert times.setup(pin, reference, turn) == before
    assert times.hold(pin, reference, turn) == after


@pytest.mark.parametrize(
    ("number", "family", "pin", "high", "low", "mhz"),
    [
        ("161", "LS", "CLK", 25, 25, 25),  # HD74LS161A: the frequency; DM74LS169A: the width
        ("169", "LS", "CLK", 25, 25, 25),
        ("259", "LS", "LE_n", None, 15, None),
        ("273", "LS", "CLK", 20, 20, 30),
        ("137", "LS", "GL_n", None, 15, None),
        ("166", "ALS", "CLK", 10, 10, 45),
        ("164", "HCT", "CLK", 18, 18, 27),
        ("374", "HCT", "CLK", 16, 16, 31),
        ("173", "HC", "CLK", 16, 16, 30),
        ("112", "F", "CLK1", 5, 5, 100),
    ],
)
def test_widths_and_clocks_are_those_of_a_copy(
    number: str,
    family: str,
    pin: str,
    high: float | None,
    low: float | None,
    mhz: float | None,
) -> None:
    times = _known(number, family)
    assert (times.width(pin, high=True), times.width(pin, high=False)) == (high, low)
    assert times.fastest(pin) == mhz


def test_setup_of_a_copy_that_is_cut_off() -> None:
    """CD74HC173, copy of the sheet of March 2022, of which the hold times are not at hand."""
    times = _known("173", "HC")
    assert times.setup("D0", "CLK", Turn.RISE) == times.setup("G1_n", "CLK", Turn.RISE) == 12
    assert times.width("CLR", high=True) == 16
