"""Counters, adders and comparators in chains, through whole cycles, against Python's integers.

The chains are those that the data books draw, from memory: ripple carry to the next chip's enable
or clock, carry look-ahead of four arithmetic units, cascaded comparators.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from random import Random

import pytest

from tests.against.chips import Board, machine
from tests.against.functions import numbered


def outputs(chips: Iterable[str], stem: str = "Q", count: int = 4, first: int = 0) -> list[str]:
    """``U1.Q0 U1.Q1 … U2.Q0 …``."""
    return [f"{chip}.{stem}{first + k}" for chip in chips for k in range(count)]


def pulse(board: Board, *pins: str, idle: int = 0) -> None:
    """One clock pulse away from where a pin idles, when all else is quiet."""
    board.run()
    for level in (1 - idle, idle):
        board.every(**dict.fromkeys(pins, level))
        board.run()


def spread(board: Board, pin: str, values: list[int], place: int) -> None:
    """Bit ``place`` of the value of each lane, on a pin."""
    board.put(pin, int("".join(str(value >> place & 1) for value in reversed(values)), 2))


def words(count: int, seed: str) -> Iterator[tuple[list[int], list[int]]]:
    """Pairs of 16-bit words, one a lane: any, and such whose carry runs far."""
    dice = Random(seed)
    one = [dice.getrandbits(16) for _ in range(count)]
    other = [dice.getrandbits(16) for _ in range(count)]
    yield one, other
    yield one, [~a & 0xFFFF ^ (1 << dice.randrange(17)) & 0xFFFF for a in one]


def chain(number: str, *joined: tuple[str, ...]) -> Board:
    """Two chips of a number, in one lane."""
    return Board(machine({"U1": number, "U2": number}, joined), 1, number)


def put(board: Board, **pins: int) -> None:
    """Levels on a pin of both chips, or of one (``U1_LD_n``)."""
    for pin, level in pins.items():
        chips = [pin[:2]] if pin[:3] in ("U1_", "U2_") else ["U1", "U2"]
        for chip in chips:
            board.put(f"{chip}.{pin.removeprefix(chip + '_')}", level)


# synchronous chains ---------------------------------------------------------------------------

CLOCK = ("U1.CLK", "U2.CLK")


def of_decimals(value: int) -> int:
    """A number whose decimal digits stand four bits apart."""
    return value // 10 << 4 | value % 10


@pytest.mark.parametrize("number", ["160", "161", "162", "163"])
def test_two_synchronous_counters(number: str) -> None:
    board = chain(number, CLOCK, ("U1.CLR_n", "U2.CLR_n"), ("U1.RCO", "U2.ENT"))
    put(board, U1_CLK=0, U1_CLR_n=0, LD_n=1, ENP=1, U1_ENT=1)
    pulse(board, "U1.CLK")
    board.put("U1.CLR_n", 1)
    modulo = 100 if number in ("160", "162") else 256
    for step in range(modulo + 20):
        count = step % modulo
        shown = of_decimals(count) if modulo == 100 else count
        assert board.number(outputs(("U1", "U2"))) == shown
        assert board.number(["U2.RCO"]) == (count == modulo - 1)
        pulse(board, "U1.CLK")


@pytest.mark.parametrize("number", ["168", "169"])
@pytest.mark.parametrize("step", [1, -1])
def test_two_up_down_counters(number: str, step: int) -> None:
    modulo = 100 if number == "168" else 256
    board = chain(number, CLOCK, ("U1.U_D_n", "U2.U_D_n"), ("U1.RCO_n", "U2.ENT_n"))
    put(board, **dict.fromkeys(numbered("D", range(4)), 0), LD_n=0, ENP_n=0, U1_ENT_n=0)
    put(board, U1_CLK=0, U1_U_D_n=int(step > 0))
    pulse(board, "U1.CLK")
    put(board, LD_n=1)
    for place in range(modulo + 20):
        count = place * step % modulo
        shown = of_decimals(count) if modulo == 100 else count
        assert board.number(outputs(("U1", "U2"))) == shown
        assert board.number(["U2.RCO_n"]) == (count != (modulo - 1 if step > 0 else 0))
        pulse(board, "U1.CLK")


@pytest.mark.parametrize("number", ["190", "191"])
@pytest.mark.parametrize("step", [1, -1])
def test_two_counters_by_ripple_clock(number: str, step: int) -> None:
    """The ripple clock of the first is the clock of the second."""
    modulo = 100 if number == "190" else 256
    board = chain(number, ("U1.RCO_n", "U2.CLK"), ("U1.D_U_n", "U2.D_U_n"))
    put(board, **dict.fromkeys(numbered("D", range(4)), 0), LD_n=0, CTEN_n=0)
    put(board, U1_CLK=1, U1_D_U_n=int(step < 0))
    board.run()
    put(board, LD_n=1)
    board.run()
    for place in range(modulo + 20):
        count = place * step % modulo
        shown = of_decimals(count) if modulo == 100 else count
        assert board.number(outputs(("U1", "U2"))) == shown
        pulse(board, "U1.CLK", idle=1)


@pytest.mark.parametrize("number", ["192", "193"])
@pytest.mark.parametrize("step", [1, -1])
def test_two_counters_by_carry_and_borrow(number: str, step: int) -> None:
    modulo = 100 if number == "192" else 256
    board = chain(number, ("U1.CO_n", "U2.UP"), ("U1.BO_n", "U2.DOWN"), ("U1.CLR", "U2.CLR"))
    put(board, **dict.fromkeys(numbered("D", range(4)), 0), LD_n=1)
    put(board, U1_UP=1, U1_DOWN=1, U1_CLR=1)
    board.run()
    board.put("U1.CLR", 0)
    board.run()
    for place in range(modulo + 20):
        count = place * step % modulo
        shown = of_decimals(count) if modulo == 100 else count
        assert board.number(outputs(("U1", "U2"))) == shown
        pulse(board, "U1.UP" if step > 0 else "U1.DOWN", idle=1)


@pytest.mark.parametrize("number", ["867", "869"])
@pytest.mark.parametrize("step", [1, -1])
def test_two_counters_of_eight_bits(number: str, step: int) -> None:
    """A whole cycle of the first, and, a lane each, every carry into the second."""
    shared = (("U1.S0", "U2.S0"), ("U1.S1", "U2.S1"))
    one = machine({"U1": number, "U2": number}, (CLOCK, *shared, ("U1.RCO_n", "U2.ENT_n")))
    near = [high << 8 | (0xFE if step > 0 else 0x01) for high in range(256)]
    for starts, steps in (([0x4320], 270), (near, 4)):
        board = Board(one, len(starts), number)
        board.every(**{"U1.CLK": 0, "U1.ENP_n": 0, "U2.ENP_n": 0, "U1.ENT_n": 0})
        board.every(**{"U1.S1": 1, "U1.S0": 0})
        for place in range(16):
            spread(board, f"U{1 + place // 8}.D{place % 8}", starts, place)
        pulse(board, "U1.CLK")
        board.every(**{"U1.S1": int(step > 0), "U1.S0": 1})
        board.run()
        for place in range(steps):
            for lane, start in enumerate(starts):
                count = (start + place * step) % 65536
                assert board.number(outputs(("U1", "U2"), count=8), lane) == count
            pulse(board, "U1.CLK")


@pytest.mark.parametrize("number", ["590", "593"])
def test_eight_bits_through_a_whole_cycle(number: str) -> None:
    """The register of the 590 shows the count after a pulse of its clock."""
    board = Board(machine({"U1": number}), 1, number)
    if number == "590":
        board.every(CCLR_n=0, CCLK=0, RCLK=0, CCKEN_n=0, OE_n=0)
    else:
        board.every(CCLR_n=0, CLOAD_n=1, CCK=0, RCK=0, CCKEN=0, CCKEN_n=0, RCKEN_n=1, G=1, G_n=0)
    board.run()
    board.set(CCLR_n=1)
    clock, stem = ("CCLK", "Q") if number == "590" else ("CCK", "IO")
    for count in range(270):
        if number == "590":
            pulse(board, "RCLK")
        assert board.number(numbered(stem, range(8))) == count % 256
        assert board.number(["RCO_n"]) == (count % 256 != 255)
        pulse(board, clock)


def test_592_from_every_start() -> None:
    """A lane a start: it is at 255 when as many pulses have come as it was short of."""
    board = Board(machine({"U1": "592"}), 256)
    board.every(CCLR_n=1, CLOAD_n=1, CCK=0, RCK=0, CCKEN_n=0)
    for place in range(8):
        spread(board, f"D{place}", list(range(256)), place)
    pulse(board, "RCK")
    pulse(board, "CLOAD_n", idle=1)
    for pulses in range(260):
        full = sum(1 << start for start in range(256) if (start + pulses) % 256 == 255)
        assert board.shows("RCO_n")[1] == board.lanes.bits.true ^ full
        pulse(board, "CCK")


# ripple ---------------------------------------------------------------------------------------


def test_393_as_one_counter() -> None:
    """The first half's last stage clocks the second half."""
    board = Board(machine({"U1": "393"}, [("U1.Q1D", "U1.CLK2"), ("U1.CLR1", "U1.CLR2")]), 1)
    board.set(CLK1=0, CLR1=1)
    board.set(CLR1=0)
    pins = [f"U1.Q{half}{c}" for half in (1, 2) for c in "ABCD"]
    for count in range(300):
        assert board.number(pins) == count % 256
        pulse(board, "U1.CLK1")


