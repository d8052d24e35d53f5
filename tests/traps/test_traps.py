"""Small circuits with known traps, each with levels that were worked out by hand.

The reasoning stands in each docstring; the functions of the chips are those of the data books
(74, 00, 08, 163, 161, 245, 6116, from memory), the meaning of rounds and steps is design.md,
section 4. Every run is made by the Machine, by the second evaluator and by the Amaranth modules.
"""

from itertools import permutations
from pathlib import Path

import pytest

from tests.traps.running import Bench, levels

LATCH = """
board: latch
parts: {{U1: 74HC00}}
nets:
{nets}
ports: {{s_n: in, r_n: in}}
together: [[s_n, r_n]]
"""
_LATCH_NETS = (
    "  s_n: [U1.A1]",
    "  r_n: [U1.B2]",
    "  q: [U1.Y1, U1.A2]",
    "  q_n: [U1.Y2, U1.B1]",
)
_SUPPLY = ("  VCC: [U1.14]", "  GND: [U1.7, U1.A3, U1.B3, U1.A4, U1.B4]")


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_nand_latch_released_in_a_race_takes_either_level(
    tmp_path: Path, order: tuple[int, ...]
) -> None:
    """Both inputs low force both outputs high. Released together, either gate may win: q and q_n
    are then opposite, both ways are possible, and no level is seen that is not stable. That holds
    whichever of the two nets the loop is cut at, so for every order of the nets in the file.
    """
    text = LATCH.format(nets="\n".join([*_SUPPLY, *(_LATCH_NETS[i] for i in order)]))
    outcomes = set()
    for seed in range(12):
        bench = Bench(tmp_path, text, seed=seed)
        forced = bench.power_up()
        assert levels(forced, "q", "q_n") == [(1, 1)]
        released = bench.step(s_n=1, r_n=1)
        outcomes |= set(levels(released, "q", "q_n"))
        # What it took it keeps: nothing changes while nothing moves.
        assert levels(bench.step(), "q", "q_n") == levels(released, "q", "q_n")
    assert outcomes == {(0, 1), (1, 0)}


def test_nand_latch_released_one_after_the_other_is_no_race(tmp_path: Path) -> None:
    """The input released last decides: s_n last leaves q = 1, r_n last leaves q = 0."""
    text = LATCH.format(nets="\n".join([*_SUPPLY, *_LATCH_NETS]))
    for seed in range(4):
        bench = Bench(tmp_path, text, seed=seed)
        bench.power_up()
        assert levels(bench.step(r_n=1), "q", "q_n") == [(1, 0)]
        assert levels(bench.step(s_n=1), "q", "q_n") == [(1, 0)]
        assert levels(bench.step(r_n=0), "q", "q_n") == [(0, 1)]
        assert levels(bench.step(s_n=0), "q", "q_n") == [(1, 1)]
        assert levels(bench.step(s_n=1), "q", "q_n") == [(0, 1)]


RIPPLE = """
board: ripple
parts: {U1: 74HC74, U2: 74HC74}
nets:
  VCC: [U1.14, U1.CLR1_n, U1.PRE1_n, U1.CLR2_n, U1.PRE2_n,
        U2.14, U2.CLR1_n, U2.PRE1_n, U2.CLR2_n, U2.PRE2_n]
  GND: [U1.7, U2.7, U2.D2, U2.CLK2]
  clk: [U1.CLK1]
  n0: [U1.Q1_n, U1.D1, U1.CLK2]
  n1: [U1.Q2_n, U1.D2, U2.CLK1]
  n2: [U2.Q1_n, U2.D1]
  q0: [U1.Q1]
  q1: [U1.Q2]
  q2: [U2.Q1]
ports: {clk: in}
"""


