"""`breadproof compare` as a command: statuses, forms, options, bad input."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from breadproof.cli import main
from breadproof.verify.report.page import Page
from breadproof.verify.revisions.compare import Wanted, compare_netlists
from breadproof.verify.revisions.text import text
from breadproof.verify.revisions.verdicts import Means
from tests.revisions.boards import netlist_of

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


def run(old: str, new: str, *words: str) -> int:
    return main(["compare", str(FOLDER / old), str(FOLDER / new), "--jobs", "1", *words])


def test_the_same_wiring(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("chase.yaml", "chase-renumbered.yaml") == 0
    told = capsys.readouterr().out
    assert "no change in wiring" in told
    assert "THE SAME, in runs of any length" in told
    assert "as before: nothing that a proof rests on has changed" in told


def test_a_difference_with_all_that_is_proved(capsys: pytest.CaptureFixture[str]) -> None:
    """The first flip-flop's input tied otherwise: a formula fails, too (written from the board)."""
    assert run("dimmer-ls.yaml", "dimmer-hc.yaml") == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "DIFFERENT: dim_n, right after power-up" in told
    assert "first pin U1.2 (B1) is high on the old board" in told
    assert "comes from U1: HC in place of LS (74HC00)" in told
    assert "input-open:U1.2 clean, now error" in told
    assert told.split(" (")[-2].endswith("not the same machine")


@pytest.mark.parametrize(
    ("old", "new", "words", "status"),
    [
        ("scene-binary", "scene-gray", (), 1),
        ("scene-binary", "scene-gray", ("--after", "reset"), 0),
        ("scene-binary", "scene-gray", ("--when", "!clear_n"), 0),
        ("scene-binary", "scene-gray", ("--when", "clear_n && !clear_n"), 3),  # never
        ("scene-binary", "scene-gray", ("--only", "beat"), 0),
        ("chase", "chase-moved", ("--only", "beat", "--only", "run"), 0),
        ("chase", "chase-moved", ("--wiring",), 1),
        ("chase", "chase-renumbered", ("--wiring",), 0),
        ("cue-lamp-nand", "cue-lamp-and-or", ("--no-proofs",), 0),
    ],
)
def test_options(old: str, new: str, words: tuple[str, ...], status: int) -> None:
    assert run(f"{old}.yaml", f"{new}.yaml", *words) == status


@pytest.mark.parametrize(
    ("old", "new"),
    [("chase", "chase-moved"), ("chase", "chase-renumbered"), ("cue-lamp-nand", "cue-lamp-and-or")],
)
def test_json(capsys: pytest.CaptureFixture[str], old: str, new: str) -> None:
    status = run(f"{old}.yaml", f"{new}.yaml", "--json")
    found = json.loads(capsys.readouterr().out)
    schema = files("breadproof.verify.revisions").joinpath("compare.schema.json").read_text("utf-8")
    jsonschema.Draft202012Validator(json.loads(schema)).validate(found)
    assert found["verdict"] == ("fail" if status else "pass")
    assert found["wiring"]["same"] is (new == "chase-renumbered")


def test_markdown(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("chase.yaml", "chase-moved.yaml", "--markdown", "--no-proofs") == 1
    told = capsys.readouterr().out
    assert told.startswith("## ")
    assert "**What it does:** DIFFERENT: q, 1 step after power-up" in told
    assert "| step |  | q old | q new |" in told
    assert "| 1 | beat goes high | 4'h5 | 4'h1 |" in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--only", "lamp9"), "'lamp9' is no net or output of the old board"),
        (("--when", "nosuch == 1"), "nothing on this board is called 'nosuch'"),
        (("--when", "run &"), "--when:1:"),
        (("--json", "--markdown"), "two forms"),
        (("--time-limit", "0"), "between 0 and"),
    ],
)
def test_bad_calls(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str) -> None:
    assert run("chase.yaml", "chase-moved.yaml", *words) == 2
    assert told in capsys.readouterr().err


