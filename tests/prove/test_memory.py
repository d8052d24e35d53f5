"""Memories: what is written is read, a word that is not written stays, two reads agree.

These are what "memory" means (McCarthy's axioms of arrays, 1962): a read at the place of the last
write gives its word, a read elsewhere is not touched by it, and reads of the same place agree. The
tiny memory of `tests.prove.boards` is searched in full by `test_brute`; here are real ones.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.solver import Solver
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import Sketch, sketch
from tests.prove.test_brute import agree, load
from tests.support.second_solver import answer, without_last


def results_of(made: Sketch, asserts: dict[str, str], more: str = "") -> dict[str, Result]:
    lines = [f'  {name}: {{says: "", formula: "{text}"}}' for name, text in asserts.items()]
    machine = load(made, "\n".join(["assert:", *lines, more, ""]))
    questions: list[tuple[str, str]] = []
    _, results = prove_board(machine, seconds=20, questions=questions)
    for what, script in questions:
        assert answer(script) == "unsat", what
        assert answer(without_last(script)) == "sat", what
    return {result.name: result for result in results}


def sixteen(folder: Path) -> Sketch:
    """A 189, read and written by ports alone; its outputs are inverted."""
    nets = {f"a{k}": f"U1.A{k}" for k in range(4)} | {f"d{k}": f"U1.D{k}" for k in range(4)}
    nets |= {f"o{k}": f"U1.O{k}_n R{k}.1" for k in range(4)}
    nets |= {"w": "U1.WE_n", "s": "U1.CS_n", "VCC": " ".join(f"R{k}.2" for k in range(4))}
    others = {f"R{k}": "{part: resistor, value: 4.7k}" for k in range(4)}
    ports = " ".join([*(f"a{k} d{k}" for k in range(4)), "w", "s"])
    return sketch(folder, "U1:LS/189", nets, ports, others)


D, A, NOT_O = "{d3, d2, d1, d0}", "{a3, a2, a1, a0}", "{!o3, !o2, !o1, !o0}"


def test_189(tmp_path: Path) -> None:
    found = results_of(
        sixteen(tmp_path),
        {
            "written": f"always (rose(w) && !s -> U1.M[{A}] == {D} && {NOT_O} == {D})",
            "kept": "always (w || s -> stable(U1.M[5]))",
            "elsewhere": f"always ({A} != 5 && prev({A}) != 5 -> stable(U1.M[5]))",
            "agree": f"always ({A} == 9 && w && !s -> {NOT_O} == U1.M[9])",
            "back": f"always ({A} == 3 && !w && !s && {D} == 6 -> next (rose(w) -> U1.M[3] == 6))",
            "frozen": "always stable(U1.M[5])",
            "known": "U1.M[2] == 0",
            "same": "always (U1.M[2] == U1.M[3])",
            "two": "always (U1.M[2] == U1.M[3] -> next (U1.M[2] == U1.M[3]))",
        },
    )
    verdicts = {name: found[name].verdict for name in ("written", "kept", "elsewhere", "agree")}
    # The ports move while the memory is written: the levels are proved, the races of the write
    # pin are not, and a formula rests on them (design.md section 4).
    assert found["race:U1.3"].verdict == "fails"
    assert set(verdicts.values()) == {"undecided"}
    rests = {found[name].because for name in verdicts}
    assert rests == {"it rests on pins that are not clean: race:U1.3"}
    lengths = {
        name: (found[name].verdict, found[name].steps) for name in ("frozen", "known", "same")
    }
    assert lengths == {"frozen": ("fails", 1), "known": ("fails", 0), "same": ("fails", 0)}
    assert (found["two"].verdict, found["two"].steps) == ("fails", 1)


def test_189_held_still(tmp_path: Path) -> None:
    """With the address and data held while it writes, and the strobe clean, the proofs stand."""
    still = " && ".join(f"stable({x}{k})" for x in "ad" for k in range(4))
    found = results_of(
        sixteen(tmp_path),
        {
            "written": f"always (rose(w) && !s -> U1.M[{A}] == {D})",
            "kept": "always (w || s -> stable(U1.M[5]))",
            "elsewhere": f"always ({A} != 5 -> stable(U1.M[5]))",
            "agree": f"always ({A} == 9 && w && !s -> {NOT_O} == U1.M[9])",
        },
        'assume: {still: {says: "", formula: "always ((!w && !s) || (!prev(w) && !prev(s)) -> ('
        + still
        + '))"}}',
    )
    assert found["race:U1.3"].verdict == "holds"
    names = ("written", "kept", "elsewhere", "agree")
    assert {found[name].verdict for name in names} == {"holds"}


def test_6116(tmp_path: Path) -> None:
    """2048 words, of which the address lines reach two; words at both, and what lies elsewhere."""
    nets = {"a": "U1.A0", "d": "U1.IO0 U2.Y1", "i": "U2.A1", "w": "U1.WE_n U3.A1",
            "n": "U3.Y1", "e": "U2.G1_n", "o": "U1.OE_n", "GND": "U1.CS_n"}  # fmt: skip
    others = {f"R{k}": "{part: resistor, value: 4.7k}" for k in range(1, 8)}
    for k in range(1, 8):
        nets[f"p{k}"] = f"U1.IO{k} R{k}.1"
    nets["GND"] += "".join(f" R{k}.2" for k in range(1, 8))
    made = sketch(tmp_path, "U2:125 U3:14", nets, "a i w e o", others)
    made.parts["U1"] = "6116"
    made.wire("VCC", "U1.24")
    made.wire("GND", "U1.12", *(f"U1.A{k}" for k in range(1, 11)))
    found = results_of(
        made,
        {
            "reads": "always (w && !o && e -> d == (a ? U1.M[1] & 1 : U1.M[0] & 1))",
            "far": "always stable(U1.M[1024])",
            "near": "always stable(U1.M[1])",
            "fight": "never fights(d)",
        },
    )
    assert found["fights:d"].verdict == "fails"
    assert (found["fight"].verdict, found["fight"].steps) == ("fails", 0)
    assert (found["near"].verdict, found["near"].steps) == ("fails", 1)
    # nobody can reach word 1024, and none of the pins that are not clean changes that
    assert found["far"].verdict in ("holds", "undecided")
    assert found["far"].verdict == "holds" or found["far"].because.startswith("it rests on")
    assert found["reads"].because.startswith("it rests on")


MICROCODE = [1, 2, 5, 7, 4, 6, 3, 3]
"""Each word is the next address: 0 1 2 5 6 3 7 and round from 3; 4 leads to itself."""


def test_microcode(tmp_path: Path) -> None:
    """A ROM and a register: the run is that of the table, step by step."""
    nets = {f"q{k}": f"U2.Q{k} U1.A{k}" for k in range(3)}
    nets |= {f"w{k}": f"U1.IO{k} U2.D{k}" for k in range(3)} | {
        "c": "U2.CLK",
        "GND": "U1.CE_n U1.OE_n",
    }
    made = sketch(tmp_path, "U2:174", nets, "c")
    made.parts["U1"] = f"{{part: 28C16, contents: {MICROCODE}}}"
    made.wire("VCC", "U1.24", "U1.WE_n")
    made.wire("GND", "U1.12", *(f"U1.A{k}" for k in range(3, 11)))
    asserts = {
        f"w{k}": f"always ({{q2, q1, q0}} == {k} -> {{w2, w1, w0}} == {word})"
        for k, word in enumerate(MICROCODE)
    }
    asserts |= {
        f"s{k}": f"always (rose(c) && prev({{q2, q1, q0}}) == {k} -> {{q2, q1, q0}} == {word})"
        for k, word in enumerate(MICROCODE)
    }
    orbit: dict[int, int] = {}
    place = 0
    while place not in orbit:
        orbit[place] = len(orbit)
        place = MICROCODE[place]
    asserts |= {
        f"r{k}": f"(!c && {{q2, q1, q0}} == 0) -> always ({{q2, q1, q0}} != {k})"
        for k in range(1, 8)
    }
    found = results_of(made, asserts)
    for k in range(8):
        assert found[f"w{k}"].verdict == "holds"
        assert found[f"s{k}"].verdict == "holds"
    for k in range(1, 8):
        expected = ("fails", 2 * orbit[k] - 1) if k in orbit else ("holds", found[f"r{k}"].steps)
        assert (found[f"r{k}"].verdict, found[f"r{k}"].steps) == expected, k


def test_a_rom_by_search(tmp_path: Path) -> None:
    """A ROM between a counter and a flip-flop, against the search state by state."""
    nets = {"q0": "U2.Q0 U1.A0", "q1": "U2.Q1 U1.A1", "c": "U2.CLK", "e": "U2.EN",
            "w": "U1.IO0 U3.D U2.CLR_n", "x": "U1.IO1 U3.CLK", "y": "U3.Q",
            "GND": "U1.CE_n U1.OE_n"}  # fmt: skip
    made = sketch(tmp_path, "U2:9006 U3:9001", nets, "c e")
    made.parts["U1"] = "{part: 28C16, contents: [1, 3, 1, 2]}"
    made.wire("VCC", "U1.24", "U1.WE_n")
    made.wire("GND", "U1.12", *(f"U1.A{k}" for k in range(2, 11)))
    lines = ["never (q1 && q0)", "always (rose(c) && e -> q0 != prev(q0))", "never ever(x && y)"]
    text = [f'  f{k}: {{says: "", formula: "{line}"}}' for k, line in enumerate(lines)]
    found = agree(load(made, "\n".join(["assert:", *text, ""])))
    assert found["fails"] >= 2


@pytest.mark.parametrize("seed", range(4))
def test_values_of_gates_that_were_never_asked_about(seed: int) -> None:
    """Levels in a model follow from its variables by and and not, asked about or not."""
    random = Random(seed)
    aig = Aig()
    solver = Solver(aig)
    inputs = [aig.input() for _ in range(5)]
    pool = list(inputs)
    for _ in range(40):
        a, b = (random.choice(pool) ^ random.getrandbits(1) for _ in range(2))
        pool.append(aig.and2(a, b))
    asked = [literal ^ random.getrandbits(1) for literal in random.sample(pool[5:25], 3)]
    if solver.check(asked, 5.0) != "sat":
        assert solver.check([], 5.0) == "sat"
    values = solver.values(sorted({*pool, *(one ^ 1 for one in pool)}))
    for literal in pool:
        gate = aig.fanin[literal >> 1]
        assert values[literal] == 1 - values[literal ^ 1] or literal < 2
        if gate is not None:
            known = solver.values([gate[0], gate[1], literal & ~1])
            assert known[literal & ~1] == known[gate[0]] & known[gate[1]]


@pytest.mark.parametrize(("end", "verdict"), [("x", "holds"), ("e", "fails")])
def test_address_that_moves_as_the_write_ends(tmp_path: Path, end: str, verdict: str) -> None:
    """The address must be held past the end of the strobe (hold time of any memory's data sheet).

    The strobe is c and e; e may rise only while c is low, so that nothing moves as it begins.
    """
    nets = {"c": "U2.A1", "e": "U2.B1", "x": "", "w": "U2.Y1 U1.WE_n", "d": "U1.D",
            "GND": "U1.CS_n", "q": "U1.Q"}  # fmt: skip
    nets[end] += " U1.A0"
    if not nets["x"]:
        nets["x"] = "U2.A2"
    machine = load(
        sketch(tmp_path, "U1:9003 U2:00", nets, "c e x d"),
        'assume: {begins: {says: "", formula: "never (rose(e) && c)"}, held: {says: "",\n'
        '  formula: "always (c && e || prev(c && e) -> stable(x) && stable(d))"}}\n',
    )
    result = next(r for r in prove_board(machine)[1] if r.name == "race:U1.1")
    assert result.verdict == verdict


PROGRAMMED = """
board: programmed
parts:
  U1: {{part: 28C16, contents: [0x10, 0x20, 0x30]}}
nets:
  VCC: [U1.24{high}]
  GND: [U1.12, U1.CE_n, U1.A2, U1.A3, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8, U1.A9, U1.A10]
  a[1:0]: [U1.A1, U1.A0]
  oe_n: [U1.OE_n]
  we_n: [{we}]
  w[7:0]: U1.IO[7:0]
ports: {{a: in, oe_n: in{port}}}
assert:
  word: always (a == 1 && !oe_n -> w == 8'h20{guard})
"""


@pytest.mark.parametrize(
    ("wires", "check", "word"),
    [
        # The write pin of an EEPROM on the supply: its words are what was programmed.
        ({"high": ", U1.WE_n", "we": "", "port": "", "guard": ""}, None, "holds"),
        # With its write pin free, a low programs it (mode table of the 28C16, from memory).
        (
            {"high": "", "we": "U1.WE_n", "port": ", we_n: in", "guard": " || !we_n"},
            "fails",
            "undecided",
        ),
    ],
)
def test_words_of_an_eeprom_are_constant_only_while_nothing_programs_it(
    tmp_path: Path, wires: dict[str, str], check: str | None, word: str
) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(PROGRAMMED.format(**wires), encoding="utf-8")
    _, results = prove_board(load_machine(path), seconds=20)
    verdicts = {result.name: result.verdict for result in results}
    assert verdicts.get("program:U1.21") == check
    assert verdicts["word"] == word
