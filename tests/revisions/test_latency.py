"""A board that is later on purpose: rows of flip-flops that are known, and another model checker.

That checker gets the old board with real flip-flops behind its outputs, and more of them that count
the beats; the rows that the comparison builds have no part in it.
"""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from random import Random

import jsonschema
import pytest

from breadproof.cli import main
from breadproof.verify.revisions.compare import Wanted
from tests.revisions.agreement import compared, different_ports
from tests.revisions.pairs import Gate, Sketch, miswired, rewritten, sketch

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"


def without_memory(random: Random) -> Sketch:
    found = sketch(random)
    while found.memory:
        found = sketch(random)
    return found


def written(folder: Path, name: str, board: Sketch) -> Path:
    path = folder / f"{name}.yaml"
    path.write_text(board.text(name), "utf-8")
    return path


def fates(old: Path, new: Path, periods: int) -> dict[str, str]:
    """What is found of each port, levels alone."""
    found = compared(old, new, Wanted(proofs=False, periods=periods, clock="beat"))
    assert found.answered is not None, found.because
    return {name: str(fate) for name, fate in found.answered.fates.items()}


def agree(folder: Path, seed: int, number: int, abc: str) -> bool:
    """Whether a board and another, with so many flip-flops behind its ports, are told apart: the
    same to both programs."""
    random = Random(seed)
    first = without_memory(random)
    second = (rewritten if seed % 2 else miswired)(first, random)
    old = written(folder, "old", first)
    new = written(folder, "new", replace(second, late=number))
    rows = written(folder, "rows", replace(first, late=number))
    empty = [f"old.F{place}_full.R1 == 0" for place in range(1, number + 1)]
    content = " && ".join(["old.U1.R == new.U1.R", *empty])
    told = different_ports(folder, rows, new, content, abc, "old.full && !old.beat") - {"full"}
    found = fates(old, new, number)
    seen = {name for name, fate in found.items() if fate == "differs"}
    assert seen <= told
    assert bool(seen) == bool(told)
    assert seen or set(found.values()) == {"same"}
    assert told.isdisjoint(name for name, fate in found.items() if fate == "same")
    assert not seed % 2 or not told
    return bool(told)


@pytest.mark.parametrize("number", [1, 2, 3])
def test_another_model_checker(tmp_path: Path, berkeley_abc: str, number: int) -> None:
    """See `tests.long` for more of them."""
    for seed in range(4):
        agree(tmp_path, 10 * number + seed, number, berkeley_abc)


def test_so_many_and_no_other(tmp_path: Path) -> None:
    """A ring of flip-flops, two more behind it: two beats later (a shift register), neither one
    nor three."""
    ring = sketch(Random(0))
    ring = replace(ring, memory=(), gates=(), data=("go", "q0", "q1", "q2"), shown=("q3", "q1"))
    old, new = written(tmp_path, "old", ring), written(tmp_path, "new", replace(ring, late=2))
    assert fates(old, new, 2) == {"q3": "same", "q1": "same"}
    for periods in (1, 3):
        assert "differs" in fates(old, new, periods).values()


def test_just_before_the_rise(tmp_path: Path) -> None:
    """What is shown while the clock is high does not count: an output that follows the clock is
    taken in as a flip-flop takes it in, with the clock still low."""
    gates = (Gate("g0", "XOR", "go", "beat"),)
    board = Sketch(gates, ("go", "dim", "q0", "q1"), ("g0",))
    for number in (1, 2):
        old = written(tmp_path, "old", board)
        new = written(tmp_path, "new", replace(board, late=number))
        assert fates(old, new, number) == {"g0": "same"}


LAMPS = """\
board: lamp
parts: {U1: 74HC175, L1: led, R1: {part: resistor, value: 330}}
nets:
  VCC: [U1.16, U1.1]
  GND: [U1.8, R1.1]
  beat: [U1.9]
  go: [U1.4]
  k: [L1.2, R1.2]
  q0: [U1.2, U1.5]
  q1: [U1.7, U1.12]
  q2: [U1.10, U1.13]
  q3: [U1.15]
ports: {beat: in, go: in}
"""


def test_lamps(tmp_path: Path) -> None:
    """A lamp moved from the first to the third flip-flop of a row is two beats later."""
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    old.write_text(LAMPS.replace("q0: [", "q0: [L1.1, "), "utf-8")
    new.write_text(LAMPS.replace("q2: [", "q2: [L1.1, "), "utf-8")
    assert fates(old, new, 2) == {"L1": "same"}
    for periods in (1, 3):
        assert fates(old, new, periods) == {"L1": "differs"}


