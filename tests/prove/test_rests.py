"""What a proof is said to rest on: what is not named is changed, and the property must still hold.

The changed boards are searched state by state (`tests.support.brute`), which knows nothing of the
prover; and a second solver answers the questions of which a list of grounds is the core.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.rests import Rests
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import Sketch, formulas, sketch, small
from tests.prove.test_brute import load
from tests.support.brute import Explorer, Formulas
from tests.support.second_solver import answer

SAME_PINS = ("00", "08", "32", "86")
"""Four gates of two inputs each, in packages of one pinout (data books of the 74 series)."""


def grounds_of(machine: Machine) -> tuple[int, list[tuple[Result, Grounds]], list[tuple[str, str]]]:
    """The rounds, the proved formulas with what they rest on, and what was asked at last."""
    rounds, results = prove_board(machine, seconds=10)
    questions: list[tuple[str, str]] = []
    rests = Rests(machine, rounds, questions)
    found: list[tuple[Result, Grounds]] = []
    for one in results:
        if one.proof is not None:
            grounds = rests.of(one.name, one.proof, 10)
            if one.kind != "standing" and grounds is not None:
                found.append((one, grounds))
    return rounds, found, questions


def changed(made: Sketch, grounds: Grounds, random: Random) -> int:
    """Change what is not named: gates for others, tied pins the other way; how much was changed."""
    count = 0
    for name, kind in made.types.items():
        if name not in grounds.parts and kind.number in SAME_PINS:
            other = random.choice([number for number in SAME_PINS if number != kind.number])
            made.parts[name] = made.parts[name].removesuffix(kind.number) + other
            count += 1
    named = {label for label, _ in grounds.pins}
    for name, kind in made.types.items():
        for pin in kind.pins:
            label = f"{name}.{pin.name}"
            if not pin.kind.reads or f"{name}.{pin.number}" in named or random.random() < 0.5:
                continue
            for here, there in (("VCC", "GND"), ("GND", "VCC")):
                if label in made.nets.get(here, []):
                    made.nets[here].remove(label)
                    made.wire(there, label)
                    count += 1
                    break
    return count


def still_holds(made: Sketch, more: str, name: str, cover: bool, rounds: int) -> bool | None:
    """Whether the search finds no violation; None if the board takes more rounds or none end."""
    netlist = load(made, more).netlist
    space = Explorer(netlist, list(load(made, more).free)).explore()
    if space.never_quiet or space.rounds > rounds:
        return None
    formula = next(one for one in netlist.formulas if one.name == name)
    return Formulas(space, []).shortest(formula.expr, cover) is None


def without_the_rest(folder: Path, name: str, seed: int) -> Counter[str]:
    """Prove formulas of a board, and search it with what they do not rest on changed."""
    found: Counter[str] = Counter()
    random = Random(f"{name} {seed}")
    more = formulas(small(folder, name), random, 6)
    made = small(folder, name)
    rounds, proved, _ = grounds_of(load(made, more))
    for result, grounds in proved:
        other = small(folder, name)
        load(other, more)
        if not changed(other, grounds, random):
            continue
        holds = still_holds(other, more, result.name, result.kind == "cover", rounds)
        assert holds is not False, (name, result.name, grounds, other.text(more))
        found["not comparable" if holds is None else "changed"] += 1
    return found


CHANGED = (
    "gated clock",
    "latch of two NANDs",
    "memory with a moving address",
    "divider beside its clock",
    "two clock gates in a row",
    "floating clock",
)


@pytest.mark.parametrize("name", CHANGED)
def test_the_rest_may_be_anything(tmp_path: Path, name: str) -> None:
    assert without_the_rest(tmp_path, name, 1)["changed"]


def checks_without_the_rest(folder: Path, name: str, seed: int) -> Counter[str]:
    """The same of standing checks, those that the search tells of alike."""
    found: Counter[str] = Counter()
    random = Random(f"{name} {seed}, checks")
    machine = load(small(folder, name), "")
    rounds, results = prove_board(machine, seconds=10)
    rests = Rests(machine, rounds)
    for one in results:
        if not one.name.startswith(("fights:", "glitch:", "float:")) or one.proof is None:
            continue
        grounds = rests.of(one.name, one.proof, 10)
        other = small(folder, name)
        load(other, "")
        if grounds is None or not changed(other, grounds, random):
            continue
        after = load(other, "")
        space = Explorer(after.netlist, list(after.free)).explore()
        if space.never_quiet or space.rounds > rounds:
            found["not comparable"] += 1
            continue
        wanted = frozenset({one.name})
        assert Formulas(space, []).shortest_broken(wanted) is None, (name, one.name, grounds)
        found["changed"] += 1
    return found


def test_the_rest_of_a_check_may_be_anything(tmp_path: Path) -> None:
    found = Counter[str]()
    for name in ("gated clock", "two clock gates in a row", "bus of two"):
        folder = tmp_path / name
        folder.mkdir()
        found += checks_without_the_rest(folder, name, 1)
    assert found["changed"] >= 3, found


@pytest.mark.parametrize(
    "name", ["gated clock", "divider beside its clock", "self-clearing counter"]
)
def test_second_solver(tmp_path: Path, name: str) -> None:
    made = small(tmp_path, name)
    _, _, questions = grounds_of(load(made, formulas(made, Random(name), 6)))
    wanted = Counter(expected for expected, _ in questions)
    assert wanted["unsat"] >= 3
    assert wanted["sat"] >= 3  # without any one of the grounds there is a violation
    for expected, script in questions:
        assert answer(script) == expected


def only(machine: Machine, name: str) -> Grounds:
    return next(grounds for result, grounds in grounds_of(machine)[1] if result.name == name)


def test_selector(tmp_path: Path) -> None:
    """A 157 shows its A inputs while select (1) and strobe (15) are low (data book, 74157)."""
    nets = {
        "a": "U1.A1", "b": "U1.B1", "y": "U1.Y1", "u": "U2.A1", "v": "U2.Y1 U3.A1", "w": "U3.Y1",
        "GND": "U1.G_n",
    }  # fmt: skip
    made = sketch(tmp_path, "U1:157 U2:14 U3:14", nets, "a b u")
    machine = load(made, 'assert: {shows-a: {says: "", formula: "always (y == a)"}}\n')
    assert only(machine, "shows-a") == Grounds(
        parts=("U1",),
        pins=(("U1.1", "low"), ("U1.15", "low")),
        contents=(),
        assumptions=(),
        least=True,
    )


def test_assumption(tmp_path: Path) -> None:
    """Of two assumptions the one that matters is named; an inverter of a low is no chip's doing."""
    made = sketch(tmp_path, "U1:14", {"a": "U1.A1", "y": "U1.Y1", "b": "U1.A2"}, "a b")
    more = (
        'assume: {low: {says: "", formula: "always !a"}, still: {says: "", formula: "always b"}}\n'
        'assert: {high: {says: "", formula: "always y"}}\n'
    )
    assert only(load(made, more), "high") == Grounds(
        parts=("U1",), pins=(), contents=(), assumptions=("low",), least=True
    )


