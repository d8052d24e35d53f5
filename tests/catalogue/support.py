"""A small part file that is right, for tests that change one thing in it."""

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.partfile import parse_part
from breadproof.specs.reading.yamltree import parse_tree

PART = """\
part: "9"
title: Gate and register
does: gate
package: DIP-8
families: [LS]
source: made up for this test
pins:
  1: A1 in
  2: A0 in
  3: G_n in enable
  4: GND ground
  5: CLK in clock
  6: Q1 three-state
  7: Q0 out
  8: VCC supply
inner:
  E: "!G_n"
logic:
  Q0: "A0 & E"
  Q1: {level: "R[1]", when: E}
storage:
  R[1:0]: {clock: rose(CLK), next: "A[1:0]"}
memory:
  M: {words: 4, bits: 2, address: "A[1:0]"}
rows:
  - from: made up
    columns: G_n A[1:0] CLK | Q0 Q1 R[1:0]
    table:
      - L h3 ^ | H H h3
      - H X H | L Z =
"""


def read(text: str) -> PartType:
    """The part type of a text."""
    return parse_part(parse_tree(text, "9.yaml"), "9.yaml")


def changed(old: str, new: str) -> str:
    """`PART` with one thing changed, which must stand there once."""
    assert PART.count(old) == 1
    return PART.replace(old, new)
