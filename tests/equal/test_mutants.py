"""Faults in the exported Verilog: told apart, or shown equal by yosys's own commands too.

And the other way round: what is told apart is not proved equal by yosys. Here a sample; 200 and
more are in `tests/long`.
"""

from pathlib import Path
from random import Random

import pytest

from breadproof.export.verilog import verilog
from tests.equal.boards import MINDER
from tests.equal.faults import judged
from tests.export import boards
from tests.support.mutants import mutants


def test_a_sample_of_faults(tmp_path: Path) -> None:
    machine = boards.machine_of(tmp_path, MINDER)
    text = verilog(machine.netlist)
    found = mutants(text, seed=5)
    assert len(found) >= 200
    verdicts = [judged(machine, text, one) for one in Random(11).sample(found, 9)]
    assert verdicts.count("differs") >= 3


@pytest.mark.parametrize(
    ("line", "faults"),
    [
        ("  assign a = b & c;", ["  assign a = b | c;"]),
        ("  assign a = ~ b;", ["  assign a = b;"]),
        ("  assign a = b ? c : d;", ["  assign a = b ? d : c;"]),
        ("  assign a = 1'h1;", ["  assign a = 1'h0;"]),
        ("    if (b) begin", ["    if (!(b)) begin"]),
        ("    .Y1(b),", ["    .Y1(c ),"]),
        ("    r <= b ;", ["    r <= c  ;"]),
    ],
)
def test_each_kind_of_fault(line: str, faults: list[str]) -> None:
    text = "\n".join(["module m;", "  wire b;", "  wire c;", line, "endmodule"])
    assert [one.text.split("\n")[3] for one in mutants(text, 0)] == faults
