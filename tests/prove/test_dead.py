"""Nothing is dead (design.md section 8): against a search of all states, and on boards made dead.

The search is that of `tests.support.brute`, on the second evaluator's rounds. What can happen is
read off the rounds it saw; whether a control matters, from which steps lead where.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Control, Netlist
from breadproof.verify.prove import longwalk
from breadproof.verify.prove.dead import happenings
from breadproof.verify.prove.ends import find_ends
from breadproof.verify.prove.engine import Engine, Property
from breadproof.verify.prove.hoped import hoped
from breadproof.verify.prove.longwalk import seen_on_a_walk
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import RESISTOR, SMALL, Sketch, random_board, sketch, small
from tests.support.brute import Explorer, Key, Space, Step

Shown = tuple[int, ...]


def load(made: Sketch, more: str = "") -> Machine:
    path = made.folder / "small.yaml"
    path.write_text(made.text(more), encoding="utf-8")
    return load_machine(path)


def dead(machine: Machine, seconds: float = 10) -> dict[str, Result]:
    _, results = prove_board(machine, seconds=seconds)
    return {one.name: one for one in results if one.name.startswith("dead:")}


# what can happen ----------------------------------------------------------------------------------


def changing_bits(space: Space) -> set[str]:
    """Storage that some step from some quiet moment leaves other than it was."""
    found: set[str] = set()
    for key, steps in space.steps.items():
        for step in steps:
            found |= changed(key, step.to)
    return found


def changed(before: Key, after: Key) -> set[str]:
    found: set[str] = set()
    # The search keys its moments by tuples of tuples.
    for (part, old), (_, new) in zip(before[1], after[1], strict=True):  # type: ignore[call-overload]
        for (unit, word), (_, other) in zip(old, new, strict=True):
            found |= {
                f"{part}.{unit}[{len(word) - 1 - k}]"
                for k, (a, b) in enumerate(zip(word, other, strict=True))
                if a != b
            }
    return found


# what matters -------------------------------------------------------------------------------------


def net_ends(netlist: Netlist) -> list[str]:
    """Nets that a chip drives; on these boards, which have no lamps, all of them are looked at."""
    return [
        net.name
        for net in netlist.nets
        if net.rail is None and any(pin.kind.drives for pin in net.pins)
    ]


def ever_matters(netlist: Netlist, space: Space, control: Control) -> bool:
    """Whether two runs that differ in the control alone ever show something different.

    All pairs that moves of it lead to are followed. Only for boards on which the control, the
    state and what the others do decide about a step.
    """
    ends = net_ends(netlist)
    pairs = [(step.to, step.to) for step in space.first]
    seen = set(pairs)
    while pairs:
        one, two = pairs.pop()
        for left in space.steps[one]:
            for right in space.steps[two]:
                if others(left, control) != others(right, control):
                    continue
                if shown(left, ends) != shown(right, ends):
                    return True
                if (left.to, right.to) not in seen:
                    seen.add((left.to, right.to))
                    pairs.append((left.to, right.to))
    return False


def others(step: Step, control: Control) -> list[tuple[str, tuple[int, ...]]]:
    where = step.to[0]
    return [entry for entry in where if entry[0] != control.name]  # type: ignore[attr-defined]  # begins with its name


def shown(step: Step, ends: list[str]) -> Shown:
    return tuple(step.rounds[-1].nets[name] for name in ends)


def compare(machine: Machine) -> tuple[int, int]:
    """How many fail and how many hold, after all were compared."""
    netlist = machine.netlist
    space = Explorer(netlist, list(machine.free)).explore()
    results = dead(machine)
    if space.never_quiet:
        assert {one.verdict for one in results.values()} <= {"undecided"}
        return 0, 0
    bits = changing_bits(space)
    for store in machine.stores:
        result = results.get(f"dead:{store.label}")
        if result is not None:
            # A bit that changes and comes back within the step has changed all the same.
            expected = ("holds",) if store.label in bits else ("fails", "holds")
            assert result.verdict in expected, result
    for control in netlist.controls:
        result = results[f"dead:{control.name}"]
        if machine.free or any(loop.holds for loop in machine.loops):
            # Levels and choices at will tell runs apart that the control does not.
            continue
        matters = ever_matters(netlist, space, control)
        # "Not cut off" is a chain of single steps, each from any quiet moment.
        assert result.verdict == "holds" or not matters, result
        if not machine.memories:
            assert result.verdict == ("holds" if matters else result.verdict)
    verdicts = [one.verdict for one in results.values()]
    return verdicts.count("fails"), verdicts.count("holds")


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, name: str) -> None:
    compare(load(small(tmp_path, name)))


@pytest.mark.parametrize("seed", range(8))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    random = Random(f"dead {seed}")
    while True:
        machine = load(random_board(tmp_path, random))
        bits = len(machine.stores) + sum(len(c.bits) for c in machine.netlist.controls)
        bits += sum(memory.words * memory.bits for memory in machine.memories)
        if bits + 2 * len(machine.free) <= 7:
            compare(machine)
            return


# boards made dead ---------------------------------------------------------------------------------

BUTTON = "{part: push-button}"
LED = "{part: led}"


def verdicts(machine: Machine, *names: str) -> list[str]:
    results = dead(machine)
    return [results[f"dead:{name}"].verdict for name in names]


def test_an_enable_tied_off_whose_outputs_are_wired(tmp_path: Path) -> None:
    """A buffer on a bus, its enable on VCC instead of a signal: it never drives."""
    nets = {
        "a": "U1.A1",
        "bus": "U1.Y1 U2.D R1.1",
        "VCC": "U1.G1_n R1.2",
        "c": "U2.CLK",
        "q": "U2.Q",
    }
    machine = load(sketch(tmp_path, "U1:125 U2:9001", nets, "a c", {"R1": RESISTOR}))
    results = dead(machine)
    assert results["dead:U1.3"].verdict == "fails"
    assert "U1.1 (G1_n) is always high" in results["dead:U1.3"].because
    assert results["dead:a"].verdict == "fails"
    assert "it moves U1.2, no more" in results["dead:a"].because
    assert verdicts(machine, "c") == ["holds"]


def test_the_same_enable_on_a_signal(tmp_path: Path) -> None:
    nets = {
        "a": "U1.A1",
        "e": "U1.G1_n",
        "bus": "U1.Y1 U2.D R1.1",
        "VCC": "R1.2",
        "c": "U2.CLK",
        "q": "U2.Q",
    }
    machine = load(sketch(tmp_path, "U1:125 U2:9001", nets, "a e c", {"R1": RESISTOR}))
    assert {one.verdict for one in dead(machine).values()} == {"holds"}


def test_a_write_pin_that_a_gate_holds_high(tmp_path: Path) -> None:
    """``WE_n`` is a NAND of the button and a register that is always cleared."""
    nets = {
        "go": "U3.A1",
        "held": "U2.Q U3.B1",
        "GND": "U2.CLR_n",
        "c": "U2.CLK",
        "d": "U2.D U1.D",
        "we_n": "U3.Y1 U1.WE_n",
        "q": "U1.Q",
    }
    machine = load(sketch(tmp_path, "U1:9003 U2:9001 U3:00", nets, "go c d"))
    results = dead(machine)
    assert results["dead:U1.1"].verdict == "fails"
    assert results["dead:U1.1"].because.startswith("U1.1 (WE_n) never writes its chip: ")
    assert "U3.2 (B1) is always low" in results["dead:U1.1"].because
    assert "U2.1 (CLR_n) is always low" in results["dead:U1.1"].because


def test_a_memory_whose_write_pin_is_tied_off(tmp_path: Path) -> None:
    nets = {"VCC": "U1.WE_n", "d": "U1.D", "a": "U1.A0", "q": "U1.Q"}
    results = dead(load(sketch(tmp_path, "U1:9003", nets, "d a")))
    assert results["dead:U1.1"].verdict == "fails"
    assert results["dead:d"].verdict == "fails"
    assert results["dead:a"].verdict == "holds"


def test_a_button_on_a_net_that_nobody_reads(tmp_path: Path) -> None:
    nets = {
        "go": "GO.1 R1.1",
        "VCC": "R1.2",
        "GND": "GO.2",
        "c": "U1.CLK",
        "d": "U1.D",
        "q": "U1.Q",
    }
    more = {"R1": RESISTOR, "GO": BUTTON}
    results = dead(load(sketch(tmp_path, "U1:9001", nets, "c d", more)))
    assert results["dead:GO"].verdict == "fails"
    assert results["dead:GO"].because == "GO does nothing: it moves no pin that reads"
    assert results["dead:d"].verdict == "holds"


def test_a_select_bit_that_is_stuck(tmp_path: Path) -> None:
    """A selector's select is an AND with ground: the second input never gets through."""
    nets = {
        "a": "U1.A1",
        "b": "U1.B1",
        "s": "U2.A1",
        "GND": "U2.B1 U1.G_n",
        "sel": "U2.Y1 U1.S",
        "y": "U1.Y1",
    }
    machine = load(sketch(tmp_path, "U1:157 U2:08", nets, "a b s"))
    assert verdicts(machine, "a", "b", "s") == ["holds", "fails", "fails"]


