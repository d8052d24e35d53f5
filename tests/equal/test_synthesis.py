"""What synthesis made of a board's design, proved the same; faults in it told apart.

Each fault is either told apart, or ABC proves too that it changes nothing. More of them, and the
light-store, are in `tests/long`.
"""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from breadproof.verify.equal import synthesis
from breadproof.verify.equal.alike import Chance, Classes, Register
from breadproof.verify.equal.blocks import Kept, shown_words
from breadproof.verify.equal.mapped import Synthesized, read_mapped
from breadproof.verify.equal.synthesis import Same, equal_netlist
from tests.fpga.boards import PAD, PAD_ECP5, PAD_TARGET, machine_of, written
from tests.fpga.synthesized import Synthesis, synthesized
from tests.support.judged import judged
from tests.support.second_solver import answer


@pytest.fixture(scope="module")
def pad(tmp_path_factory: pytest.TempPathFactory) -> Synthesis:
    folder = tmp_path_factory.mktemp("pad")
    target = written(folder, PAD_TARGET, "target.yaml")
    return synthesized(machine_of(folder, PAD).netlist, target)


def spoilt(pad: Synthesis, kind: str, parameter: str, value: str) -> Same:
    """The verdict if the first cell of a kind has another parameter."""
    whole = json.loads(pad.netlist)
    cells: dict[str, Any] = whole["modules"]["fpga"]["cells"]
    name = min(name for name, cell in cells.items() if cell["type"] == kind)
    assert cells[name]["parameters"].get(parameter) != value
    cells[name]["parameters"][parameter] = value
    return equal_netlist(pad.design, json.dumps(whole), 60)


