"""What the wiring rules say of parts that are no chips. Figures: common practice."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.segments import PINS
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring


def findings(folder: Path, text: str) -> list[Finding]:
    path = folder / "board.yaml"
    path.write_text("board: cue-panel\n" + text, "utf-8")
    found = check_wiring(load_netlist(path))
    return [f for f in found if f.code != "decoupling-missing" and f.severity is not Severity.NOTE]


def told(folder: Path, text: str) -> list[tuple[str, str]]:
    return [(one.code, one.message) for one in findings(folder, text)]


GATES = (
    "  U1: 74LS04\n  U2: 74LS04\n",
    "GND: [U1.7, U2.7{gnd}]\n  VCC: [U1.14, U2.14{vcc}]\n"
    "  in[7:0]: [U1.1, U1.3, U1.5, U1.9, U1.11, U1.13, U2.1, U2.3]\n",
)
OUTPUTS = ("U1.2", "U1.4", "U1.6", "U1.8", "U1.10", "U1.12", "U2.2", "U2.4")


def display(common: str, bare: str) -> str:
    """Eight gates drive the segments in the order of the pins; ``bare`` ones without a resistor."""
    segments = [name for name in PINS.values() if not name.startswith("COM")]
    resistors = nets = ""
    for name, output in zip(segments, OUTPUTS, strict=True):
        if name in bare.split():
            nets += f"  s_{name}: [{output}, DS1.{name}]\n"
        else:
            resistors += f"  R_{name}: {{part: resistor, value: 330}}\n"
            nets += f"  s_{name}: [{output}, R_{name}.1]\n  k_{name}: [R_{name}.2, DS1.{name}]\n"
    rail = {"gnd": "", "vcc": ""} | {{"cathode": "gnd", "anode": "vcc"}[common]: ", DS1.3"}
    return (
        f"parts:\n{GATES[0]}  DS1: {{part: display, common: {common}}}\n{resistors}"
        f"nets:\n  {GATES[1].format(**rail)}{nets}ports: {{in: in}}\n"
    )


@pytest.mark.parametrize("common", ["cathode", "anode"])
def test_segments_without_resistors_are_one_finding(tmp_path: Path, common: str) -> None:
    assert not findings(tmp_path, display(common, ""))
    (one,) = findings(tmp_path, display(common, "b"))
    ends = ("s_b", "GND") if common == "cathode" else ("VCC", "s_b")
    assert one.message == (
        f"segment b of DS1 has no resistor: nothing limits the current from '{ends[0]}' to "
        f"'{ends[1]}'"
    )
    assert set(one.pins) == {"DS1.6", "DS1.3"}
    (one,) = findings(tmp_path, display(common, "a b dp"))
    assert one.code == "led-no-resistor"
    assert (
        one.message == "segments a, b and dp of DS1 have no resistor: nothing limits their current"
    )
    assert set(one.pins) == {"DS1.7", "DS1.6", "DS1.5", "DS1.3"}


def test_open_collector_outputs_sink_segments_and_give_none(tmp_path: Path) -> None:
    """A 05 lights a segment from the supply, and one to ground not at all."""
    text = display("anode", "b").replace("74LS04", "74LS05")
    assert [f.code for f in findings(tmp_path, text)] == ["led-no-resistor"]
    text = display("cathode", "b").replace("74LS04", "74LS05")
    assert not findings(tmp_path, text)


ROTARY = """\
parts:
  U1: 74HC04
  ROT: {{part: rotary-dip, positions: {}}}
  R1: {{part: resistor, value: 10k}}
  R2: {{part: resistor, value: 10k}}
  R4: {{part: resistor, value: 10k}}
nets:
  VCC: [U1.14, R1.1, R2.1, R4.1]
  GND: [U1.7, ROT.C, U1.9, U1.11, U1.13]
  one: [ROT.1, R1.2, U1.1]
  two: [ROT.2, R2.2, U1.3]
  four: [ROT.4, R4.2]
  eight: [ROT.8, U1.5]
"""


def test_a_contact_without_a_pull_floats_in_some_position(tmp_path: Path) -> None:
    (one,) = findings(tmp_path, ROTARY.format(16))
    assert (one.code, one.net) == ("switch-no-pull", "eight")
    assert one.message.startswith("net 'eight' floats while ROT is at 0: U1.5 (A3) then reads any")


def test_only_positions_that_there_are_count(tmp_path: Path) -> None:
    """Of the complement code contact 8 is open where the position has an 8: at 8 and 9 of ten."""
    text = ROTARY.format("10, complement: true")
    (one,) = findings(tmp_path, text)
    assert "floats while ROT is at 8: " in one.message


CLOCK = """\
parts:
  U1: 74HC74
  {}
  R1: {{part: resistor, value: 10k}}
