"""Options of parts that are no chips: what is wrong with them is told with the way out."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof import cli

CASES = [
    ("display", "'common' of a display is anode or cathode", "common: anode}'"),
    ("display, common: both", "'common' of a display is anode or cathode", "common: anode}'"),
    ("rotary-dip", "a rotary-dip has 10 or 16 positions", "positions: 16}'"),
    ("rotary-dip, positions: 12", "a rotary-dip has 10 or 16 positions", "positions: 16}'"),
    ("rotary-dip, positions: 10, complement: yes", "'complement' is true or false", "true'"),
    ("jumper, pins: 4", "a jumper has 2 or 3 pins", "pins: 3}'"),
    ("jumper, closed: 1-2", "'closed' of a jumper is true or false", "closed: true}'"),
    (
        "jumper, pins: 3, closed: true",
        "'closed' of a jumper is 1-2 or 2-3 or false",
        "closed: 1-2}'",
    ),
    (
        "jumper, pins: 3",
        "a jumper of three pins names its two positions, or says which pins it joins",
        "'{part: jumper, pins: 3, positions: [SET, SHOW]}'",
    ),
    (
        "jumper, pins: 3, positions: [A, B], closed: 1-2",
        "only a jumper of three pins that is a control has positions",
        "or 'closed'",
    ),
    (
        "jumper, positions: [A, B]",
        "only a jumper of three pins that is a control has positions",
        "write 'pins: 3'",
    ),
    ("supervisor", "'output' of a supervisor is push-pull or open-drain", "output: push-pull"),
    (
        "supervisor, output: open-drain, active: yes",
        "'active' of a supervisor is low or high",
        "active: low}'",
    ),
    (
        "supervisor, output: push-pull, manual: true",
        "a supervisor has no 'manual'",
        "manual-reset",
    ),
    ("crystal, value: 4 MHz", "a crystal has no 'value'", "It has frequency."),
    ("crystal, frequency: fast", "this is no value", "1.8432M"),
    ("potentiometer, value: 0", "this is no value", "10k"),
    ("test-point, pins: 2", "a test-point has no 'pins'", "It has no options."),
    ("seven-segment", "no part 'seven-segment' is known", "Here it is called 'display'."),
    ("Toggle", "no part 'Toggle' is known", "Here it is called 'spdt'."),
    ("jumpr", "no part 'jumpr' is known", "Did you mean jumper?"),
]


@pytest.mark.parametrize(("part", "message", "hint"), CASES, ids=[case[0] for case in CASES])
def test_a_wrong_option_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], part: str, message: str, hint: str
) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(f"board: cue-panel\nparts:\n  X1: {{part: {part}}}\n", "utf-8")
    assert cli.main(["verify", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "b.yaml:3:" in err
    assert f"error: {message} [" in err
    assert hint in err


PAGES = {
    "display": ["  1  e", "  3  COM", "  7  a", " 10  g", "options   common, colour"],
    "rotary-dip": ["  1", "  8", "  C", "options   positions, complement"],
    "jumper": ["  1", "  2", "options   pins, positions, closed"],
    "supervisor": [
        "  1  GND",
        "  2  RESET_n",
        "  3  VCC",
        "options   output, active, manual-reset",
    ],
    "crystal": ["  1", "  2", "options   frequency"],
    "potentiometer": ["  2  tap", "options   value"],
    "test-point": ["  1"],
}


@pytest.mark.parametrize("part", PAGES)
def test_every_part_has_its_page(part: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["parts", part]) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"{part}  ")
    assert "source    common practice\n" in out
    for line in PAGES[part]:
        assert f"{line}\n" in out or f"{line};" in out


def test_the_list_has_every_part(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["parts"]) == 0
    out = capsys.readouterr().out
    assert [part for part in PAGES if f"\n  {part:<18}" not in out] == []