def test_a_control_that_reaches_a_latch_but_no_lamp(tmp_path: Path) -> None:
    """What a button moves stays in a flip-flop that a lamp never shows."""
    nets = {
        "d": "U1.D",
        "c": "U1.CLK",
        "q": "U1.Q U2.A1",
        "GND": "U2.B1 L1.K",
        "y": "U2.Y1 U2.A2",
        "e": "U2.B2",
        "z": "U2.Y2 R1.1",
        "l": "R1.2 L1.A",
    }
    more = {"R1": RESISTOR, "L1": LED}
    results = dead(load(sketch(tmp_path, "U1:9001 U2:32 U3:08", nets, "d c e", more)))
    assert results["dead:d"].verdict == "holds"
    nets["y"], nets["GND"] = "U3.Y1 U2.A2", "U3.B1 L1.K"
    nets["q"] = "U1.Q U3.A1"
    results = dead(load(sketch(tmp_path, "U1:9001 U2:32 U3:08", nets, "d c e", more)))
    assert results["dead:d"].verdict == "fails"
    assert results["dead:c"].verdict == "fails"
    assert results["dead:e"].verdict == "holds"
    assert "U3.2 (B1) is always low" in results["dead:d"].because


def test_what_is_tied_off_or_spare_is_not_dead(tmp_path: Path) -> None:
    """A load that is tied off, and a flip-flop with all its inputs tied."""
    nets = {"c": "U1.CLK", "d": "U1.D", "VCC": "U1.EN U1.LD_n", "q": "U1.Q"}
    results = dead(load(sketch(tmp_path, "U1:9005 U2:9001", nets, "c d")))
    assert {one.verdict for one in results.values()} == {"holds"}
    assert not any(name.startswith("dead:U2") for name in results)


