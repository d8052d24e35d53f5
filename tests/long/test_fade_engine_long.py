"""The whole cue list of the fade engine, in Icarus, and all its formulas. Minutes."""

from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.verify.verify_board import verify_board
from tests.boards.corpus import BOARDS
from tests.boards.fade import icarus
from tests.boards.fade.model import CHANNELS, Fade, cue_list
from tests.boards.fade.script import Line, frames, load, reset, step

BOARD = BOARDS / "fade-engine.yaml"
FRAMES = (9, 7, 4, 3)
"""After each STEP; the last one takes the first cue once more."""


def test_the_whole_cue_list_is_played(iverilog: str, tmp_path: Path) -> None:
    cues = cue_list()
    fade = Fade(cues, limit=230)
    script: list[Line] = [*reset(), *load(cues)]
    expected = [[0] * CHANNELS]
    for count in FRAMES:
        script += [*step(), *frames(count)]
        fade.step()
        expected += [fade.frame() for _ in range(count)]
    netlist = load_machine(BOARD).netlist
    assert icarus.play(iverilog, netlist, 230, script, tmp_path) == expected


def test_all_that_is_said_of_it_is_settled() -> None:
    results = verify_board(BOARD, seconds=300.0).results
    assert {one.name: one.verdict for one in results if one.verdict == "undecided"} == {}
    assert {one.verdict for one in results if one.kind != "cover"} == {"holds"}
    assert {one.verdict for one in results if one.kind == "cover"} == {"covered"}