nets:
  VCC: [U1.14, R1.1, U1.1, U1.4, U1.10, U1.13]
  GND: [U1.7, {}, U1.11, U1.12]
  clk: [R1.2, U1.3, {}]
  d: [U1.2]
  q: [U1.5]
ports: {{d: in, q: out}}
"""


def test_a_turn_bounces_and_a_jumper_is_plugged_without_power(tmp_path: Path) -> None:
    text = CLOCK.format("ROT: {part: rotary-dip, positions: 16}", "ROT.C", "ROT.8")
    assert told(tmp_path, text) == [
        (
            "switch-bounces",
            "ROT reaches the clock pin U1.3 (CLK1) with nothing to debounce it: one turn counts "
            "several times",
        )
    ]
    assert not findings(tmp_path, CLOCK.format("JP1: {part: jumper}", "JP1.1", "JP1.2"))


def test_a_bounce_comes_through_a_link(tmp_path: Path) -> None:
    parts = "B: {part: push-button}\n  JP1: {part: jumper, closed: true}"
    text = CLOCK.format(parts, "B.1", "JP1.1]\n  far: [JP1.2, B.2")
    assert [code for code, _ in told(tmp_path, text)] == ["switch-bounces"]
    opened = text.replace("closed: true", "closed: false")
    assert "switch-bounces" not in [code for code, _ in told(tmp_path, opened)]


RESET = """\
parts:
  U1: 74HC74
  SUP: {{part: supervisor, output: {}}}
  B: {{part: push-button}}
nets:
  VCC: [U1.14, U1.4, U1.10, U1.13, {}]
  GND: [U1.7, SUP.1, B.1, U1.11, U1.12]
  rst_n: [SUP.2, U1.1]
  mr_n: [B.2{}]
  clk: [U1.3]
  d: [U1.2]
  q: [U1.5]
ports: {{clk: in, d: in, q: out}}
"""


def test_a_button_at_a_manual_reset_needs_no_pull_and_no_debouncing(tmp_path: Path) -> None:
    text = RESET.format("push-pull, manual-reset: true", "SUP.4", ", SUP.3")
    assert not findings(tmp_path, text)


def test_an_open_manual_reset_is_no_fault(tmp_path: Path) -> None:
    text = RESET.format("push-pull, manual-reset: true", "SUP.4", "")
    assert [code for code, _ in told(tmp_path, text)] == ["net-alone"]  # the button's


def test_what_a_supervisor_lacks_is_told(tmp_path: Path) -> None:
    text = RESET.format("open-drain, manual-reset: true", "U1.14x", ", SUP.3").replace(
        ", U1.14x", ""
    )
    found = dict(told(tmp_path, text))
    assert found["supply-missing"] == "SUP has no supply: SUP.4 (VCC) is on no net"
    assert found["pull-up-missing"].startswith(
        "net 'rst_n' has no pull-up: the open-collector output"
    )


def test_an_led_behind_a_link_and_no_ohms_has_no_resistor(tmp_path: Path) -> None:
    text = (
        "parts:\n  U1: 74LS04\n  D1: {part: led}\n  R1: {part: resistor, value: 0}\n"
        "nets:\n  VCC: [U1.14, D1.A]\n  GND: [U1.7]\n  k: [D1.K, R1.1]\n  out: [R1.2, U1.2]\n"
        "  in: [U1.1]\nports: {in: in}\n"
    )
    assert [code for code, _ in told(tmp_path, text)] == ["led-no-resistor"]


def test_headers_and_test_points_pass_nets_through(tmp_path: Path) -> None:
    """A header's pins are on the nets they are in, and nothing more; so is a test point."""
    text = (
        "parts:\n  U1: 74HC04\n  J1: {part: connector, pins: 2}\n  TP: {part: test-point}\n"
        "nets:\n  VCC: [U1.14]\n  GND: [U1.7, U1.5, U1.9, U1.11, U1.13]\n"
        "  in: [U1.1, J1.1]\n  out: [U1.2, U1.3, TP.1]\n  last: [U1.4, J1.2]\n"
    )
    assert not findings(tmp_path, text)
    text = text.replace("  in: [U1.1, J1.1]\n", "  in: [U1.1, TP.1]\n").replace(
        ", TP.1]\n  last", "]\n  last"
    )
    assert [message for _, message in told(tmp_path, text)] == [
        "nothing drives net 'in', which is read by U1.1 (A1)"
    ]
