"""Runs as text: steps, diagram, probes, chain. The chips' behaviour is the data book's.

The texts were written down beside the boards' wiring (tests/report/boards.py): which pin drives
which net, and what a 244, 574, 157, 74, 163, 10, 00 and 6116 do by their function tables.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import DontCare, Trace
from breadproof.verify.prove.verdict import Kind
from breadproof.verify.report.page import PLAIN, Page
from breadproof.verify.report.replay import ReplayMismatch, replay
from breadproof.verify.report.storytext import story_lines
from breadproof.verify.report.timing import levels_of
from tests.report import boards as b
from tests.stimulus.test_command import DISPLAY


def text(machine: Machine, name: str, trace: Trace, kind: Kind, page: Page = PLAIN) -> str:
    return "\n".join(story_lines(b.story(machine, name, trace, kind), trace, page))


def drawn(wave: str) -> str:
    """A wave in ASCII as it is drawn on a terminal that has the characters."""
    signs: dict[str, str | int | None] = {
        "/": "\N{BOX DRAWINGS LIGHT DIAGONAL UPPER RIGHT TO LOWER LEFT}",
        "\\": "\N{BOX DRAWINGS LIGHT DIAGONAL UPPER LEFT TO LOWER RIGHT}",
        "_": "\N{LOWER ONE EIGHTH BLOCK}",
        "-": "\N{UPPER ONE EIGHTH BLOCK}",
    }
    return wave.translate(str.maketrans(signs))


def test_a_fight_shows_both_sources_and_what_made_each_drive(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(
        machine,
        [{"TAKE": (1,)}, {"MODE": (1, 0)}],
        start={"MODE": (0, 1), "SW1[1]": (1,)},
        storage={"U2.R[0]": 1},
    )
    assert (
        text(machine, "fights:bus", trace, "standing")
        == "  start   MODE is at SHOW; TAKE is not pressed; the chips come up with U2.R = 8'h01 "
        r"""and else with 0
  step 1  press TAKE while MODE is at SHOW
  step 2  move MODE to SET while TAKE is pressed

            start  1.1    1.2    2
  MODE       SHOW   SHOW   SHOW  |SET
  TAKE      _______/--------------------
  mode      ---------------------\______
  bus[1:0]   Z     |2     |0     |X
  take_n    -------\____________________
                                 ^^^^^^
  XXX or a digit X: two drive it; ... or a digit Z: nobody drives it

  probe   mode      MODE.2 (common) -> U1.1 (G1_n)
          bus[1:0]  U1.[18, 16]; U2.[19, 18]
          take_n    TAKE.2 -> U2.1 (OE_n)

  chain   2       MODE                        -> net mode falls
                  U1.1 (G1_n) -> U1.18 (Y11)  -> drives net bus[1]

  and     1.1     TAKE                       -> net take_n falls
                  U2.1 (OE_n) -> U2.19 (Q0)  -> drives net bus[1]"""
    )


def test_a_formula_s_chain_goes_through_a_register_into_the_next_round(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(
        machine,
        [{"TAKE": (1,)}],
        start={"MODE": (0, 1)},
        storage={"U2.R[0]": 1, "U2.R[1]": 1},
    )
    assert (
        text(machine, "not-three", trace, "assert")
        == r"""  start   TAKE is not pressed; the chips come up with U2.R = 8'h03 and else with 0
  step 1  press TAKE

            start  1.1    1.2
  TAKE      _______/-------------
  take_n    -------\_____________
  take      _______/-------------
  bus[1:0]   Z     |3     |0
                          ^^^^^^
  ... or a digit Z: nobody drives it

  probe   take_n    TAKE.2 -> U3.1 (A1)
          take      U3.2 (Y1) -> U2.11 (CLK)
          bus[1:0]  U2.[19, 18]

  chain   1.1     TAKE                       -> net take_n falls
                  U3.1 (A1) -> U3.2 (Y1)     -> net take rises
          1.2     U2.11 (CLK) -> U2.19 (Q0)  -> net bus[1] falls"""
    )


def test_a_pulse_that_no_level_shows_is_told_as_one(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.GATED)
    trace = b.walked(machine, [{"SEL": (0, 0)}], start={"SEL": (1, 0)})
    assert (
        text(machine, "glitch:U2.11", trace, "standing")
        == r"""  start   SEL is at SLOW
  step 1  move SEL to between

       start    1
  SEL   SLOW    |between
  sel  _________/--------
  clk  ------------------
                ^^^^^^^^

  probe   sel  SEL.2 (common) -> U1.1 (S)
          clk  U1.4 (Y1) -> U2.11 (CLK)

  chain   1       SEL                    -> net sel rises
                  U1.1 (S) -> U1.4 (Y1)  -> net clk may pulse -> U2.11 (CLK)

  cause   the change of SEL; nothing else has to change with it"""
    )


HAZARD = """\
board: hazard
parts:
  U1: 74LS00
  U2: 74LS374
  GO: {part: push-button}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U2.20, R1.1]
  GND: [U1.7, U2.10, U2.1, GO.1]
  go_n: [GO.2, R1.2, U1.4, U1.5, U1.1]
  go: [U1.6, U1.2]
  clk: [U1.3, U2.11]
