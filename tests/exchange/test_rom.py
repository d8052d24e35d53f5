"""A ROM in the exported obligation, by two model checkers; its table is the source."""

from __future__ import annotations

from pathlib import Path

from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.btor2 import btor2
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.exchange.obligation import obligation
from tests.prove.boards import sketch
from tests.prove.test_brute import load
from tests.support.abc_checker import broken
from tests.support.btor_checker import BtorChecker

NEXT = [1, 2, 5, 7, 4, 6, 3, 3]
"""Each word is the next address: 0 1 2 5 6 3 7 and round from 3; 4 leads to itself."""
ORBIT = {1: 1, 2: 2, 5: 3, 6: 4, 3: 5, 7: 6}
"""Edges from address 0 on."""


def test_microcode(tmp_path: Path, berkeley_abc: str) -> None:
    nets = {f"q{k}": f"U2.Q{k} U1.A{k}" for k in range(3)}
    nets |= {f"w{k}": f"U1.IO{k} U2.D{k}" for k in range(3)}
    nets |= {"c": "U2.CLK", "GND": "U1.CE_n U1.OE_n"}
    made = sketch(tmp_path, "U2:174", nets, "c")
    made.parts["U1"] = f"{{part: 28C16, contents: {NEXT}}}"
    made.wire("VCC", "U1.24", "U1.WE_n")
    made.wire("GND", "U1.12", *(f"U1.A{k}" for k in range(3, 11)))
    texts = {
        f"word{k}": f"always ({{q2, q1, q0}} == {k} -> {{w2, w1, w0}} == {word})"
        for k, word in enumerate(NEXT)
    }
    texts |= {
        f"reach{k}": f"(!c && {{q2, q1, q0}} == 0) -> always ({{q2, q1, q0}} != {k})"
        for k in range(1, 8)
    }
    lines = [f'  {name}: {{says: "", formula: "{text}"}}' for name, text in texts.items()]
    machine = load(made, "\n".join(["assert:", *lines, ""]))
    built = circuit(obligation(machine, list(texts), 10))
    file = tmp_path / "rom.aig"
    file.write_bytes(aiger_binary(flat(built)))
    assert broken(berkeley_abc, file, list(texts), 10) == {f"reach{k}" for k in ORBIT}
    found = BtorChecker(btor2(built)).reached(12)
    # a rising edge every other step, the first one in step 1
    expected = {f"reach{k}": 2 * edges - 1 for k, edges in ORBIT.items()}
    assert {name: at for name, at in found.items() if at is not None} == expected