FLOP = {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q", "a": "U2.A1", "n": "U2.Y1"}
COMES = """\
assume:
  on: {says: "", formula: "always eventually! rose(c)"}
  in: {says: "", formula: "always d"}
  calm: {says: "", formula: "always stable(a)"}
assert:
  comes: {says: "", formula: "always eventually! q"}
  rises: {says: "", formula: "always eventually! c"}
"""


def test_what_is_waited_for(tmp_path: Path) -> None:
    """q takes d, which is high, at an edge that comes: without the flip-flop, its clear (pin 1) at
    high, the clock, or that d is high it need not come; the inverter beside it has no say. That the
    clock is high at times follows from that it rises, whatever the chips do."""
    machine = load(sketch(tmp_path, "U1:9001 U2:14", FLOP, "c d a"), COMES)
    rounds, results = prove_board(machine, seconds=10)
    questions: list[tuple[str, str]] = []
    rests = Rests(machine, rounds, questions)
    proofs = {one.name: one.proof for one in results if one.proof is not None}
    assert rests.of("comes", proofs["comes"], 10) == Grounds(
        parts=("U1",), pins=(("U1.1", "high"),), contents=(), assumptions=("on", "in"), least=True
    )
    assert rests.of("rises", proofs["rises"], 10) == Grounds(
        parts=(), pins=(), contents=(), assumptions=("on",), least=True
    )
    asked = [expected for expected, _ in questions]
    assert asked == ["unsat", *["sat"] * 4, "unsat", "sat"]
    for expected, script in questions:
        assert answer(script) == expected


def test_an_induction_over_many_steps(tmp_path: Path) -> None:
    """What holds by itself holds by induction over 15 steps too, and rests on the same."""
    nets = {"a": "U1.A1", "b": "U1.B1", "y": "U1.Y1", "GND": "U1.G_n U1.S"}
    made = sketch(tmp_path, "U1:157", nets, "a b")
    machine = load(made, 'assert: {shows-a: {says: "", formula: "always (y == a)"}}\n')
    rests = Rests(machine, prove_board(machine, seconds=10)[0])
    one, long = (Proof(kind="induction", steps=steps) for steps in (1, 15))
    assert rests.of("shows-a", long, 20) == rests.of("shows-a", one, 20) is not None


def test_contents(tmp_path: Path) -> None:
    """No word of the ROM has its highest bit set; enables at 18 and 20, write at 21 (28C16)."""
    nets = {"a": "U1.A0", "d7": "U1.IO7", "d0": "U1.IO0 U2.A1", "n": "U2.Y1"}
    made = sketch(tmp_path, "U2:14", nets, "a")
    address = " ".join(f"U1.A{k}" for k in range(1, 11))
    made.wire("GND", *address.split(), "U1.GND", "U1.CE_n", "U1.OE_n")
    made.wire("VCC", "U1.VCC", "U1.WE_n")
    made.folder.joinpath("words.bin").write_bytes(bytes([2, 3]) * 1024)
    made.parts["U1"] = "{part: 28C16, contents: words.bin}"
    more = 'assert: {never-high: {says: "", formula: "never d7"}}\n'
    grounds = only(load(made, more), "never-high")
    assert (grounds.parts, grounds.contents, grounds.least) == (("U1",), ("U1.M",), True)
    assert set(grounds.pins) == {("U1.18", "low"), ("U1.20", "low"), ("U1.21", "high")}