FALLING = """
board: lit
title: Two lamps that change while the clock falls, and a flip-flop of it
family: HC
parts:
  U1: 74HC574
  U2: 74HC04
  U4: 74HC74
  CLK: {part: oscillator, frequency: 1 kHz}
  LB: {part: led-bar, ways: 2}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.20, U2.14, U4.14, U4.1, U4.4, U4.10, U4.13, CLK.14]
  GND: [U4.7, U4.11, U4.12, U1.10, U1.1, U1.4, U1.5, U1.6, U1.7, U1.8, U1.9, U2.7, U2.3, U2.5, U2.9,
        U2.11, U2.13, CLK.7, LB.3, LB.4]
  clk: [CLK.8, U2.1, U4.3]
  clk_n: [U2.2, U1.11]
  beat: [U4.6, U4.2]
  scene[1:0]: [[U1.3, U1.2]]
  lamp[1:0]: [[U1.18, U1.19], [R2.1, R1.1]]
  led[1:0]: [[R2.2, R1.2], [LB.2, LB.1]]
ports: {"scene[1:0]": in}
"""


def test_lamps_that_change_at_the_other_edge(tmp_path: Path) -> None:
    """A register on the rise shows them as they were before it, one period later and no other; that
    they are alike while the clock is high, too, is what the proof needs."""
    piped = FALLING
    for old, now in (
        ("  U2: 74HC04\n", "  U2: 74HC04\n  U3: 74HC574\n"),
        ("U2.14, ", "U2.14, U3.20, "),
        ("GND: [", "GND: [U3.10, U3.1, U3.4, U3.5, U3.6, U3.7, U3.8, U3.9, "),
        ("clk: [CLK.8, ", "clk: [CLK.8, U3.11, "),
        ("  lamp[1:0]: [[U1.18, U1.19]", "  early[1:0]: [[U1.18, U1.19], [U3.3, U3.2]]\n"
         "  lamp[1:0]: [[U3.18, U3.19]"),
    ):  # fmt: skip
        assert piped.count(old) == 1
        piped = piped.replace(old, now)
    boards = (tmp_path / "old.yaml", tmp_path / "new.yaml")
    for path, board in zip(boards, (FALLING, piped), strict=True):
        path.write_text(board, "utf-8")
    for periods, fate in ((1, "same"), (2, "differs")):
        found = compared(*boards, Wanted(proofs=False, periods=periods, clock="clk"))
        assert found.answered is not None
        assert fate in found.answered.fates.values()
        assert fate != "same" or set(found.answered.fates.values()) == {"same"}


def run(*words: str) -> int:
    boards = [str(FOLDER / f"{name}.yaml") for name in ("crossfade", "crossfade-skewed")]
    return main(["compare", *boards, "--jobs", "1", "--no-proofs", *words])


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    """Two steps are up and down: at its rise the old board showed what it did before step 1."""
    assert run("--latency", "1", "--json") == 1
    found = json.loads(capsys.readouterr().out)
    schema = files("breadproof.verify.revisions").joinpath("compare.schema.json").read_text("utf-8")
    jsonschema.Draft202012Validator(json.loads(schema)).validate(found)
    assert found["behaviour"]["latency"] == {"periods": 1, "clock": "beat"}
    assert found["behaviour"]["difference"]["shown"] == {"old_step": 0, "new_step": 2}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--latency", "1", "--clock", "a"), "'a' clocks no chip of the old board."),
        (("--latency", "1", "--clock", "nosuch"), "'nosuch' clocks no chip"),
        (("--latency", "9"), "9 is not in the range"),
        (("--latency", "1", "--when", "!beat"), "--latency goes neither with --when"),
        (("--clock", "beat"), "--clock is the clock of --latency N"),
        (("--latency", "1", "--only", "sum"), "'sum' is no net or output"),
    ],
)  # fmt: skip
def test_bad_calls(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str) -> None:
    assert run(*words) == 2
    assert told in " ".join(capsys.readouterr().err.split())


def test_what_never_comes_is_not_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With a beat that nobody moves there is no moment after a beat, and nothing is compared."""
    never = "assume:\n  still: {says: hands off, formula: 'always stable(beat)'}\n"
    paths = [tmp_path / "old.yaml", tmp_path / "new.yaml"]
    for path, name in zip(paths, ("crossfade", "crossfade-piped"), strict=True):
        path.write_text((FOLDER / f"{name}.yaml").read_text("utf-8") + never, "utf-8")
    words = ["compare", *map(str, paths), "--latency", "1", "--jobs", "1", "--no-proofs"]
    assert main(words) == 3
    told = " ".join(capsys.readouterr().out.split())
    assert "no run of 40 steps gets to where anything is compared" in told


def test_no_clock(capsys: pytest.CaptureFixture[str]) -> None:
    boards = [str(FOLDER / f"{name}.yaml") for name in ("sum-283", "sum-gates")]
    assert main(["compare", *boards, "--latency", "1"]) == 2
    assert "of clocks the old board has none" in " ".join(capsys.readouterr().err.split())