def test_a_control_that_the_assumptions_hold_still(tmp_path: Path) -> None:
    nets = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}
    assumed = 'assume:\n  still: {says: "", formula: "always !d"}\n'
    results = dead(load(sketch(tmp_path, "U1:9001", nets, "c d"), assumed))
    assert results["dead:d"].verdict == "holds"
    assert results["dead:d"].method == "the assumptions never let it move"


# what takes long ----------------------------------------------------------------------------------

CLEARED = """\
board: cleared
parts:
  U1: 74HC164
  U2: 74HC164
  UP: {part: supervisor, output: push-pull}
nets:
  VCC: [U1.VCC, U2.VCC, UP.VCC, U1.B, U2.B]
  GND: [U1.GND, U2.GND, UP.GND]
  up: [UP.RESET_n, U1.CLR_n, U2.CLR_n]
  beat: [U1.CLK, U2.CLK]
  in: [U1.A]
  link: [U1.Q7, U2.A]
  out: [U2.Q7]
ports: {beat: in, in: in, out: out}
"""
"""Two shift registers of eight bits in a row, cleared when power comes on."""


def test_the_last_bit_of_a_chain_of_shift_registers(tmp_path: Path) -> None:
    """A 74164 takes in A and B at a rising clock, and is clear before (its function table): the
    reset is let go, and then the sixteenth rising edge, the 31st move of the clock at the least,
    is the first that moves the last bit."""
    path = tmp_path / "cleared.yaml"
    path.write_text(CLEARED, encoding="utf-8")
    results = dead(load_machine(path))
    assert {one.verdict for one in results.values()} == {"holds"}
    assert results["dead:U2.R[7]"].steps == 32


def test_how_far_was_looked_when_time_is_up(tmp_path: Path) -> None:
    """Nothing is said of steps that nobody looked at."""
    path = tmp_path / "cleared.yaml"
    path.write_text(CLEARED, encoding="utf-8")
    engine = Engine(load_machine(path), 2, 20.0)
    last = next(s for s in engine.machine.stores if s.label == "U2.R[7]")
    wanted = Property(name="last", bad=lambda moment: moment.rounds[-1].levels[last.leaf])
    for seconds, steps in ((0.0, 0), (20.0, 5)):
        outcome = hoped(engine, [wanted], 5, seconds)["last"]
        assert (outcome.verdict, outcome.steps) == ("undecided", steps)


DIVIDER = """\
board: divider
parts:
  U1: 74HC4040
  UP: {part: supervisor, output: push-pull, active: high}
nets:
  VCC: [U1.VCC, UP.VCC]
  GND: [U1.GND, UP.GND]
  clear: [UP.RESET, U1.MR]
  beat: [U1.CP_n]
  slow: [U1.Q11]
ports: {beat: in, slow: out}
"""
"""A divider of twelve stages, cleared when power comes on."""


@pytest.mark.parametrize(("assumed", "verdict"), [(False, "holds"), (True, "undecided")])
def test_the_last_stage_of_a_divider(
    tmp_path: Path, assumed: bool, verdict: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A 4040 counts falling edges and is clear before (its function table): the last of its twelve
    bits changes at the 2048th. A walk does not know what a board assumes, and says nothing then."""
    monkeypatch.setattr(longwalk, "SECONDS", 60.0)  # a machine with other work takes longer
    path = tmp_path / "divider.yaml"
    more = 'assume: {calm: {says: "", formula: "always (beat || !beat)"}}\n' if assumed else ""
    path.write_text(DIVIDER + more, encoding="utf-8")
    last = dead(load_machine(path), 120)["dead:U1.R[11]"]
    assert last.verdict == verdict
    # it takes as many steps as the clock has to move; how far is looked otherwise
    assert last.steps > 2 * 2047 if verdict == "holds" else last.steps == 80


def test_a_walk_sees_nothing_that_is_proved_never_to_happen(tmp_path: Path) -> None:
    """Of boards on which the solver decides about everything, and proves some of it dead."""
    met = 0
    for seed in range(4):
        machine = load(random_board(tmp_path, Random(f"walk {seed}")))
        items = happenings(machine, find_ends(machine))
        seen = seen_on_a_walk(machine, items, 0.2)
        results = dead(machine)
        assert "fails" not in {results[name].verdict for name in seen}
        met += len(seen)
    assert met > 5
