"""What floats and is read, on boards that can be worked out by hand from function tables.

74HC125 (data sheet, function table): a buffer whose output is off while its enable is high.
74HC377: loads at the rising edge of the clock while its enable is low, else keeps what it has.
74HC573: follows its input while LE is high. 74HC08: low while one input is. 6116: is written while
CS_n and WE_n are low.
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.narrow import narrowed
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.prover import prove_board, result_names
from breadproof.verify.report.culprits import tell
from breadproof.verify.report.replay import replay
from tests.prove.boards import RESISTOR, sketch
from tests.stimulus.boards import PAD, loaded

PULL = {"R1": RESISTOR}
LAMP = {"D1": "{part: led}", "R2": RESISTOR}
MEMORY = {"U2": '"6116"'}
HIGH = "U2.OE_n U2.VCC"
LOW = " ".join(["U2.CS_n U2.GND", *(f"U2.A{n}" for n in range(11))])
# In all: a buffer of d that drives the net "bus" while e is low.
BUS = "U1.Y1"
CASES: dict[str, tuple[str, dict[str, str], str, dict[str, str], int | None]] = {
    # chips, nets, ports beside d and e, other parts, steps after the first until it is read
    "a lamp looks at any time": (
        "U2:08", {"bus": "U2.A1 U2.B1", "y": "U2.Y1 D1.A", "k": "D1.K R2.1", "GND": "R2.2"}, "",
        LAMP, 0,
    ),
    "a lamp behind a gate that is shut while the bus floats": (
        "U2:08 U3:14",
        {"bus": "U2.A1", "e": "U3.A1", "n": "U3.Y1 U2.B1", "y": "U2.Y1 D1.A", "k": "D1.K R2.1",
         "GND": "R2.2"},
        "", LAMP, None,
    ),
    "a bus that a resistor holds": (
        "U2:08",
        {"bus": "U2.A1 U2.B1 R1.1", "VCC": "R1.2", "y": "U2.Y1 D1.A", "k": "D1.K R2.1",
         "GND": "R2.2"},
        "", LAMP | PULL, None,
    ),
    "a gate whose output goes nowhere": ("U2:08", {"bus": "U2.A1 U2.B1"}, "", {}, None),
    "a register that is always enabled, at its first clock edge": (
        "U2:377", {"bus": "U2.D0", "c": "U2.CLK", "GND": "U2.G_n"}, "c", {}, 1,
    ),
    "a register that is enabled only while the buffer drives": (
        "U2:377", {"bus": "U2.D0", "c": "U2.CLK", "e": "U2.G_n"}, "c", {}, None,
    ),
    "a register that is enabled only while the buffer is off": (
        "U2:377 U3:14", {"bus": "U2.D0", "c": "U2.CLK", "e": "U3.A1", "n": "U3.Y1 U2.G_n"}, "c",
        {}, 1,
    ),
    "a register whose enable is wired high": (
        "U2:377", {"bus": "U2.D0", "c": "U2.CLK", "VCC": "U2.G_n"}, "c", {}, None,
    ),
    "an open latch": ("U2:573", {"bus": "U2.D0", "l": "U2.LE"}, "l", {}, 0),
    "a latch that is shut while the bus floats": (
        "U2:573 U3:14", {"bus": "U2.D0", "e": "U3.A1", "n": "U3.Y1 U2.LE"}, "", {}, None,
    ),
    "a memory that is written while it floats": (
        "", {"bus": "U2.IO0", "w": "U2.WE_n", "VCC": HIGH, "GND": LOW}, "w", MEMORY, 0,
    ),
    "a memory that is written only while the buffer drives": (
        "", {"bus": "U2.IO0", "e": "U2.WE_n", "VCC": HIGH, "GND": LOW}, "", MEMORY, None,
    ),
    "a clear": ("U2:273", {"bus": "U2.CLR_n", "c": "U2.CLK", "d": "U2.D0"}, "c", {}, 0),
    "a second buffer passes it on to a lamp": (
        "", {"bus": "U1.A2", "GND": "U1.G2_n R2.2", "y": "U1.Y2 D1.A", "k": "D1.K R2.1"}, "", LAMP,
        0,
    ),
}  # fmt: skip


def text_of(folder: Path, name: str) -> str:
    chips, nets, ports, others, _ = CASES[name]
    wired = {"e": "U1.G1_n", "d": "U1.A1", "bus": BUS}
    both = {net: f"{wired.get(net, '')} {nets.get(net, '')}" for net in {**wired, **nets}}
    return sketch(folder, f"U1:125 {chips}", both, f"d e {ports}", others).text()


def found(path: Path, text: str) -> dict[str, int | None]:
    """By net: the length of the shortest run in which it is read while it floats; None: never."""
    path.write_text(text, encoding="utf-8")
    machine = load_machine(path)
    names = [name for name in result_names(machine) if name.startswith("floats:")]
    _, results = prove_board(machine, only=tuple(names), seconds=20) if names else (0, ())
    assert all(one.verdict in ("holds", "fails") for one in results)
    return {
        one.name.partition(":")[2]: one.steps if one.verdict == "fails" else None for one in results
    }


@pytest.mark.parametrize("name", CASES)
def test_by_hand(tmp_path: Path, name: str) -> None:
    steps = found(tmp_path / "board.yaml", text_of(tmp_path, name))
    assert steps.get("bus") == CASES[name][4]
    assert all(one is None for net, one in steps.items() if net != "bus")


@pytest.mark.parametrize(("way", "steps"), [("out", 0), ("both", None)])
def test_a_port_that_leads_out_is_looked_at_and_a_shared_one_is_not(
    tmp_path: Path, way: str, steps: int | None
) -> None:
    text = text_of(tmp_path, "a gate whose output goes nowhere")
    text = text.replace("ports:\n", f"ports:\n  bus: {way}\n")
    assert found(tmp_path / "board.yaml", text).get("bus") == steps


def test_the_run_names_who_reads(tmp_path: Path) -> None:
    name = "a register that is always enabled, at its first clock edge"
    path = tmp_path / "board.yaml"
    path.write_text(text_of(tmp_path, name), encoding="utf-8")
    machine = load_machine(path)
    _, (result,) = prove_board(machine, only=("floats:bus",), seconds=20)
    assert result.trace is not None
    run = replay(machine, result.trace)
    story = tell(result, run)
    assert list(story.cast.pins) == ["U2.3"]  # D0 of the 377
    # taken in is what floated at the quiet moment before the edge
    assert story.at == run.first[-1] - 1


def test_a_part_of_a_board_with_an_outgoing_port_can_be_unrolled(tmp_path: Path) -> None:
    """What is narrowed to a formula has no nets; the port's still have their numbers."""
    machine = loaded(tmp_path, PAD, "stimulus: [{press: TAKE}]\n").machine
    part = narrowed(machine, [machine.stores[0].leaf])
    assert any(port.direction == "out" for port in part.netlist.ports)
    Frames(part, checks=False)
