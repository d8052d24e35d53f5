"""Seven-segment displays: every pattern of segments, digits as they are drawn on paper.

The drawings are the usual ones of hexadecimal displays (common practice), 6 and 9 with a tail as
the 247 drives them and without as the 47 does (data book, from memory). Pin numbers: the usual
single digit in ten pins, common practice.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.load import load_machine
from breadproof.specs.machine.trace import displays
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.segments import SEGMENTS, shown
from tests.devices.support import watcher

DIGITS = """\
 _       _   _       _   _   _   _   _   _       _       _   _
| |   |  _|  _| |_| |_  |_    | |_| |_| |_| |_  |    _| |_  |_
|_|   | |_   _|   |  _| |_|   | |_|  _| | | |_| |_  |_| |_  |
"""
"""0 to 9, A to F, each three characters wide with one between."""
TAILLESS = {"6": "   |_ |_|", "7": " _ | |  |", "9": " _ |_|  |"}
_PLACES = {"a": 1, "f": 3, "g": 4, "b": 5, "e": 6, "d": 7, "c": 8}


def lit(picture: str) -> frozenset[str]:
    """The segments of a picture of three rows of three characters."""
    return frozenset(name for name, place in _PLACES.items() if picture[place] != " ")


def drawn() -> Iterator[tuple[str, frozenset[str]]]:
    rows = [line.ljust(64) for line in DIGITS.splitlines()]
    for value, name in enumerate("0123456789AbCdEF"):
        yield name, lit("".join(row[4 * value : 4 * value + 3] for row in rows))
    for name, picture in TAILLESS.items():
        yield name, lit(picture)


def test_every_pattern_of_segments_is_called_by_what_it_looks_like() -> None:
    """All 128 patterns: those on paper by their digits, the others by their segments."""
    names: dict[frozenset[str], list[str]] = {}
    for name, segments in drawn():
        names.setdefault(segments, []).append(name)
    assert len(names) == 18  # a 6 without a tail is also a b
    for pattern in range(128):
        segments = frozenset(s for k, s in enumerate("abcdefg") if pattern >> k & 1)
        text = shown(segments)
        if segments in names:
            assert text == " or ".join(sorted(names[segments]))
        else:
            assert text == (f"segments {''.join(sorted(segments))}" if segments else "blank")


@pytest.mark.parametrize(
    ("segments", "text"),
    [("bcdp", "1."), ("cdefgdp", "6 or b and the point"), ("dp", "blank and the point")],
)
def test_the_point_is_told(segments: str, text: str) -> None:
    letters = {*segments.removesuffix("dp"), "dp"}
    assert shown(letters) == text


def board(common: str, covers: str = "") -> str:
    """A display whose segments hang on a port through resistors; pin numbers by hand."""
    pins = {"a": 7, "b": 6, "c": 4, "d": 2, "e": 1, "f": 9, "g": 10, "dp": 5}
    resistors = "".join(f"  R{k}: {{part: resistor, value: 330}}\n" for k in range(8))
    nets = "".join(f"  s{k}: [R{k}.2, DS1.{pins[s]}]\n" for k, s in enumerate(SEGMENTS))
    drive = ", ".join(f"R{k}.1" for k in range(7, -1, -1))
    rail = "VCC" if common == "anode" else "GND"
    return (
        f"parts:\n  DS1: {{part: display, common: {common}}}\n{resistors}"
        f"nets:\n  {rail}: [DS1.8]\n  lines[7:0]: [{drive}]\n{nets}"
        f"ports: {{lines: in}}\n{covers}"
    )


def all_covers() -> str:
    lines = [f"  d{k}: {{formula: 'shows(DS1, {k})'}}" for k in range(16)]
    return "\n".join(["cover:", *lines, "  point: {formula: 'DS1[7]'}"]) + "\n"


@pytest.mark.parametrize("common", ["anode", "cathode"])
def test_formulas_and_traces_see_the_digit(tmp_path: Path, common: str) -> None:
    """All 256 patterns on both kinds: shows() of every digit, DS1[7:0], and what a trace says."""
    walk = watcher(tmp_path, board(common, all_covers()))
    values: dict[frozenset[str], set[int]] = {}
    for name, segments in drawn():
        values.setdefault(segments, set()).add("0123456789AbCdEF".index(name))
    for pattern in range(256):
        levels = pattern ^ (0xFF if common == "anode" else 0)
        step = walk.step({"lines": tuple(levels >> k & 1 for k in range(7, -1, -1))})
        segments = frozenset(s for k, s in enumerate(SEGMENTS) if pattern >> k & 1)
        seen = {k for k in range(16) if walk.said[f"d{k}"]}
        assert seen == values.get(segments - {"dp"}, set())
        assert walk.said["point"] == pattern >> 7
        assert displays(walk.machine.netlist, step.rounds[-1]) == {"DS1": shown(segments)}


HALF = """
board: half
parts:
  U1: 74LS125
  DS1: {part: display, common: anode}
  R1: {part: resistor, value: 470}
  R2: {part: resistor, value: 470}