def test_ripple_counter_takes_more_rounds_not_more_steps(tmp_path: Path) -> None:
    """Each stage halves the one before and sees it one round later. From 011 the rising clock makes
    q0 fall (round 1), whose complement's rise makes q1 fall (round 2), whose complement's makes q2
    rise (round 3): 011, 010, 000, 100, four rounds in one step. A falling clock does nothing.
    """
    stored = {"U1.R1[0]": 1, "U1.R2[0]": 1, "U2.R1[0]": 0}
    bench = Bench(tmp_path, RIPPLE, storage=stored)
    assert levels(bench.power_up(), "q2", "q1", "q0") == [(0, 1, 1)]
    step = bench.step(clk=1)
    assert levels(step, "q2", "q1", "q0") == [(0, 1, 1), (0, 1, 0), (0, 0, 0), (1, 0, 0)]
    assert levels(bench.step(clk=0), "q2", "q1", "q0") == [(1, 0, 0)]
    assert levels(bench.step(clk=1), "q2", "q1", "q0") == [(1, 0, 0), (1, 0, 1)]


GATE = """
board: gate
parts: {U1: 74HC08, U2: 74HC74, U3: 74HC74}
nets:
  VCC: [U1.14, U2.14, U3.14, U2.CLR1_n, U2.PRE1_n, U2.CLR2_n, U2.PRE2_n,
        U3.CLR1_n, U3.PRE1_n, U3.CLR2_n, U3.PRE2_n]
  GND: [U1.7, U2.7, U3.7, U2.D2, U2.CLK2, U3.D2, U3.CLK2,
        U1.A2, U1.B2, U1.A3, U1.B3, U1.A4, U1.B4]
  clk: [U1.A1, U2.CLK1]
  d: [U2.D1]
  enable: [U2.Q1, U1.B1]
  gated: [U1.Y1, U3.CLK1]
  n: [U3.Q1_n, U3.D1]
  q: [U3.Q1]
ports: {clk: in, d: in}
"""


def test_clock_gate_whose_enable_changes_behind_the_edge_shows_a_second_edge(
    tmp_path: Path,
) -> None:
    """The enable comes from a flip-flop on the same rising edge, so it changes while the clock is
    high. Rising with d = 1: the enable goes high one round after the edge and makes the gate rise
    with it, an edge that nobody meant: q toggles in the round after. Rising with d = 0: the gate
    rises with the clock (q toggles) and falls a round later: a pulse cut short.
    """
    bench = Bench(tmp_path, GATE)
    bench.power_up()
    assert levels(bench.step(d=1), "enable", "gated", "q") == [(0, 0, 0)]
    late = bench.step(clk=1)
    assert levels(late, "enable", "gated", "q") == [(0, 0, 0), (1, 1, 0), (1, 1, 1)]
    assert levels(bench.step(clk=0), "gated", "q") == [(0, 1)]
    assert levels(bench.step(d=0), "gated", "q") == [(0, 1)]
    short = bench.step(clk=1)
    assert levels(short, "enable", "gated", "q") == [(1, 1, 1), (0, 0, 0)]


DIVIDER = """
board: divider
parts: {U1: 74HC74, U2: 74HC74}
nets:
  VCC: [U1.14, U2.14, U1.CLR1_n, U1.PRE1_n, U1.CLR2_n, U1.PRE2_n,
        U2.CLR1_n, U2.PRE1_n, U2.CLR2_n, U2.PRE2_n]
  GND: [U1.7, U2.7, U2.D2, U2.CLK2]
  clk: [U1.CLK1, U1.CLK2]
  n: [U1.Q1_n, U1.D1]
  half: [U1.Q1, U2.CLK1]
  count_n: [U1.Q2_n, U1.D2]
  count: [U1.Q2, U2.D1]
  seen: [U2.Q1]
ports: {clk: in}
"""


def test_divider_clocking_a_register_that_shares_its_clock(tmp_path: Path) -> None:
    """``half`` and ``count`` both change at the clock's edge, and ``seen`` is clocked by ``half``.
    Its edge comes in the round after the clock's, and it captures what ``count`` was in the round
    before that edge: the old level, 0, not the 1 that appears together with the edge.
    """
    bench = Bench(tmp_path, DIVIDER, storage={"U2.R1[0]": 1})
    bench.power_up()
    step = bench.step(clk=1)
    assert levels(step, "half", "count", "seen") == [(0, 0, 1), (1, 1, 1), (1, 1, 0)]


