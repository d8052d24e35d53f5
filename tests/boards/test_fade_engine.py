"""The fade engine fades: its microprogram on the Machine and in Icarus, against a model of a fade.

The model (`fade/model.py`) was written from the head of the board file, before any of it ran.
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from tests.boards.corpus import BOARDS
from tests.boards.fade import icarus
from tests.boards.fade.model import CHANNELS, FOLDER, Cue, Fade, cue_list
from tests.boards.fade.script import frames, load, reset, step
from tests.boards.fade.walking import Walk
from tests.support.microcode import assemble, hex_files, intel_hex, read_table

LIMIT = 200
DARK = [0] * CHANNELS
END: Cue = (DARK, DARK)


@pytest.fixture(scope="module")
def machine() -> Machine:
    return load_machine(BOARDS / "fade-engine.yaml")


def test_the_eeproms_are_what_the_program_says() -> None:
    for name, content in hex_files(FOLDER).items():
        assert FOLDER.joinpath(name).read_text("ascii") == content, name


def test_the_broken_eeproms_are_one_microword_off() -> None:
    program = FOLDER.joinpath("microcode.txt").read_text("utf-8")
    table = read_table(FOLDER.joinpath("fields.csv").read_text("utf-8"))
    broken = assemble(program.replace("start:   clear", "start: store >store now clear"), table)
    right = assemble(program, table)
    assert broken[0] == right[0]
    for number in (2, 3):
        file = FOLDER.joinpath(f"microcode-{number}-saved.hex").read_text("ascii")
        assert file == intel_hex(broken[number - 1])
        assert broken[number - 1][1:] == right[number - 1][1:]


def test_words_are_put_where_the_table_says() -> None:
    """By hand, from fields.csv: "rates >store speed next-channel unless last goto take", word 28.

    EEPROM 1: not acknowledged, unless, goto 27: 0001 1011. 2: source 5, condition 4: 0101 0100.
    3: run, next channel, file 2, place 2: 1011 0010.
    """
    table = read_table(FOLDER.joinpath("fields.csv").read_text("utf-8"))
    chips = assemble(FOLDER.joinpath("microcode.txt").read_text("utf-8"), table)
    assert [chip[28] for chip in chips] == [0b00011011, 0b01010100, 0b10110010]
    assert [chip[45:] for chip in chips] == [(0,) * 19] * 3


@pytest.mark.parametrize(
    ("program", "told"),
    [
        ("a: clear\na: clear", "line 2: there is a label a already"),
        ("clear goto b", "line 1: there is no label b"),
        ("clear\nfly", "line 2: fly is no word of the table"),
        ("store result", "line 1: result says source a second time"),
        ("clear\n" * 65, "65 microwords; the counter names 64"),
    ],
)
def test_what_the_assembler_refuses(program: str, told: str) -> None:
    table = read_table(FOLDER.joinpath("fields.csv").read_text("utf-8"))
    with pytest.raises(ValueError, match=f"^{told}$"):
        assemble(program, table)


def test_a_cue_is_faded_on_the_machine(machine: Machine) -> None:
    """From power-on, storage all ones: RESET makes dark, STEP takes a cue, a frame moves it."""
    cues = cue_list()
    fade = Fade(cues, LIMIT)
    fade.step()
    shown = Walk(machine, LIMIT, cues).play([*reset(), *step(), *frames(1)])
    assert shown == [DARK, fade.frame()]


def test_a_cue_list_is_loaded_and_faded_in_icarus(
    machine: Machine, iverilog: str, tmp_path: Path
) -> None:
    """The exported Verilog: the desk sends a cue and an end, and STEP is pressed."""
    cues = (*cue_list()[:1], END)
    fade = Fade(cues, LIMIT)
    fade.step()
    script = [*reset(), *load(cues), *step(), *frames(2)]
    shown = icarus.play(iverilog, machine.netlist, LIMIT, script, tmp_path)
    assert shown == [DARK, *(fade.frame() for _ in range(2))]
