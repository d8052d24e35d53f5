"""Which steps the entries of a script come to, by hand from the help of 'breadproof simulate'."""

from pathlib import Path

import pytest

from breadproof.export.stimulus.player import Reason
from breadproof.export.stimulus.setting import bench_player
from breadproof.specs.reading.diagnostics import BadInput
from tests.export import boards as small
from tests.stimulus.boards import loaded, played

PANEL = """
board: panel
parts:
  U1: 74HC00
  DIAL: {part: rotary-dip, positions: 16}
  JP: {part: jumper}
  S: {part: spdt, positions: [LEFT, RIGHT], makes-before-breaks: true}
  B1: {part: push-button}
  B2: {part: spdt, positions: [UP, DOWN]}
  RN: {part: resistor-network, ways: 8, value: 10k}
  R1: {part: resistor, value: 10k}
nets:
  GND: [U1.7, DIAL.C, JP.1, S.2, B1.1, B2.2]
  VCC: [U1.14, RN.1, R1.1]
  d[3:0]: [[DIAL.8, DIAL.4, DIAL.2, DIAL.1], [RN.2, RN.3, RN.4, RN.5], [U1.1, U1.2, U1.4, U1.5]]
  j: [JP.2, RN.6, U1.9]
  l: [S.1, RN.7, U1.10]
  r: [S.3, RN.8, U1.12]
  b: [B1.2, RN.9, U1.13]
  down: [B2.3, R1.2]
"""

Step = dict[str, str]


def steps(folder: Path, board: str, script: str, *names: str) -> list[str]:
    """The levels of nets at the quiet moment of each step, as a string a step."""
    one = loaded(folder, board, script)
    pause = played(bench_player(one.setting, None, every_round=False))
    assert pause.reason is Reason.ENDED
    nets = one.setting.sights.row.nets
    return [
        "".join(str(record.row >> nets[name] & 1) for name in names) for record in pause.records
    ]


@pytest.mark.parametrize(
    ("entry", "net", "expected"),
    [
        ("drive: {DIAL: A}", "d[3] d[2] d[1] d[0]", ["1111", "0101"]),
        ("drive: {DIAL: 4'd5}", "d[3] d[2] d[1] d[0]", ["1111", "1010"]),
        ("drive: {JP: plugged}", "j", ["1", "0"]),
        ("drive: {S: RIGHT}", "l r", ["01", "00", "10"]),
        ("drive: {S: LEFT}", "l r", ["01"]),
        ("drive: {S: between}", "l r", ["01", "00"]),
        ("press: B1", "b", ["1", "0", "1"]),
        ("press: B2", "down", ["1", "1", "0", "1", "1"]),
        ("press: [B1, B2]", "b down", ["11", "01", "11", "11", "10", "11", "11"]),
        ("drive: {B1: pressed, JP: 1}", "b j", ["11", "01", "00"]),
        ("repeat: {times: 2, stimulus: [{press: B1}]}", "b", ["1", "0", "1", "0", "1"]),
        ("repeat: {times: 0, stimulus: [{press: B1}]}", "b", ["1"]),
        ("clock: {B1: 2}", "b", ["1", "0", "1", "0", "1"]),
        ('clock: {name: B1, until: "b", most: 0}', "b", ["1"]),
    ],
)
def test_steps(entry: str, net: str, expected: list[str], tmp_path: Path) -> None:
    assert steps(tmp_path, PANEL, f"stimulus:\n  - {entry}\n", *net.split()) == expected


@pytest.mark.parametrize(
    ("word", "reason"),
    [
        ("B1: pressed", Reason.CHECK),
        ("B1: released", Reason.ENDED),
        ("JP: plugged", Reason.ENDED),
        ("JP: open", Reason.CHECK),
        ("B1: pressed, JP: plugged", Reason.CHECK),
        ("B1: released, JP: plugged", Reason.ENDED),
    ],
)
def test_what_controls_are_set_to_can_be_checked(word: str, reason: Reason, tmp_path: Path) -> None:
    """In the words that `drive` takes."""
    script = f"stimulus:\n  - drive: {{JP: plugged}}\n  - check: {{{word}}}\n"
    one = loaded(tmp_path, PANEL, script)
    assert played(bench_player(one.setting, None, every_round=False)).reason is reason


def test_what_may_change_together_does(tmp_path: Path) -> None:
    """The board says 'together: all'; and what is set a second time has a step of its own."""
    script = "stimulus:\n  - drive: {off1: 1, off2: 1, a: 1}\n"
    assert steps(tmp_path, small.TRANSCEIVERS, script, "off1", "off2", "a") == ["000", "111"]
    alone = small.TRANSCEIVERS.replace("together: all", "together: [[off1, off2]]")
    assert steps(tmp_path, alone, script, "off1", "off2", "a") == ["000", "110", "111"]


def test_a_board_that_does_not_get_quiet(tmp_path: Path) -> None:
    ring = PANEL.replace("  j:", "  ring: [U1.3, U1.1]\n  j:").replace(
        ", [U1.1, U1.2, U1.4, U1.5]", ""
    )
    one = loaded(tmp_path, ring.replace("U1.9]", "U1.2]"), "stimulus: []")
    assert played(bench_player(one.setting, None, every_round=False)).reason is Reason.RESTLESS


@pytest.mark.parametrize(
    "value", ["JP: 2", "DIAL: G", "S: UP", "B1: open", "JP: -1", "DIAL: 16", "B1: 2'b11"]
)
def test_values_that_are_none(value: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        loaded(tmp_path, PANEL, f"stimulus:\n  - drive: {{{value}}}\n")
    (told,) = bad.value.diagnostics
    assert (told.code, told.span.line) == ("control-value", 2)
    assert told.hint