"""
"""A signal and its inverse meet in a NAND gate: the static hazard of the textbooks."""


def test_a_pulse_has_both_ways_that_meet(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, HAZARD)
    lines = text(machine, "glitch:U2.11", b.walked(machine, [{"GO": (1,)}]), "standing")
    assert lines.endswith("""
  chain   1       GO                      -> net go_n falls
                  U1.1 (A1) -> U1.3 (Y1)  -> net clk may pulse -> U2.11 (CLK)

  and     1       GO                      -> net go_n falls
                  U1.4 (A2) -> U1.6 (Y2)  -> net go rises
                  U1.2 (B1) -> U1.3 (Y1)  -> net clk may pulse -> U2.11 (CLK)

  cause   the change of GO; nothing else has to change with it""")


def test_a_loop_without_a_level_is_named_with_the_control_that_lets_it_go(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.RING)
    trace = b.walked(machine, [{"GO": (1,)}], rounds=1)
    assert (
        text(machine, "quiet", trace, "standing")
        == r"""  start   GO is not pressed
  step 1  press GO

        start  1
  GO    _______/------
  go_n  -------\______
  go    _______/------
  ring  --------------
               ^^^^^^

  probe   go_n  GO.2 -> U1.4 (A2)
          go    U1.6 (Y2) -> U1.1 (A1)
          ring  U1.3 (Y1) -> U1.2 (B1)

  chain   1       GO                      -> net go_n falls
                  U1.4 (A2) -> U1.6 (Y2)  -> net go rises
                  U1.1 (A1) -> U1.3 (Y1)  -> net ring does not settle
                  U1.2 (B1) -> U1.3 (Y1)  -> net ring does not settle"""
    )


def test_two_things_that_move_at_once_have_a_chain_each(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(machine, [{"CLOCK": (1,)}], storage={"U1.R1[0]": 1})
    assert (
        text(machine, "race:U7.21", trace, "standing")
        == r"""  start   CLOCK is not pressed; the chips come up with U1.R1 = 1 and else with 0
  step 1  press CLOCK

            start  1.1    1.2
  CLOCK     _______/-------------
  clk_n     -------\_____________
  clk       _______/-------------
  a[3:0]     0      0     |1
  first     --------------\______
  strobe_n  ______________/------
  d[7:0]     ZZ     ZZ    |00
                          ^^^^^^
  ... or a digit Z: nobody drives it

  probe   clk_n     CLOCK.2 -> U4.4 (A2)
          clk       U4.6 (Y2) -> U1.3 (CLK1), U2.2 (CLK)
          a[3:0]    U2.[11, 12, 13, 14]
          first     U1.5 (Q1) -> U3.1 (A1)
          strobe_n  U3.12 (Y1) -> U7.21 (WE_n)
          d[7:0]    U7.[17, 16, 15, 14, 13, 11, 10, 9]

  chain   1.1     CLOCK                     -> net clk_n falls
                  U4.4 (A2) -> U4.6 (Y2)    -> net clk rises
          1.2     U2.2 (CLK) -> U2.14 (Q0)  -> net a[0] rises -> U7.8 (A0)

  and     1.1     CLOCK                       -> net clk_n falls
                  U4.4 (A2) -> U4.6 (Y2)      -> net clk rises
          1.2     U1.3 (CLK1) -> U1.5 (Q1)    -> net first falls
                  U3.1 (A1) -> U3.12 (Y1)     -> net strobe_n rises
                  U7.21 (WE_n) -> U7.9 (IO0)  -> net d[0] goes low"""
    )


def test_what_stands_so_since_power_up_is_told_by_content_and_supply(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(machine, [], start={"d": (1,) + (0,) * 8})
    assert (
        text(machine, "fights:d", trace, "standing")
        == "  start   d is driven from outside with 8'h00; the chips come up with U1.R1 = 0 "
        r"""and else with 0

             start
  d outside   00
  first      _______
  strobe_n   -------
  d[7:0]      XX
             ^^^^^^
  XXX or a digit X: two drive it

  probe   first     U1.5 (Q1) -> U3.1 (A1)
          strobe_n  U3.12 (Y1) -> U7.21 (WE_n)
          d[7:0]    U7.[17, 16, 15, 14, 13, 11, 10, 9]

  chain   start   U1.R1 -> U1.5 (Q1)           -> net first is low
                  U3.1 (A1) -> U3.12 (Y1)      -> net strobe_n is high
                  U7.21 (WE_n) -> U7.17 (IO7)  -> drives net d[7]

  and     start   d, from outside  -> net d[7] is fought over"""
    )


def test_a_chain_may_lie_in_an_earlier_step(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(machine, [{"STORE": (1,)}, {"CLOCK": (1,)}, {"STORE": (0,)}])
    assert (
        text(machine, "pressed", trace, "assert")
        == r"""  start   STORE is not pressed; CLOCK is not pressed
  step 1  press STORE while CLOCK is not pressed
  step 2  press CLOCK while STORE is pressed
  step 3  release STORE while CLOCK is pressed

            start  1      2      3
  STORE     _______/-------------\______
  CLOCK     ______________/-------------
  clk_n     --------------\_____________
  clk       ______________/-------------
  first     ______________/-------------
  strobe_n  --------------\_____________
                                 ^^^^^^

  probe   clk_n     CLOCK.2 -> U4.4 (A2)
          clk       U4.6 (Y2) -> U1.3 (CLK1)
          first     U1.5 (Q1) -> U3.1 (A1)
          strobe_n  U3.12 (Y1) -> U7.21 (WE_n)

  chain   2.1     CLOCK                     -> net clk_n falls
                  U4.4 (A2) -> U4.6 (Y2)    -> net clk rises
          2.2     U1.3 (CLK1) -> U1.5 (Q1)  -> net first rises
                  U3.1 (A1) -> U3.12 (Y1)   -> net strobe_n falls -> U7.21 (WE_n)"""
    )


def test_a_long_run_is_broken_into_blocks_that_fit_and_drawn_with_lines_on_a_terminal(
    tmp_path: Path,
) -> None:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(
        machine,
        [{"CLOCK": (1 - number % 2,)} for number in range(8)],
        storage={"U1.R1[0]": 1},
    )
    page = Page(width=60, drawing=True)
    lines = text(machine, "still", trace, "assert", page).splitlines()
    start = lines.index("            start  1      2      3      4      5")
    assert lines[start - 2 : start + 18] == [
        "  step 8  release CLOCK",
        "",
        "            start  1      2      3      4      5",
        "  CLOCK     " + drawn(r"_______/------\______/------\______/------"),
        "  clk_n     " + drawn(r"-------\______/------\______/------\______"),
        "  clk       " + drawn(r"_______/------\______/------\______/------"),
        "  first     " + drawn(r"-------\__________________________________"),
        "  strobe_n  " + drawn(r"_______/----------------------------------"),
        "  a[3:0]     0     |1      1     |2      2     |3",
        "",
        "            6      7      8",
        "  CLOCK     " + drawn(r"\______/------\______"),
        "  clk_n     " + drawn(r"/------\______/------"),
        "  clk       " + drawn(r"\______/------\______"),
        "  first     " + drawn(r"_____________________"),
        "  strobe_n  " + drawn(r"---------------------"),
        "  a[3:0]     3     |4      4",
        "                          ^^^^^^",
        "",
        "  probe   clk_n     CLOCK.2 -> U4.4 (A2)",
    ]
    assert lines[-7:] == [
        "",
        "  and     7.1     CLOCK",
        "                    -> net clk_n falls",
        "                  U4.4 (A2) -> U4.6 (Y2)",
        "                    -> net clk rises",
        "          7.2     U2.2 (CLK) -> U2.12 (Q2)",
        "                    -> net a[2] rises",
    ]
    assert max(len(line) for line in lines) <= 60


def test_an_open_enable_is_named_as_what_leaves_a_net_floating(tmp_path: Path) -> None:
    """A 244's enable that is open reads high (LS), so that half of it never drives."""
    wired = b.TWO_SOURCES.replace("MODE.2, U1.1, RN1.4", "MODE.2, RN1.4")
    machine = b.machine_of(tmp_path, wired + '  quiet-bus: {formula: "floats(bus)"}\n')
    trace = b.walked(machine, [], start={"MODE": (1, 0)})
    assert (
        text(machine, "quiet-bus", trace, "cover")
        == r"""  start   power goes on

            start
  bus[1:0]   Z
            ^^^^^^
  ... or a digit Z: nobody drives it

  probe   bus[1:0]  U1.[18, 16]

  chain   start   U1.1 (G1_n) is open -> U1.18 (Y11)  -> net bus[1] floats"""
    )


