"""Coded rotary switches and jumpers. Contacts and codes are common practice."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.machine.trace import control_text
from tests.devices.support import level, verdicts, watcher

GATE = "  U1: 74HC04\n"
"""A reader, so that pulls count."""


def rotary(options: str, rest: str = "") -> str:
    """The switch pulls lines low against 4.7k; C is on ground."""
    return (
        f"parts:\n  ROT: {{part: rotary-dip, {options}}}\n"
        "  RN: {part: resistor-network, ways: 4, value: 4.7k}\n"
        "nets:\n  VCC: [RN.1]\n  GND: [ROT.C]\n"
        "  code[3:0]: [[ROT.8, ROT.4, ROT.2, ROT.1], [RN.2, RN.3, RN.4, RN.5]]\n" + rest
    )


@pytest.mark.parametrize("complement", [False, True])
def test_contacts_of_every_position(tmp_path: Path, complement: bool) -> None:
    """Contact 2^k joins C where the position has bit k; of the complement code where it has not."""
    options = f"positions: 16, complement: {'true' if complement else 'false'}"
    covers = "".join(f"  at{k}: {{formula: 'ROT == {k}'}}\n" for k in range(16))
    covers += "  low-half: {formula: '!ROT[3]'}\n  two: {formula: 'ROT[2:1] == 2'}\n"
    walk = watcher(tmp_path, rotary(options, "cover:\n" + covers))
    for position in range(16):
        closed = position ^ (15 if complement else 0)
        bits = tuple(closed >> k & 1 for k in (3, 2, 1, 0))
        walk.step({"ROT": bits})
        lines = [level(walk, f"code[{k}]") for k in range(4)]
        assert lines == [1 - (closed >> k & 1) for k in range(4)]
        assert [k for k in range(16) if walk.said[f"at{k}"]] == [position]
        assert bool(walk.said["low-half"]) == (position < 8)
        assert bool(walk.said["two"]) == (position >> 1 & 3 == 2)
        assert control_text(walk.machine.netlist, "ROT", bits) == f"{position:X}"


def test_while_it_is_turned_every_code_may_appear(tmp_path: Path) -> None:
    """From 3 (0011) to 4 (0100) all three contacts move: a BCD switch passes through codes that
    are none, and what looks at it for an instant may see them."""
    rest = (
        "cover:\n  next: {formula: 'ROT == 4 && prev(ROT) == 3'}\n"
        "  none: {formula: 'ROT == 13'}\n  one: {formula: 'ROT == 2 && prev(ROT) == 3'}\n"
    )
    found = verdicts(tmp_path, rotary("positions: 10", rest))
    assert {found[name] for name in ("next", "none", "one")} == {"covered"}
    text = control_text(
        watcher(tmp_path, rotary("positions: 10")).machine.netlist, "ROT", (1, 1, 0, 1)
    )
    assert text == "between (D)"


CLOCKED = (
    rotary(
        "positions: 16",
        "  clk: [U2.Y1, U3.CLK1]\n  d: [U3.D1]\n  q: [U3.Q1]\nports: {d: in}\n",
    )
    .replace("  RN:", "  U2: 74HC20\n  U3: 74HC74\n  RN:")
    .replace("code[3:0]: [", "code[3:0]: [[U2.D1, U2.C1, U2.B1, U2.A1], ")
    .replace("VCC: [", "VCC: [U3.PRE1_n, U3.CLR1_n, ")
)


def test_a_code_that_makes_a_clock_may_pulse(tmp_path: Path) -> None:
    """The NAND of all four lines is low at 0 only; from 1 to 2 it stays high, yet both contacts
    may be open for an instant: a pulse on the clock."""
    assert verdicts(tmp_path, CLOCKED)["glitch:U3.3"] == "fails"


def test_a_story_says_where_it_is_turned(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rest = "assert:\n  slow: {says: Never two up., formula: 'never (ROT == 5 && prev(ROT) == 3)'}\n"
    path = tmp_path / "board.yaml"
    path.write_text("board: cue-panel\n" + rotary("positions: 10", rest), "utf-8")
    assert cli.main(["verify", str(path)]) == 1
    out = capsys.readouterr().out
    assert "  start   ROT is at 3\n  step 1  turn ROT to 5\n" in out
    assert "  ROT   3     |5\n" in out


# ------------------------------------------------------------------------- jumpers

TWO = "nets:\n  a: [JP1.1]\n  b: [JP1.2]\nports: {a: in}\n"


@pytest.mark.parametrize("part", ["jumper, closed: true", "resistor, value: 0"])
def test_a_plugged_jumper_and_no_ohms_are_a_wire(tmp_path: Path, part: str) -> None:
    text = f"parts:\n  JP1: {{part: {part}}}\n{TWO}assert:\n  wire: {{formula: always a == b}}\n"
    found = verdicts(tmp_path, text)
    assert found["wire"] == "holds"
    walk = watcher(tmp_path, text)
    assert [control.name for control in walk.machine.netlist.controls] == ["a"]


def test_an_open_jumper_is_nothing(tmp_path: Path) -> None:
    walk = watcher(tmp_path, f"parts:\n  JP1: {{part: jumper, closed: false}}\n{TWO}")
    walk.step({"a": (1,)})
    assert (level(walk, "a"), level(walk, "b")) == (1, None)


def test_a_jumper_without_a_word_is_a_control(tmp_path: Path) -> None:
    walk = watcher(
        tmp_path, f"parts:\n  JP1: {{part: jumper}}\n{TWO}cover:\n  on: {{formula: JP1}}\n"
    )
    walk.step({"a": (1,)})
    assert (level(walk, "b"), walk.said["on"]) == (None, 0)
    walk.step({"JP1": (1,)})
    assert (level(walk, "b"), walk.said["on"]) == (1, 1)


THREE = "nets:\n  a: [JP1.1]\n  y: [JP1.2]\n  b: [JP1.3]\nports: {a: in, b: in}\n"


@pytest.mark.parametrize(("closed", "follows"), [("1-2", "a"), ("2-3", "b"), ("false", "")])
def test_three_pins_joined_by_the_board_file(tmp_path: Path, closed: str, follows: str) -> None:
    walk = watcher(tmp_path, f"parts:\n  JP1: {{part: jumper, pins: 3, closed: {closed}}}\n{THREE}")
    for a, b in ((0, 1), (1, 0)):
        walk.step({"a": (a,)})
        walk.step({"b": (b,)})
        assert level(walk, "y") == {"a": a, "b": b, "": None}[follows]


def test_three_pins_as_a_control_have_positions(tmp_path: Path) -> None:
    part = "{part: jumper, pins: 3, positions: [SLOW, FAST]}"
    covers = "cover:\n  slow: {formula: JP1 == SLOW}\n  fast: {formula: JP1 == FAST}\n"
    walk = watcher(tmp_path, f"parts:\n  JP1: {part}\n{THREE}{covers}")
    walk.step({"a": (1,)})
    found = []
    for bits in ((1, 0), (0, 1), (0, 0)):
        walk.step({"JP1": bits})
        found.append((level(walk, "y"), walk.said["slow"], walk.said["fast"]))
    assert found == [(1, 1, 0), (0, 0, 1), (None, 0, 0)]


def test_two_outputs_joined_by_a_link_fight(tmp_path: Path) -> None:
    text = (
        "parts:\n  U1: 74LS04\n  JP1: {part: jumper, closed: true}\n"
        "nets:\n  a: [U1.1]\n  b: [U1.3]\n  x: [U1.2, JP1.1]\n  y: [U1.4, JP1.2]\n"
        "ports: {a: in, b: in}\n"
    )
    found = verdicts(tmp_path, text)
    assert (found["fights:x"], found["fights:y"]) == ("fails", "fails")


def test_inputs_beyond_a_link_load_a_pull(tmp_path: Path) -> None:
    """I_IL of LS is 0.4 mA (data book): through 1k one input is lifted to 0.4 V, which is a low
    (V_IL 0.8 V); three inputs, two of them beyond the link, to 1.2 V, which is none."""
    text = (
        "parts:\n  U1: 74LS04\n  JP1: {{part: jumper, closed: {}}}\n"
        "  R1: {{part: resistor, value: 1k}}\n"
        "nets:\n  GND: [R1.1]\n  x: [R1.2, U1.1, JP1.1]\n  y: [JP1.2, U1.3, U1.5]\n"
    )
    assert level(watcher(tmp_path, text.format("false")), "x") == 0
    assert level(watcher(tmp_path, text.format("true")), "x") is None
    assert level(watcher(tmp_path, text.format("true")), "y") is None


def test_a_potentiometer_between_the_rails_gives_no_level(tmp_path: Path) -> None:
    """Its tap is pulled both ways; as a variable resistor to one rail it pulls."""
    tap = "  U1: 74HC04\n  P1: {part: potentiometer, value: 10k}\nnets:\n"
    both = watcher(tmp_path, f"parts:\n{tap}  VCC: [P1.1]\n  GND: [P1.3]\n  x: [P1.2, U1.1]\n")
    assert level(both, "x") is None
    one = watcher(tmp_path, f"parts:\n{tap}  VCC: [P1.1]\n  x: [P1.2, P1.3, U1.1]\n")
    assert level(one, "x") == 1