TRANSCEIVERS = """
board: transceivers
parts: {U1: 74HC245, U2: 74HC245, U3: 74HC125}
nets:
  VCC: [U1.20, U2.20, U3.14, U1.DIR, U2.DIR, U3.G2_n, U3.G3_n, U3.G4_n]
  GND: [U1.10, U2.10, U3.7, U3.A2, U3.A3, U3.A4,
        U1.A2, U1.A3, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8,
        U2.A2, U2.A3, U2.A4, U2.A5, U2.A6, U2.A7, U2.A8]
  a: [U1.A1, U2.B1, U3.Y1]
  b: [U1.B1, U2.A1]
  there_n: [U1.G_n]
  back_n: [U2.G_n]
  d: [U3.A1]
  drive_n: [U3.G1_n]
ports: {there_n: in, back_n: in, d: in, drive_n: in}
"""


@pytest.mark.parametrize("level", [0, 1])
@pytest.mark.parametrize("free", [0, 1])
def test_two_transceivers_face_to_face_hold_the_level(
    tmp_path: Path, level: int, free: int
) -> None:
    """U1 carries a to b, U2 b back to a. The buffer drives a, U1 carries it to b. Once the buffer
    lets go a floats (each reader by itself, so U1.2 puts its free level on b). With the buffer
    driving while U2 is switched on, U2 and the buffer fight on a; when the buffer then lets go, the
    loop a, b, a has two stable levels, and each holds itself in the steps after.
    """
    start = {"there_n": (0,), "back_n": (1,), "d": (level,), "drive_n": (0,)}
    bench = Bench(tmp_path, TRANSCEIVERS, controls=start, free={"U1.2": free, "a": 1 - free})
    assert levels(bench.power_up(), "a", "b") == [(level, level)]
    assert levels(bench.step(drive_n=1), "a", "b") == [(1 - free, free)]
    assert levels(bench.step(drive_n=0), "a", "b") == [(level, level)]
    # Both drive a: a fight, which each reader reads as it likes.
    assert levels(bench.step(back_n=0), "a", "b") == [(1 - free, free)]
    ((a, b),) = levels(bench.step(drive_n=1), "a", "b")
    assert a == b
    assert levels(bench.step(d=1 - level), "a", "b") == [(a, b)]
    assert levels(bench.step(), "a", "b") == [(a, b)]


MEMORY = """
board: memory
parts: {U1: 6116, U2: 74HC74, U3: 74HC125}
nets:
  VCC: [U1.24, U1.OE_n, U2.14, U3.14, U2.CLR1_n, U2.PRE1_n, U2.CLR2_n, U2.PRE2_n]
  GND: [U1.12, U2.7, U3.7, U1.CS_n, U2.D2, U2.CLK2, U3.G1_n, U3.G2_n, U3.G3_n, U3.G4_n,
        U1.A1, U1.A2, U1.A3, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8, U1.A9, U1.A10]
  clk: [U2.CLK1]
  n: [U2.Q1_n, U2.D1]
  address: [U2.Q1, U1.A0]
  we_n: [U1.WE_n]
  d: [U3.A1, U3.A2, U3.A3, U3.A4]
  io0: [U1.IO0, U3.Y1]
  io1: [U1.IO1, U3.Y2]
  io2: [U1.IO2, U3.Y3]
  io3: [U1.IO3, U3.Y4]
  io4: [U1.IO4, U1.IO5, U1.IO6, U1.IO7]
ports: {clk: in, we_n: in, d: in}
"""