def test_no_reset(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("dimmer-ls.yaml", "dimmer-hc.yaml", "--after", "reset") == 2
    assert "declares no reset" in capsys.readouterr().err


def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("chase.yaml", "nosuch.yaml") == 2
    assert "nosuch.yaml" in capsys.readouterr().err


def test_all_errors_of_both_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One run tells what is wrong with either file."""
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(
            f"board: {name}\nparts:\n  U1: 74LS00\nnets:\n  a: [U1.99]\n", "utf-8"
        )
    assert main(["compare", str(tmp_path / "one.yaml"), str(tmp_path / "two.yaml")]) == 2
    told = capsys.readouterr().err
    assert "one.yaml:5:" in told
    assert "two.yaml:5:" in told


def test_holes_against_nets(capsys: pytest.CaptureFixture[str]) -> None:
    """The light store told hole by hole is the light store told net by net."""
    boards = FOLDER.parent
    words = ["compare", str(boards / "light-store.yaml"), str(boards / "light-store-holes.yaml")]
    assert main([*words, "--jobs", "1"]) == 0
    assert "changed on the board  nothing" in capsys.readouterr().out


def test_a_drawing_against_nets(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A board written as EDIF 2 0 0 and read back is the same wiring; its formulas are gone."""
    old = str(FOLDER / "chase.yaml")
    assert main(["convert", old, "--to", "edif", "-o", str(tmp_path / "chase.edf")]) == 0
    drawn = tmp_path / "drawn.yaml"
    drawn.write_text("board: chase\nedif: chase.edf\n", "utf-8")
    assert main(["compare", old, str(drawn), "--wiring"]) == 0
    told = capsys.readouterr().out
    assert "no change in wiring" in told
    assert "formula cleared is gone" in told
    assert told.endswith("s)\n")
    assert "the wiring is the same" in told
    moved = str(FOLDER / "chase-moved.yaml")
    assert main(["compare", str(drawn), moved, "--no-proofs", "--jobs", "1"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "DIFFERENT: q, 1 step after power-up" in told
    assert "comes from U1.12 (D2) moved from q[1] to q[0]" in told


NETS = """\
board: both-cues
parts: {U1: 74LS00}
nets:
  VCC: [U1.14]
  GND: [U1.7, U1.9, U1.10, U1.12, U1.13]
  first: [U1.1]
  second: [U1.2]
  turned: [U1.3, U1.4, U1.5]
  lamp: [U1.6]
ports: {first: in, second: in, lamp: out}
"""
HOLES = """\
board: both-cues
breadboards: {b1: {tie-points: 400}}
parts:
  U1: {part: 74LS00, at: b1.e5}
wires:
  - b1.a11 to GND
  - b1.j5 to VCC
  - b1.j6 to GND
  - b1.j7 to GND
  - b1.j9 to GND
  - b1.j10 to GND
  - b1.a7 to b1.a8
  - b1.b8 to b1.a9
names: {first: U1.1, second: U1.2, turned: U1.3, lamp: U1.6}
ports: {first: in, second: in, lamp: out}
"""


def test_one_hole_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Pin k of a 74LS00 whose pin 1 stands in column 5 is in column 4 + k: two NAND gates, the
    second one an inverter. A wire that ends in column 10 joins its output, not its second input;
    one from column 5, not 8, takes the first input's level to it: then a low there lights the lamp.
    """
    old, new = tmp_path / "nets.yaml", tmp_path / "holes.yaml"
    old.write_text(NETS, "utf-8")
    new.write_text(HOLES, "utf-8")
    assert main(["compare", str(old), str(new), "--jobs", "1"]) == 0
    assert "changed on the board nothing" in " ".join(capsys.readouterr().out.split())
    new.write_text(HOLES.replace("b1.a9", "b1.a10"), "utf-8")
    assert main(["compare", str(old), str(new), "--jobs", "1", "--wiring"]) == 1
    assert "U1.5 (B2)" in " ".join(capsys.readouterr().out.split())
    new.write_text(HOLES.replace("b1.b8 to b1.a9", "b1.a5 to b1.a9"), "utf-8")
    assert main(["compare", str(old), str(new), "--jobs", "1", "--no-proofs"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "U1.5 (B2) moved from turned to first" in told
    assert "DIFFERENT: lamp, right after power-up" in told


def test_a_reset_that_the_assumptions_forbid(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is the same in no run at all is not the same."""
    paths = []
    for name in ("scene-binary", "scene-gray"):
        text = (FOLDER / f"{name}.yaml").read_text("utf-8")
        paths.append(tmp_path / f"{name}.yaml")
        never = 'assume:\n  never: {says: hands off, formula: "always clear_n"}\n'
        paths[-1].write_text(text + never, "utf-8")
    assert main(["compare", *map(str, paths), "--after", "reset", "--jobs", "1"]) == 3
    assert "the assumptions never let the comparison begin" in " ".join(
        capsys.readouterr().out.split()
    )


LAMPS = """\
board: lamps
parts:
  U1: 74LS08
  LAMP_LEFT: {part: led}
  LAMP_RIGHT: {part: led}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.14]
  GND: [U1.7, LAMP_LEFT.K, LAMP_RIGHT.K, U1.9, U1.10, U1.12, U1.13]
  a: [U1.1, U1.5]
  b: [U1.2]
  c: [U1.4]
  left: [U1.3, R1.1]
  right: [U1.6, R2.1]
  left_lamp: [R1.2, LAMP_LEFT.A]
  right_lamp: [R2.2, LAMP_RIGHT.A]
ports: {a: in, b: in, c: in}
"""


@pytest.mark.parametrize("width", [60, 80, 200])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """Of both gates an input moved (08: pins 1, 2 to 3; 4, 5 to 6), so that either both lamps
    differ or none does: four columns of 13 or 14 characters."""
    swapped = LAMPS.replace("b: [U1.2]", "b: [U1.4]").replace("c: [U1.4]", "c: [U1.2]")
    old, new = netlist_of(LAMPS), netlist_of(swapped)
    found = compare_netlists(old, new, Wanted(outside=True, proofs=False), Means())
    told = text(found, Page(width=width), ("old.yaml", "new.yaml"))
    assert max(len(line) for line in told.splitlines()) <= width
    (head,) = (line for line in told.splitlines() if line.startswith("    step "))
    assert head.count(" old") == head.count(" new") == (2 if width == 200 else 1)
    assert ("too narrow: LAMP_RIGHT" in " ".join(told.split())) == (width < 200)


def test_what_the_chips_come_up_with_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """Both count at once: the run needs another content than 0 (written from the boards)."""
    assert run("scene-binary.yaml", "scene-gray.yaml", "--no-proofs") == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "power-up the chips come up with U" in told
