"""Ways out on machines of several boards: what is to be pasted has dots, and is read.

There is no outside source for our own file form; what must come out is written down by hand.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from breadproof.cli import main
from breadproof.specs.load import load_machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result

BEAT = """
board: beat
parts:
  X1: {part: oscillator, frequency: 1 kHz}
  CLEAR: push-button
  R1: {part: resistor, value: 10k}
  U1: 74HC74
nets:
  VCC: [U1.14, X1.14, R1.1, U1.1, U1.4, U1.10, U1.13]
  GND: [U1.7, X1.7, CLEAR.2, U1.11, U1.12]
  clk: [X1.8, U1.3]
  clear_n: [CLEAR.1, R1.2]
  q: [U1.5]
  back: [U1.6, U1.2]
"""
RIG = """
board: rig
boards: {beat: beat.yaml}
reset: {press: beat.CLEAR}
assert: {comes: "always (!beat.CLEAR -> eventually! beat.q)"}
"""


def proved(tmp_path: Path, rig: str) -> dict[str, Result]:
    (tmp_path / "beat.yaml").write_text(BEAT, "utf-8")
    (tmp_path / "rig.yaml").write_text(rig, "utf-8")
    _, results = prove_board(load_machine(tmp_path / "rig.yaml"), seconds=10)
    return {one.name: one for one in results}


def test_a_clock_that_goes_on(tmp_path: Path) -> None:
    """The 74 takes the complement of its output at each rise (data book), so it comes then."""
    found = proved(tmp_path, RIG)["comes"]
    assert found.verdict == "fails"
    assumption = re.search(r"assume it: (\{.*\})", found.because)
    assert assumption is not None
    assert assumption[1] == '{beat-X1-goes-on: "always eventually! rose(beat.X1)"}'
    assert proved(tmp_path, f"{RIG}assume: {assumption[1]}\n")["comes"].verdict == "holds"


def test_what_a_reset_leaves_alone(tmp_path: Path) -> None:
    """The button leads nowhere: nothing is known after it."""
    found = proved(tmp_path, RIG)["known:beat/U1.R1"]
    assert found.verdict == "fails"
    entry = re.search(r"'keeps: (\[.*\])' under 'reset:'", found.notes[0])
    assert entry is not None
    assert entry[1] == "[beat.U1]"
    again = proved(tmp_path, RIG.replace("CLEAR}", f"CLEAR, keeps: {entry[1]}}}"))
    assert "known:beat/U1.R1" not in again


def test_files_of_results_of_several_boards(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is known of a part of a board has a file, and so has each of two runs whose results are
    called alike."""
    rig = RIG + '  beat-high: "never beat.q"\n'
    (tmp_path / "beat.yaml").write_text(BEAT + 'assert: {high: "never back"}\n', "utf-8")
    (tmp_path / "rig.yaml").write_text(
        rig.replace("{comes: ", "\n  comes: ").replace(')"}', ')"'), "utf-8"
    )
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert main(["verify", "rig.yaml", "--evidence", "why", "--trace-dir", "runs"]) == 1
    why = {path.name for path in (tmp_path / "why").iterdir()}
    assert {
        "known-beat-U1.R1.differ.smt2",
        "dead-beat-X1.moves.smt2",
        "beat-high.vcd",
        "beat-high-2.vcd",
    } <= why
    runs = {path.name for path in (tmp_path / "runs").iterdir()}
    assert {"beat-high.vcd", "beat-high-2.vcd", "beat-high.svg", "beat-high-2.svg"} <= runs