@pytest.mark.parametrize(("number", "stages"), [("4024", 7), ("4040", 12)])
def test_long_ripple_counter_whole(number: str, stages: int) -> None:
    board = Board(machine({"U1": number}), 1)
    board.set(CP_n=1, MR=1)
    board.set(MR=0)
    for count in range((1 << stages) + 3):
        assert board.number(numbered("Q", range(stages))) == count % (1 << stages)
        pulse(board, "CP_n", idle=1)


@pytest.mark.parametrize(("number", "modulo"), [("90", 10), ("290", 10), ("93", 16), ("293", 16)])
def test_ripple_counter_whole(number: str, modulo: int) -> None:
    """Q0 to CKB, as the data book joins them."""
    board = Board(machine({"U1": number}, [("U1.Q0", "U1.CKB")]), 1)
    resets = {"R01": 1, "R02": 1} | ({"R91": 0, "R92": 0} if modulo == 10 else {})
    board.set(CKA=0, **resets)
    board.set(R01=0)
    for count in range(2 * modulo + 1):
        assert board.number(numbered("U1.Q", range(4))) == count % modulo
        pulse(board, "U1.CKA")


def test_90_as_a_divider_with_equal_halves() -> None:
    """Q3 to CKA: the book's symmetrical divide-by-ten; Q0 is high half of the time."""
    board = Board(machine({"U1": "90"}, [("U1.Q3", "U1.CKA")]), 1)
    board.set(CKB=0, R01=1, R02=1, R91=0, R92=0)
    board.set(R01=0)
    seen = []
    for _ in range(20):
        seen.append(board.number(["Q0"]))
        pulse(board, "U1.CKB")
    assert "".join(map(str, seen)) == "00000111110000011111"