nets:
  VCC: [U1.14, DS1.3, U1.10, U1.13]
  GND: [U1.7, U1.2, U1.4, U1.5, U1.9, U1.12]
  off: [U1.1]
  y1: [U1.3, R1.1]
  y2: [U1.6, R2.1]
  a: [R1.2, DS1.a]
  b: [R2.2, DS1.b]
ports: {off: in}
"""


def test_a_trace_says_that_a_segment_whose_end_floats_is_dark(tmp_path: Path) -> None:
    """A 125 lets go where its enable is high (function table)."""
    (tmp_path / "half.yaml").write_text(HALF, "utf-8")
    walk = Walker(load_machine(tmp_path / "half.yaml"))
    walk.power_up()
    for level, segments in ((0, "ab"), (1, "b"), (0, "ab")):
        step = walk.step({"off": (level,)})
        assert displays(walk.machine.netlist, step.rounds[-1]) == {"DS1": shown([*segments])}


def test_either_common_pin_will_do_and_both_are_one_net(tmp_path: Path) -> None:
    """Pins 3 and 8 are joined inside: what is wired to one reaches the other."""
    text = board("cathode", all_covers()).replace("GND: [DS1.8]", "GND: [DS1.3]\n  out: [DS1.8]")
    walk = watcher(tmp_path, text)
    walk.step({"lines": (0, 0, 0, 0, 0, 1, 1, 0)})
    assert walk.said["d1"]
    assert [(link.part, {link.a, link.b}) for link in walk.machine.netlist.links] == [
        ("DS1", {0, 1})
    ]


STORY = board(
    "cathode",
    "assert:\n  never-seven: {says: No cue shows a seven., formula: 'never shows(DS1, 7)'}\n",
)


def test_story_and_json_show_the_digit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "board.yaml"
    path.write_text("board: cue-panel\n" + STORY, "utf-8")
    assert cli.main(["verify", str(path)]) == 1
    out = capsys.readouterr().out
    rows = [line.split() for line in out.splitlines() if line.lstrip().startswith("DS1 ")]
    assert rows[0] == ["DS1", "7"]
    assert cli.main(["verify", str(path), "--json"]) == 1
    result = json.loads(capsys.readouterr().out)["results"]
    (found,) = [one for one in result if one["name"] == "never-seven"]
    assert [step["displays"] for step in found["trace"]["steps"]] == [{"DS1": "7"}]


@pytest.mark.parametrize(
    ("formula", "message", "hint"),
    [
        ("shows(DS1, 16)", "a display shows no 16", "Digits are 0 to 15 (A to F)."),
        ("shows(lines, 1)", "shows takes a display and a digit", "Write shows(DS1, 5)."),
        ("shows(DS1)", "shows takes a display and a digit", "Write shows(DS1, 5)."),
    ],
)
def test_wrong_use_of_shows_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], formula: str, message: str, hint: str
) -> None:
    path = tmp_path / "board.yaml"
    text = board("anode", f"cover:\n  it: {{formula: '{formula}'}}\n")
    path.write_text("board: cue-panel\n" + text, "utf-8")
    assert cli.main(["verify", str(path)]) == 2
    err = capsys.readouterr().err
    assert f"{path}:{text.count(chr(10)) + 1}:" in err
    assert message in err
    assert hint in err