def test_memory_whose_address_moves_while_it_writes_writes_both_words(tmp_path: Path) -> None:
    """While WE_n is low every round writes the addressed word. The address bit changes one round
    after the clock's edge, so word 0 and then word 1 are written, though the step has one cause.
    IO4 to IO7 are joined and float; their free levels are 0 here, so the data are 0F.
    """
    bench = Bench(
        tmp_path,
        MEMORY,
        words={"U1.M": {0: 0x33, 1: 0x44, 2: 0x55}},
        controls={"we_n": (1,), "d": (1,)},
    )
    assert bench.power_up().writes == ()
    assert bench.step(we_n=0).writes == ("U1",)
    assert [bench.word("U1.M", n) for n in range(3)] == [0x0F, 0x44, 0x55]
    step = bench.step(clk=1)
    assert levels(step, "address")[0] == (0,)
    assert levels(step, "address")[-1] == (1,)
    assert step.writes == ("U1",)
    assert [bench.word("U1.M", n) for n in range(3)] == [0x0F, 0x0F, 0x55]
    # Rounds: the edge; the new address, whose word is written; quiet.
    assert len(step.rounds) == 3
    assert bench.step(we_n=1).writes == ()
    assert bench.step(d=0).writes == ()
    assert [bench.word("U1.M", n) for n in range(3)] == [0x0F, 0x0F, 0x55]


COUNTER = """
board: counter
parts: {{U1: 74HC{number}, U2: 74HC00}}
nets:
  VCC: [U1.16, U2.14, U1.ENP, U1.ENT, U1.LD_n]
  GND: [U1.8, U2.7, U1.D0, U1.D1, U1.D2, U1.D3, U2.A2, U2.B2, U2.A3, U2.B3, U2.A4, U2.B4]
  clk: [U1.CLK]
  q0: [U1.Q0]
  q1: [U1.Q1, U2.A1]
  q2: [U1.Q2]
  q3: [U1.Q3, U2.B1]
  ten_n: [U2.Y1, U1.CLR_n]
ports: {{clk: in}}
"""
_Q = ("q3", "q2", "q1", "q0")


def test_counter_that_clears_itself_asynchronously_passes_through_ten(tmp_path: Path) -> None:
    """161, clear at once: from 9 the edge counts to 10 = 1010, q3 and q1 pull the clear low, and
    the next round shows 0: three rounds, with a 10 in passing that lamps would not show.
    """
    stored = {"U1.R[3]": 1, "U1.R[0]": 1}
    bench = Bench(tmp_path, COUNTER.format(number="161"), storage=stored)
    assert levels(bench.power_up(), *_Q, "ten_n") == [(1, 0, 0, 1, 1)]
    step = bench.step(clk=1)
    assert levels(step, *_Q, "ten_n") == [(1, 0, 0, 1, 1), (1, 0, 1, 0, 0), (0, 0, 0, 0, 1)]


def test_counter_that_clears_itself_synchronously_stays_on_ten(tmp_path: Path) -> None:
    """163, clear at the clock: 10 is a quiet state, and the next edge makes it 0."""
    stored = {"U1.R[3]": 1, "U1.R[0]": 1}
    bench = Bench(tmp_path, COUNTER.format(number="163"), storage=stored)
    bench.power_up()
    assert levels(bench.step(clk=1), *_Q, "ten_n") == [(1, 0, 0, 1, 1), (1, 0, 1, 0, 0)]
    assert levels(bench.step(clk=0), *_Q, "ten_n") == [(1, 0, 1, 0, 0)]
    assert levels(bench.step(clk=1), *_Q, "ten_n") == [(1, 0, 1, 0, 0), (0, 0, 0, 0, 1)]


SWITCH = """
board: switch
parts:
  MODE: {{part: spdt, positions: [SET, SHOW]{make}}}
  U1: 74{family}04
{pull}
nets:
  VCC: [MODE.1, U1.14{up}]
  GND: [MODE.3, U1.7, U1.A2, U1.A3, U1.A4, U1.A5, U1.A6]
  mode: [MODE.2, U1.A1{low}]
  not_mode: [U1.Y1]
"""
SET, SHOW, BETWEEN, BOTH = (1, 0), (0, 1), (0, 0), (1, 1)


def switch(family: str, *, pull: bool = False, make: bool = False) -> str:
    return SWITCH.format(
        family=family,
        make=", makes-before-breaks: true" if make else "",
        pull="  R1: {part: resistor, value: 10k}" if pull else "",
        up=", R1.1" if pull else "",
        low=", R1.2" if pull else "",
    )


