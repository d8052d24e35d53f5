"""Pairs of revisions, and Verilog beside boards, against yosys's miter and `sat`: a second tool.

It gets the hardware that the boards are exported as, and the Verilog as written; the machines,
their pairing and the induction have no part in it.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from breadproof.export.verilog import module_name, verilog
from breadproof.specs.load import load_netlist
from tests.revisions.modules import MODULES
from tests.revisions.test_pairs import PAIRS
from tests.revisions.textbook import LAWS
from tests.support.equivalence import outputs_always_equal

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"
PLAIN = ["de-morgan", "adder-in-gates", "table-in-gates", "table-mended", "arithmetic-unit"]
"""Pairs of boards without storage."""
LAWFUL = ["consensus", "a function in a multiplexer", "a function in a decoder", "parity"]


@cache
def exported(path: Path, clock: str = "") -> tuple[str, str]:
    """A board as Verilog, and its module's name."""
    netlist = load_netlist(path)
    return verilog(netlist, clock=clock), module_name(netlist)


@pytest.mark.parametrize("name", PLAIN)
def test_pairs(name: str) -> None:
    pair = PAIRS[name]
    one, two = (exported(FOLDER / f"{board}.yaml") for board in pair["boards"])
    assert one[1] == two[1]
    assert outputs_always_equal(one[0], two[0], one[1]) is (pair["levels"] == "same")


@pytest.mark.parametrize("name", LAWFUL)
def test_laws(tmp_path: Path, name: str) -> None:
    law, texts = LAWS[name], []
    for number, text in enumerate((law.one, law.two, law.wrong)):
        path = tmp_path / f"{number}.yaml"
        path.write_text(text, "utf-8")
        texts.append(exported(path)[0])
    assert outputs_always_equal(texts[0], texts[1], "textbook")
    assert not outputs_always_equal(texts[0], texts[2], "textbook")


WRITTEN = {
    "sum": (
        "output [2:0] s, input [1:0] a, b", ".a(a), .b(b), .s(s)",
        ".a_in(a), .b_in(b), .s_out(s)",
    ),
    "sum-in-full-adders": (),
    "sum-without-carry": (),
    "mode": (
        "input [2:0] mode, output odd, most", ".mode(mode), .odd(odd), .most(most)",
        ".mode_in(mode), .odd_out(odd), .most_out(most)",
    ),
    "mode-of-two-alone": (),
    "ten-steps": ("input clk, output [3:0] step", ".clk(clk), .step(step)",
                  ".tick_clk(clk), .tick_rst(1'b0), .step_out(step)"),
    "ten-steps-of-nine-alone": (),
}  # fmt: skip
"""A module's ports, those that are written by hand, and those of the exported hardware; () as
before."""


def wrapped() -> list[tuple[str, tuple[str, str, str]]]:
    found: list[tuple[str, tuple[str, str, str]]] = []
    for name, ports in WRITTEN.items():
        found.append((name, ports or found[-1][1]))  # type: ignore[arg-type]
    return found


@pytest.mark.parametrize(("name", "ports"), wrapped())
def test_written_by_hand(name: str, ports: tuple[str, str, str]) -> None:
    """From storage of 0 on, one tick being a period of the clock; the two that begin with what
    never comes then are the same."""
    module = MODULES[name]
    clocked = "clk" in ports[0]
    text, top = exported(FOLDER / f"{module.board}.yaml", "beat" if clocked else "")
    own = module.verilog.split("module ")[-1].split("(")[0]
    both = [
        f"{module.verilog}\nmodule both({ports[0]}); {own} u({ports[1]}); endmodule",
        f"{text}\nmodule both({ports[0]}); {top} u({ports[2]}); endmodule",
    ]
    if top == own:
        both[0] = both[0].replace(f"module {own}(", "module own(").replace(f"{own} u(", "own u(")
    equal = outputs_always_equal(both[1], both[0], "both", from_zero=clocked)
    assert equal is (not module.differs or clocked)