def test_the_netlist_is_the_design(pad: Synthesis) -> None:
    """A memory in four blocks, a bus that goes both ways, registers that are kept inverted."""
    found = equal_netlist(pad.design, pad.netlist, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert found.compared > 150
    assert [answer(question) for question in found.questions] == ["unsat"]


def test_an_ecp5(tmp_path: Path) -> None:
    """Its memory block is written and read by one port; a register that is set at power-up."""
    target = written(tmp_path, PAD_ECP5, "target.yaml")
    one = synthesized(machine_of(tmp_path, PAD).netlist, target)
    found = equal_netlist(one.design, one.netlist, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert '"DP16KD"' in one.netlist
    whole = json.loads(one.netlist)
    cells = whole["modules"]["fpga"]["cells"]
    lut = next(cell for cell in cells.values() if cell["type"] == "LUT4")
    lut["parameters"]["INIT"] = lut["parameters"]["INIT"].translate(str.maketrans("01", "10"))
    assert equal_netlist(one.design, json.dumps(whole), 60).verdict == "differs"


def test_a_sample_of_faults(pad: Synthesis, berkeley_abc: str, tmp_path: Path) -> None:
    verdicts = judged(pad.design, pad.netlist, 4, 1, berkeley_abc, tmp_path)
    assert verdicts["differs"] >= 2
    assert verdicts["equal"] >= 1


def test_a_word_of_a_memory_block(pad: Synthesis) -> None:
    found = spoilt(pad, "SB_RAM40_4K", "INIT_7", "1" + "0" * 255)
    assert found.verdict == "differs"
    assert "does not hold the words of wrapper.board.U1.M" in found.because


def test_a_pad_that_is_set_up_otherwise(pad: Synthesis) -> None:
    found = spoilt(pad, "SB_IO", "PULLUP", "1")
    assert found.verdict == "differs"
    assert found.because.startswith("the pad clock_buffer.buf0 is")


def test_what_cannot_be_read_is_not_proved(pad: Synthesis) -> None:
    other = pad.netlist.replace('"SB_CARRY"', '"SB_MAC16"')
    assert other != pad.netlist
    found = equal_netlist(pad.design, other, 60)
    assert found.verdict == "undecided"
    assert found.because.startswith("a cell of kind SB_MAC16: ")
    assert equal_netlist(pad.design, "{}", 60).verdict == "undecided"


DEEP = """
board: deep
title: A table that takes four rows of memory blocks
parts:
  U1: {part: 28C64, contents: [1, 2, 3]}
nets:
  GND: [U1.14, U1.CE_n, U1.OE_n]
  VCC: [U1.28, U1.WE_n]
  a[12:0]: [[U1.A12, U1.A11, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U1.A3, U1.A2, U1.A1,
    U1.A0]]
  d: [U1.IO0]
ports: {"a[12:0]": in, d: out}
"""
DEEP_TARGET = """
target: deep
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
ports:
  a[12:0]: [1, 2, 3, 4, 7, 8, 9, 10, 11, 12, 19, 23, 24]
  d: 25
"""


@pytest.fixture(scope="module")
def deep(tmp_path_factory: pytest.TempPathFactory) -> Synthesis:
    folder = tmp_path_factory.mktemp("deep")
    target = written(folder, DEEP_TARGET, "target.yaml")
    return synthesized(machine_of(folder, DEEP).netlist, target)


def test_rows_of_blocks(deep: Synthesis, berkeley_abc: str, tmp_path: Path) -> None:
    """The netlist keeps in registers which of four rows it has read; the design has none such."""
    found = equal_netlist(deep.design, deep.netlist, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
    verdicts = judged(deep.design, deep.netlist, 8, 5, berkeley_abc, tmp_path)
    assert verdicts["differs"] >= 2
    assert verdicts["equal"] <= 4


def test_rows_that_are_chosen_otherwise_are_not_proved(deep: Synthesis) -> None:
    """The two registers that tell the row take each other's address line."""
    whole = json.loads(deep.netlist)
    module = whole["modules"]["fpga"]
    lines = [module["netnames"]["wrapper.a_in"]["bits"][place] for place in (11, 12)]
    taken = [
        cell["connections"]["D"]
        for cell in module["cells"].values()
        if cell["type"].startswith("SB_DFF") and cell["connections"]["D"][0] in lines
    ]
    assert sorted(one[0] for one in taken) == sorted(lines)
    for one in taken:
        one[0] = lines[1 - lines.index(one[0])]
    found = equal_netlist(deep.design, json.dumps(whole), 60)
    assert found.verdict != "equal"


def test_a_word_of_a_row_is_no_proof(deep: Synthesis) -> None:
    """Where rows lie is taken from yosys's names: what is not there is not called a difference."""
    whole = json.loads(deep.netlist)
    cells = whole["modules"]["fpga"]["cells"]
    name = next(name for name in cells if name.endswith(".M.0.8"))
    cells[name]["parameters"]["INIT_7"] = "0" * 256
    found = equal_netlist(deep.design, json.dumps(whole), 60)
    assert found.verdict == "undecided"
    assert found.because == f"{name} does not hold the words of wrapper.board.U1.M"


WRITTEN = (
    DEEP.replace("28C64, contents: [1, 2, 3]", '"6264"')
    .replace(
        "  GND: [U1.14, U1.CE_n, U1.OE_n]\n  VCC: [U1.28, U1.WE_n]",
        "  GND: [U1.14, U1.CS1_n, U1.OE_n]\n  VCC: [U1.28, U1.CS2]\n  we_n: [U1.WE_n]",
    )
    .replace("in, d: out", 'in, "d[7:0]": both, we_n: in')
    .replace(
        "d: [U1.IO0]",
        "d[7:0]: [[U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2, U1.IO1, U1.IO0]]",
    )
)


WRITTEN_TARGET = DEEP_TARGET.replace(
    "  d: 25",
    "  d[7:0]: {pins: [25, 26, 28, 29, 31, 32, 33, 34], outside: 37}\n  we_n: 38",
)


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> Synthesis:
    folder = tmp_path_factory.mktemp("rows")
    target = written(folder, WRITTEN_TARGET, "target.yaml")
    return synthesized(machine_of(folder, WRITTEN).netlist, target)


def test_rows_of_blocks_that_are_written(
    rows: Synthesis, berkeley_abc: str, tmp_path: Path
) -> None:
    """Writes wait for a clock, each row's with an enable of its own, and what was written where it
    is read is kept beside all four."""
    found = equal_netlist(rows.design, rows.netlist, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]
    assert judged(rows.design, rows.netlist, 2, 2, berkeley_abc, tmp_path)["equal"] < 2


def test_rows_that_are_written_otherwise_are_not_proved(rows: Synthesis) -> None:
    """The first row's enable is that of another."""
    spoilt = enabled_by_another(rows.netlist, "WCLKE", 12)
    assert equal_netlist(rows.design, spoilt, 60).verdict != "equal"


def enabled_by_another(netlist: str, pin: str, other: int) -> str:
    """A netlist whose first block has at a pin what another has there."""
    whole = json.loads(netlist)
    cells = whole["modules"]["fpga"]["cells"]
    first, second = (
        next(cell["connections"] for name, cell in cells.items() if name.endswith(f".M.0.{place}"))
        for place in (0, other)
    )
    assert first[pin] != second[pin]
    first[pin] = second[pin]
    return json.dumps(whole)


def test_a_guess_that_is_wrong_is_no_difference(
    rows: Synthesis, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which register tells that a word was written where it was read is guessed."""

    def wrong(pair: Synthesized) -> dict[int, Kept]:
        other = next(
            bit for bit in pair.netlist.registers if pair.netlist.registers[bit].initial is not None
        )
        return {bit: replace(kept, when=other) for bit, kept in shown_words(pair).items()}

    monkeypatch.setattr("breadproof.verify.equal.alike.shown_words", wrong)
    found = equal_netlist(rows.design, rows.netlist, 60)
    assert (found.verdict, found.because) == (
        "undecided",
        "it is not found how rows of blocks are shown",
    )


TWO_LAMPS = """
board: two-lamps
title: Two buttons, each of which turns its lamp on and off
parts:
  GO1: push-button
  GO2: push-button
  U1: 74HC14
  U2: 74HC74
  U3: 74HC14
  U4: 74HC74
  L1: led
  L2: led
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  R3: {part: resistor, value: 330}
  R4: {part: resistor, value: 330}
nets:
  VCC: [U1.14, U2.14, U3.14, U4.14, R1.1, R2.1, U2.1, U2.4, U2.10, U2.13, U4.1, U4.4, U4.10, U4.13]
  GND: [U1.7, U2.7, U3.7, U4.7, GO1.2, GO2.2, R3.2, R4.2, U1.3, U1.5, U1.9, U1.11, U1.13, U2.11,
    U2.12, U3.3, U3.5, U3.9, U3.11, U3.13, U4.11, U4.12]
  go1_n: [GO1.1, R1.2, U1.1]
  go2_n: [GO2.1, R2.2, U3.1]
  go1: [U1.2, U2.3]
  go2: [U3.2, U4.3]
  on1: [U2.5, L1.1]
  on2: [U4.5, L2.1]
  back1: [U2.6, U2.2]
  back2: [U4.6, U4.2]
  k1: [L1.2, R3.1]
  k2: [L2.2, R4.1]
"""
TWO_LAMPS_TARGET = """
target: two-lamps
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
controls: {GO1: 112, GO2: 113}
lamps: {L1: 99, L2: 98}
"""


@pytest.fixture(scope="module")
def two_lamps(tmp_path_factory: pytest.TempPathFactory) -> Synthesis:
    folder = tmp_path_factory.mktemp("two-lamps")
    target = written(folder, TWO_LAMPS_TARGET, "target.yaml")
    return synthesized(machine_of(folder, TWO_LAMPS).netlist, target)


def test_spare_halves_that_are_alike_and_stay_as_they_are(two_lamps: Synthesis) -> None:
    """Of two registers of the design that are taken as alike, one is found to stay as it powers
    up: then the other does, and synthesis has left out both."""
    found = equal_netlist(two_lamps.design, two_lamps.netlist, 60)
    assert (found.verdict, found.because) == ("equal", "")
    assert [answer(question) for question in found.questions] == ["unsat"]


def test_what_is_not_linked_is_no_difference(
    two_lamps: Synthesis, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Registers that are alike are guessed; where one is not found, others may seem to differ."""
    classes_of = Chance.classes

    def less(self: Chance, seconds: float) -> Classes | None:
        found = classes_of(self, seconds)
        assert found is not None
        lost = next(
            one
            for one, number in found.items()
            if one[0] == 1 and one not in self.given and [*found.values()].count(number) == 2
        )
        return {**found, lost: max(found.values()) + 1}

    monkeypatch.setattr(Chance, "classes", less)
    monkeypatch.setattr(Chance, "learn", lambda self, state, members: False)
    found = equal_netlist(two_lamps.design, two_lamps.netlist, 60)
    assert found.verdict == "undecided"
    assert found.because.startswith("it is not found which register is alike with wrapper.")


def test_attempts_that_are_too_few_are_not_called_time(
    pad: Synthesis, monkeypatch: pytest.MonkeyPatch
) -> None:
    """More time does not help then, and nobody is told that it would."""
    monkeypatch.setattr(synthesis, "PARTINGS", 0)
    found = equal_netlist(pad.design, pad.netlist, 60)
    assert found.verdict == "undecided"
    assert found.because == "it is not found in 0 attempts which registers are alike"


def test_no_time_is_no_proof(pad: Synthesis) -> None:
    assert equal_netlist(pad.design, pad.netlist, 0.4).verdict == "undecided"


class Told(Chance):
    """Guesses of which a test says what registers do."""

    does: dict[Register, tuple[int, int]]

    def run(self, classes: Classes) -> None:
        """Nothing is to be run."""

    def open(self, one: Register) -> bool:
        return False

    def either(self, one: Register) -> tuple[int, int]:
        return self.does[one]


@pytest.mark.parametrize(("times", "guessed"), [(0, True), (3, False)])
def test_what_a_solver_has_parted_is_not_guessed_again(
    pad: Synthesis, times: int, guessed: bool
) -> None:
    """A register is like another one, that is taken as alike with a third: it is the third from
    which a solver parts it, for that stands for both."""
    like, third, netlist, other = (0, -1), (0, -2), (1, -3), (0, -4)
    chance = Told(read_mapped(pad.design, pad.netlist, 60))
    chance.alike = {like: third}
    chance.does = {like: (1, 2), third: (3, 4), netlist: (3, 4), other: (1, 2)}
    chance.refuted[frozenset((other, third))] = times
    assert chance.merged({like: 2, third: 2, netlist: 2, other: 3}) is guessed
    assert (other in chance.alike) is guessed