def test_outputs_that_always_drive_and_pins_that_are_open_are_called_so(tmp_path: Path) -> None:
    joined = HAZARD.replace("clk: [U1.3, U2.11]", "clk: [U1.3, U1.8]")
    machine = b.machine_of(tmp_path, joined)
    trace = b.walked(machine, [])
    fight = text(machine, "fights:clk", trace, "standing")
    assert "  chain   start   U1.3 (Y1), always on  -> drives net clk\n" in fight
    assert "  and     start   U1.8 (Y3), always on  -> drives net clk" in fight
    floating = text(machine, "float:U2.11", trace, "standing")
    assert floating.endswith("\n  open    U2.11 (CLK) is connected to nothing")


def test_a_whole_dip_switch_is_one_row_and_a_memory_is_told_by_its_pins(tmp_path: Path) -> None:
    wired = b.TWO_SOURCES + "  shut: {formula: \"SW1 == 2'd2 && bus == 2'd1\"}\n"
    machine = b.machine_of(tmp_path, wired)
    trace = b.walked(machine, [{"SW1[2]": (1,)}], start={"MODE": (1, 0)})
    # Closed, a way pulls its line low: way 2 is switches[0], which a 244 passes on to bus[0].
    assert (
        text(machine, "shut", trace, "cover")
        == r"""  start   no way of SW1 is closed
  step 1  close SW1[2]

                 start  1
  SW1[2:1]        0     |2
  switches[1:0]   3     |2
  bus[1:0]        3     |2
                        ^^^^^^

  probe   switches[1:0]  U1.[2, 4]
          bus[1:0]       U1.[18, 16]

  chain   1       SW1[2]                     -> net switches[0] falls
                  U1.4 (A12) -> U1.16 (Y12)  -> net bus[0] falls"""
    )
    machine = b.machine_of(tmp_path, b.STROBE + "  word: always U7.M[5] == 0\n")
    shown = text(machine, "word", b.walked(machine, []), "assert")
    assert "\n  a[3:0]   0\n" in shown
    assert "\n  d[7:0]   00\n" in shown