@pytest.mark.parametrize("free", [0, 1])
@pytest.mark.parametrize("family", ["HC", "LS"])
def test_change_over_switch_on_its_way_leaves_the_net_floating(
    tmp_path: Path, free: int, family: str
) -> None:
    """SET joins the common pin to the supply, SHOW to ground; on its way it touches neither, and
    the input reads any level, also an LS input, since a wire is on it.
    """
    controls = {"MODE": SET}
    bench = Bench(tmp_path, switch(family), controls=controls, free={"U1.1": free})
    assert levels(bench.power_up(), "mode", "not_mode") == [(1, 0)]
    assert levels(bench.step(MODE=BETWEEN), "not_mode") == [(1 - free,)]
    assert levels(bench.step(MODE=SHOW), "mode", "not_mode") == [(0, 1)]


def test_change_over_switch_with_a_pull_up_is_high_on_its_way(tmp_path: Path) -> None:
    """10 kOhm to the supply: 0.2 V over it for an LS input's 20 uA, so it counts."""
    bench = Bench(tmp_path, switch("LS", pull=True), controls={"MODE": SHOW})
    assert levels(bench.power_up(), "mode", "not_mode") == [(0, 1)]
    assert levels(bench.step(MODE=BETWEEN), "mode", "not_mode") == [(1, 0)]
    assert levels(bench.step(MODE=SET), "mode", "not_mode") == [(1, 0)]


@pytest.mark.parametrize("free", [0, 1])
def test_change_over_switch_that_makes_before_it_breaks_shorts_the_supply(
    tmp_path: Path, free: int
) -> None:
    """Both contacts closed join supply and ground: a fight, and the input reads any level."""
    text = switch("HC", make=True)
    bench = Bench(tmp_path, text, controls={"MODE": SET}, free={"U1.1": free})
    assert levels(bench.power_up(), "not_mode") == [(0,)]
    assert levels(bench.step(MODE=BOTH), "not_mode") == [(1 - free,)]
    assert levels(bench.step(MODE=SHOW), "not_mode") == [(1,)]


SHORT = """
board: short
parts: {U1: 74LS04, U2: 74LS04, B: {part: push-button}}
nets:
  VCC: [U1.14, U2.14]
  GND: [U1.7, U2.7, U1.A1, U2.A1, B.1]
  y: [U1.Y1, B.2]
  z: [U2.Y1]
"""


@pytest.mark.parametrize("free", [0, 1])
def test_button_from_an_output_to_ground_makes_ground_fight(tmp_path: Path, free: int) -> None:
    """An input tied to ground makes y high. The button joins y to ground: a supply and an output on
    one net are two drivers, a fight, so an input on ground reads any level, each for itself.
    """
    bench = Bench(tmp_path, SHORT, free={"U1.1": 1 - free, "U2.1": free, "GND": 1, "y": 1})
    assert levels(bench.power_up(), "y", "z") == [(1, 1)]
    assert levels(bench.step(B=1), "GND", "y", "z") == [(1, 1, 1 - free)]
    assert levels(bench.step(B=0), "GND", "y", "z") == [(0, 1, 1)]


SERIES = """
board: series
parts: {U1: 74LS04, U2: 74HC04, R1: {part: resistor, value: 100}}
nets:
  VCC: [U1.14, U2.14]
  GND: [U1.7, U2.7]
  a: [U1.A1]
  y: [U1.Y1, R1.1]
  behind: [R1.2, U2.A1]
  z: [U2.Y1]
ports: {a: in}
"""


def test_resistor_in_series_carries_the_level_as_the_wire_would(tmp_path: Path) -> None:
    """1 uA through 100 ohms is 0.1 mV: nothing beside what the driver itself lacks (an LS high is
    too low for HC by the book, which is a wiring finding, with a wire and with a resistor).
    """
    bench = Bench(tmp_path, SERIES, free={"U2.1": 0, "behind": 0})
    assert levels(bench.power_up(), "y", "behind", "z") == [(1, 1, 0)]
    bench.free = {"U2.1": 1, "behind": 1}
    assert levels(bench.step(a=1), "y", "behind", "z") == [(0, 0, 1)]
