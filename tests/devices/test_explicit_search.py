"""Supervisors in proofs, against a search of all quiet moments and steps.

The search (`tests.support.brute`) takes from the part only what its storage holds at power-on.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine
from tests.prove.test_brute import agree

COUNTER = """\
board: cue-panel
parts:
  U1: 74HC74
  SUP: {{part: supervisor, output: {}}}
{}
nets:
  VCC: [U1.14, U1.4, U1.10, U1.13, SUP.VCC{}]
  GND: [U1.7, SUP.GND, U1.11, U1.12{}]
  clk: [U1.3]
  q_n: [U1.6, U1.2]
  q: [U1.5]
  rst_n: [SUP.2, U1.1{}]
ports: {{clk: in}}
assert:
  begins: {{formula: "!rst_n && !q"}}
  once: {{formula: "always (rst_n -> always rst_n)"}}
  cleared: {{formula: "always (!rst_n -> !q)"}}
  still: {{formula: "always (q -> rst_n)"}}
  early: {{formula: "never (rst_n && prev(rst_n) && q)"}}
  first-edge: {{formula: "rose(clk) before q"}}
cover:
  on: {{formula: q}}
  let-go: {{formula: "rst_n && prev(!rst_n)"}}
  again: {{formula: "!rst_n && prev(rst_n)"}}
"""


@pytest.mark.parametrize(
    ("options", "parts", "places", "covered"),
    [
        ("push-pull", "", ("", "", ""), 2),
        ("open-drain", "  R1: {part: resistor, value: 4.7k}", (", R1.1", "", ", R1.2"), 2),
        (
            "push-pull, manual-reset: true",
            "  B: {part: push-button}",
            ("", ", B.1", "\n  mr_n: [B.2, SUP.MR_n]"),
            3,
        ),
    ],
    ids=["push-pull", "open-drain", "manual"],
)
def test_a_supervisor_that_clears_a_flip_flop(
    tmp_path: Path, options: str, parts: str, places: tuple[str, str, str], covered: int
) -> None:
    text = COUNTER.format(options, parts, *places)
    if "mr_n" in text:
        text = text.replace("U1.1\n  mr_n: [B.2, SUP.MR_n]]", "U1.1]\n  mr_n: [B.2, SUP.MR_n]")
    path = tmp_path / "board.yaml"
    path.write_text(text, "utf-8")
    found = agree(load_machine(path))
    assert found["covered"] == covered
    assert found["holds"] >= 4