# arithmetic -----------------------------------------------------------------------------------


Joins = list[tuple[str, ...]]
LOOK_AHEAD: Joins = [
    *((f"U{k + 1}.{c}_n", f"U5.{c}{k}_n") for k in range(4) for c in "GP"),
    *((f"U5.CN{c}", f"U{k}.CN") for c, k in (("X", 2), ("Y", 3), ("Z", 4))),
    ("U1.CN", "U5.CN"),
]


@pytest.mark.parametrize("look_ahead", [True, False])
def test_four_181_with_and_without_182(look_ahead: bool) -> None:
    """A plus B plus carry of 16 bits, with active-low words: carries are active high then."""
    units = ("U1", "U2", "U3", "U4")
    joined: Joins = LOOK_AHEAD if look_ahead else [(f"U{k}.CN4", f"U{k + 1}.CN") for k in (1, 2, 3)]
    joined = [
        *joined,
        *(tuple(f"{u}.{pin}" for u in units) for pin in ("M", "S0", "S1", "S2", "S3")),
    ]
    parts = dict.fromkeys(units, "181") | ({"U5": "182"} if look_ahead else {})
    lanes = 256
    board = Board(machine(parts, joined), lanes, "181")
    board.every(**{"U1.M": 0, "U1.S0": 1, "U1.S1": 0, "U1.S2": 0, "U1.S3": 1})
    for one, other in words(lanes, "181"):
        carries = [lane & 1 for lane in range(lanes)]
        spread(board, "U1.CN", carries, 0)
        for place in range(16):
            unit, k = units[place // 4], place % 4
            spread(board, f"{unit}.A{k}", [a ^ 0xFFFF for a in one], place)
            spread(board, f"{unit}.B{k}", [b ^ 0xFFFF for b in other], place)
        board.run()
        for lane in range(lanes):
            total = one[lane] + other[lane] + carries[lane]
            assert board.number(outputs(units, "F"), lane) ^ 0xFFFF == total & 0xFFFF
            assert board.number(["U4.CN4"], lane) == total >> 16


@pytest.mark.parametrize("number", ["83", "283"])
def test_four_adders(number: str) -> None:
    units = ("U1", "U2", "U3", "U4")
    joined = [(f"U{k}.C4", f"U{k + 1}.C0") for k in (1, 2, 3)]
    board = Board(machine(dict.fromkeys(units, number), joined), 256, number)
    for one, other in words(256, number):
        carries = [lane & 1 for lane in range(256)]
        spread(board, "U1.C0", carries, 0)
        for place in range(16):
            unit, k = units[place // 4], place % 4 + 1
            spread(board, f"{unit}.A{k}", one, place)
            spread(board, f"{unit}.B{k}", other, place)
        board.run()
        for lane in range(256):
            total = one[lane] + other[lane] + carries[lane]
            assert board.number([*outputs(units, "S", first=1), "U4.C4"], lane) == total


def test_four_comparators_85() -> None:
    units = ("U1", "U2", "U3", "U4")
    names = ("AGTB", "AEQB", "ALTB")
    joined = [(f"U{k}.{n}_OUT", f"U{k + 1}.{n}_IN") for k in (1, 2, 3) for n in names]
    board = Board(machine(dict.fromkeys(units, "85"), joined), 256, "85")
    board.every(**{"U1.AGTB_IN": 0, "U1.ALTB_IN": 0, "U1.AEQB_IN": 1})
    dice = Random("85")
    one = [dice.getrandbits(16) for _ in range(256)]
    orders: list[Callable[[int], int]] = [
        lambda a: dice.getrandbits(16),
        lambda a: a,
        lambda a: a ^ 1 << dice.randrange(16),
    ]
    other = [orders[lane % 3](a) for lane, a in enumerate(one)]
    for place in range(16):
        unit, k = units[place // 4], place % 4
        spread(board, f"{unit}.A{k}", one, place)
        spread(board, f"{unit}.B{k}", other, place)
    board.run()
    for lane in range(256):
        a, b = one[lane], other[lane]
        shown = board.number([f"U4.{name}_OUT" for name in names], lane)
        assert shown == (a > b) | (a == b) << 1 | (a < b) << 2


def test_two_encoders_148_of_16_lines() -> None:
    """EO of the higher one enables the lower one; the low lines' address is the NAND of both."""
    board = Board(machine({"U1": "148", "U2": "148"}, [("U2.EO_n", "U1.EI_n")]), 256, "148")
    board.every(**{"U2.EI_n": 0})
    dice = Random("148")
    asked = [0, *(1 << k for k in range(16)), *(dice.getrandbits(16) for _ in range(239))]
    asked = [lines >> dice.randrange(16) if k > 16 else lines for k, lines in enumerate(asked)]
    for place in range(16):
        spread(
            board, f"U{1 + place // 8}.I{place % 8}_n", [lines ^ 0xFFFF for lines in asked], place
        )
    board.run()
    for lane, lines in enumerate(asked):
        low = board.number(["U1.A0_n", "U1.A1_n", "U1.A2_n"], lane)
        high = board.number(["U2.A0_n", "U2.A1_n", "U2.A2_n"], lane)
        group = board.number(["U2.GS_n"], lane)
        found = (7 ^ (low & high)) | (1 - group) << 3
        assert found == max(lines.bit_length() - 1, 0)
        assert board.number(["U1.EO_n"], lane) == (lines != 0)