def test_a_run_that_walks_another_way_is_refused(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(machine, [{"TAKE": (1,)}], start={"MODE": (0, 1)})
    other = replace(trace, storage={**trace.storage, "U2.R[0]": 1, "U2.R[1]": 1})
    with pytest.raises(ReplayMismatch, match="step 1 of a run goes another way"):
        replay(machine, other)


def test_what_does_not_matter_is_drawn_so(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(
        machine,
        [{"TAKE": (1,)}, {"MODE": (1, 0)}],
        start={"MODE": (0, 1), "SW1[1]": (1,)},
        storage={"U2.R[0]": 1},
    )
    idle = DontCare(controls={"TAKE": (0,), "MODE": (0, 1)}, storage=("U2.R[0]",))
    told = text(machine, "fights:bus", replace(trace, fewest=False, dont_care=idle), "standing")
    # No chain goes by SW1 or these bits, but nothing says that they do not matter.
    assert told.startswith(
        r"""  start   way 1 of SW1 is closed; the chips come up with U2.R[7:1] = 7'b0000000
  step 1  press TAKE
  step 2  move MODE to SET while TAKE is pressed
  also    a run that is as short but moves fewer controls may do

            start  1.1    1.2    2
  MODE       -      -      -     |SET
  TAKE      ~~~~~~~---------------------
"""
    )
    assert told.count("~~~ or -: does not matter") == 1


@pytest.mark.parametrize(
    ("levels", "shown"),
    [
        ("00ZZ00Z", "b00ZZ00Z"),  # a 4 in segments g to a that an open collector pulls low
        ("0Z00Z00", "b0Z00Z00"),  # a 2
        ("ZZZZZZZ", "ZZ"),
        ("ZZZZ1010", "ZA"),
        ("XX10", "bXX10"),
        ("0110", "6"),
        ("Z" + 16 * "0", "Z0000"),
        (8 * "0" + "0Z" + 8 * "0", "00Z00"),  # 18 bits: too long
    ],
)
def test_levels_that_one_digit_would_hide_are_written_bit_by_bit(levels: str, shown: str) -> None:
    assert levels_of(list(levels)) == shown


COUNTER = """\
board: counter
parts:
  U1: 74LS169
  U2: 74LS74
nets:
  VCC: [U1.16, U1.9, U2.14, U2.1, U2.4, U2.10, U2.13]
  GND: [U1.8, U1.3, U1.4, U1.5, U1.6, U1.7, U1.10, U2.7, U2.11, U2.12]
  beat: [U1.2]
  turn: [U2.3]
  way: [U2.2]
  up: [U2.5, U1.1]
  q[3:0]: [U1.11, U1.12, U1.13, U1.14]
ports: {beat: in, turn: in, way: in}
assert:
  never-back:
    says: It never counts back from 0.
    formula: "never (prev(U1.R) == 0 && U1.R == 15)"
"""


def test_what_is_stored_has_a_chain_and_all_that_matters_is_told(tmp_path: Path) -> None:
    """169: counts down at a rising clock (pin 2) while U/D (pin 1) is low; Q0 to Q3 are pins 14 to
    11 (data book, from memory). So from 0 it goes to 15 if the flip-flop at pin 1 holds 0."""
    machine = b.machine_of(tmp_path, COUNTER)
    trace = b.walked(machine, [{"beat": (1,)}])
    idle = DontCare(controls={"turn": (0, 1), "way": (0, 1)}, storage=("U2.R2[0]",))
    told = text(machine, "never-back", replace(trace, dont_care=idle), "assert")
    assert "the chips come up with U1.R = 4'h0, U2.R1 = 0" in " ".join(told.split())
    assert "  probe   beat    U1.2 (CLK)\n          q[3:0]  U1.[11, 12, 13, 14]\n" in told
    assert told.endswith(
        r"""  chain   1.1     beat, from outside        -> net beat rises
          1.2     U1.2 (CLK) -> U1.14 (Q0)  -> net q[0] rises"""
    )


TAKEN_OVER = """\
board: taken
parts:
  U1: 74LS125
  U2: 74LS74
nets:
  VCC: [U1.14, U2.14, U2.1, U2.4, U2.10, U2.13]
  GND: [U1.7, U2.7, U1.9, U1.10, U1.12, U1.13, U2.11, U2.12]
  a: [U1.2]
  b: [U1.5]
  sel: [U1.1, U2.3]
  sel_n: [U1.4]
  bus: [U1.3, U1.6, U2.2]
ports: {a: in, b: in, sel: in, sel_n: in}
together: [[sel, sel_n]]
"""


def test_a_level_is_that_of_the_output_which_takes_over(tmp_path: Path) -> None:
    """125: pins 1 and 4 are the enables, active low, of gates with outputs 3 and 6 (data book, from
    memory). The first lets go of its low, the second drives its high."""
    machine = b.machine_of(tmp_path, TAKEN_OVER)
    trace = b.walked(
        machine, [{"sel": (1,), "sel_n": (0,)}], start={"sel": (0,), "sel_n": (1,), "b": (1,)}
    )
    told = text(machine, "race:U2.3", trace, "standing")
    assert "U1.4 (G2_n) -> U1.6 (Y2)  -> net bus rises -> U2.2 (D1)" in told


def test_steps_in_which_the_same_is_done_are_one(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    still: list[dict[str, tuple[int, ...]]] = [{"TAKE": (1,)}, *([{}] * 4), {"MODE": (1, 0)}]
    trace = b.walked(machine, still, start={"MODE": (0, 1)}, storage={"U2.R[0]": 1})
    told = text(machine, "fights:bus", trace, "standing")
    assert "  step 1  press TAKE while MODE is at SHOW\n  2 to 5  nothing is moved while" in told
    assert "\n  step 6  move MODE to SET" in told
    assert "\n            start  1.1    1.2    2-5    6\n" in told
    assert "\n  MODE       SHOW   SHOW   SHOW   SHOW  |SET\n" in told


def test_a_column_of_several_rounds_names_both_ends(tmp_path: Path) -> None:
    """The counter counts in round 2; in round 3 its bit 0, rising, clocks the flip-flop."""
    ripple = COUNTER.replace("  turn: [U2.3]\n", "").replace("turn: in, ", "")
    ripple = ripple.replace("assert:", "wires: [U1.14 to U2.3]\nassert:")
    machine = b.machine_of(tmp_path, ripple)
    trace = b.walked(machine, [{"beat": (1,)}], start={"way": (1,)})
    told = text(machine, "never-back", trace, "assert")
    assert "          start  1.1    1.2-3\n" in told
    assert "          1.2     U1.2 (CLK) -> U1.14 (Q0)  -> net q[0] rises" in told


READ = """\
board: read
parts:
  U1: 74LS163
  U2: 74LS04
  U3: 74LS374
  U4: "6116"
nets:
  VCC: [U1.16, U1.1, U1.7, U1.9, U1.10, U2.14, U3.20, U4.24, U4.21]
  GND: [U1.8, U1.3, U1.4, U1.5, U1.6, U2.7, U2.5, U2.9, U2.11, U2.13, U3.10, U3.1, U3.7, U3.8,
    U3.13, U3.14, U3.17, U3.18, U3.4, U4.12, U4.18, U4.20, U4.1, U4.2, U4.3, U4.4, U4.5, U4.6, U4.7,
    U4.19, U4.22, U4.23]
  beat: [U1.2, U2.1]
  late_n: [U2.2, U2.3]
  late: [U2.4, U3.11]
  step: [U1.14, U4.8]
  word: [U4.9, U3.3]
ports: {beat: in}
"""


def test_a_word_that_may_pulse_behind_an_edge_is_told_with_its_address(tmp_path: Path) -> None:
    """Both words of the memory hold 0, so its output stays low; while the address moves it may show
    anything (tAA of the data book). The register's clock has two inverters on its way."""
    machine = b.machine_of(tmp_path, READ)
    trace = b.walked(machine, [{"beat": (1,)}])
    told = text(machine, "race:U3.11", trace, "standing")
    assert (
        r"""  and     1.1     beat, from outside        -> net beat rises
          1.2     U1.2 (CLK) -> U1.14 (Q0)  -> net step rises
                  U4.8 (A0) -> U4.9 (IO0)   -> net word may pulse -> U3.3 (D0)
"""
        in told
    )
    assert "cause   U3.3 (D0) may pulse right behind this edge" in told


CROSSED = (
    DISPLAY.replace("12, 13]", "13, 12]")
    + """\
assert:
  five: {says: It shows 5., formula: "always (n == 4'd5 -> shows(DS1, 5))"}
"""
)


def test_a_segment_whose_end_floats_is_dark(tmp_path: Path) -> None:
    """Of a 47 that is at 5 all but b and e pull low (function table); a and b are crossed, so
    that a and e get nothing."""
    machine = b.machine_of(tmp_path, CROSSED)
    trace = b.walked(machine, [{"n": (0, 1, 0, 1)}])
    told = text(machine, "five", trace, "assert")
    row = next(line for line in told.splitlines() if line.startswith("  DS1"))
    assert row.split("|")[-1].strip() == "segments bcdfg"
