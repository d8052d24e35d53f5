"""How a difference spreads over a board, pin by pin, as one follows it by hand on the drawing."""

from __future__ import annotations

from breadproof.verify.revisions.compare import Wanted, compare_netlists
from breadproof.verify.revisions.pairdiagram import pair_diagram
from breadproof.verify.revisions.verdicts import Means
from tests.revisions.boards import corpus, netlist_of

# An AND gate, its opposite, a selector that takes the gate's side for good, a flip-flop, a lamp.
# Pins: the data books' connection diagrams of the 08, 04, 157 and 74, from memory.
CUE = """\
board: cue
parts:
  U1: 74LS08
  U2: 74LS04
  U3: 74LS157
  U4: 74LS74
  L1: {part: led}
  R1: {part: resistor, value: 330}
nets:
  VCC: [U1.14, U2.14, U3.16, U4.14, U4.1, U4.4]
  GND: [U1.7, U2.7, U3.8, U4.7, U3.1, U3.15, L1.K]
  a: [U1.1]
  b: [U1.2]
  c: [U1.4, U1.5]
  ready: [U1.3, U2.1, U3.2]
  waiting: [U2.2, U3.3]
  chosen: [U3.4, U4.2]
  beat: [U4.3]
  kept: [U4.5, R1.1]
  lamp: [R1.2, L1.A]
ports: {a: in, b: in, c: in, beat: in}
"""


def test_it_goes_through_gate_selector_flip_flop_and_resistor() -> None:
    """Both sides of the selector differ; what it is not set to has no part in it."""
    old = netlist_of(CUE)
    new = netlist_of(
        CUE.replace("a: [U1.1]", "a: [U1.4, U1.5]").replace("c: [U1.4, U1.5]", "c: [U1.1]")
    )
    found = compare_netlists(old, new, Wanted(only=("L1",), proofs=False), Means())
    assert found.answered is not None
    assert found.answered.difference is not None
    drawn = pair_diagram(found, found.answered.difference)
    ways = [(one.into, one.out, old.nets[one.net].name) for one in drawn.way]
    assert ways == [
        ("U1.1", "U1.3", "ready"),
        ("U3.2", "U3.4", "chosen"),
        ("U4.2", "U4.5", "kept"),
        ("R1.1", "R1.2", "lamp"),
    ]
    steps = [one.at for one in drawn.way]
    assert steps == sorted(steps)
    for one in drawn.way:
        assert one.levels[0] != one.levels[1]
    assert [mark.source for mark in drawn.marks] == [0, 1, 2, 3]
    labels = [row.label for row in drawn.picture.rows]
    assert [mark.row for mark in drawn.marks] == [f"{net} old" for _, _, net in ways]
    assert "L1 lit new" in labels


def test_a_pin_that_moved_begins_it_though_its_old_net_differs_later() -> None:
    """The chaser comes up at 10: the NAND of bits 3 and 1 clears the old one. On the new one its
    second input, now on bit 0, is low, and nothing is cleared; then bit 1 differs, too."""
    old, new = corpus("revisions/ten-steps-161"), corpus("revisions/ten-steps-163")
    found = compare_netlists(old, new, Wanted(proofs=False), Means())
    assert found.answered is not None
    assert found.answered.difference is not None
    drawn = pair_diagram(found, found.answered.difference)
    first, second = [(one.into, one.out, old.nets[one.net].name) for one in drawn.way]
    assert first == ("U2.2", "U2.3", "end_n")
    assert second in [("U1.1", "U1.11", "step[3]"), ("U1.1", "U1.13", "step[1]")]
    assert [one.levels for one in drawn.way] == [(0, 1), (0, 1)]


TWO_LAMPS = """\
board: two
parts:
  U1: 74LS08
  L1: {part: led}
  L2: {part: led}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.14]
  GND: [U1.7, L1.K, L2.K, U1.9, U1.10, U1.12, U1.13]
  a: [U1.1]
  b: [U1.2]
  c: [U1.4]
  d: [U1.5]
  left: [U1.3, R1.1]
  right: [U1.6, R2.1]
  left_lamp: [R1.2, L1.A]
  right_lamp: [R2.2, L2.A]
ports: {a: in, b: in, c: in, d: in}
"""


def test_a_wire_that_leads_to_another_lamp_is_not_the_cause() -> None:
    """Gate 1 (pins 1, 2 to 3) drives L1 alone, gate 2 (pins 4, 5 to 6) L2 alone: 08, data book's
    connection diagram, from memory. Of both an input moved."""
    swapped = TWO_LAMPS.replace("a: [U1.1]", "a: [U1.4]").replace("c: [U1.4]", "c: [U1.1]")
    for lamp, pin in (("L1", "U1.1"), ("L2", "U1.4")):
        asked = Wanted(only=(lamp,), proofs=False)
        found = compare_netlists(netlist_of(TWO_LAMPS), netlist_of(swapped), asked, Means())
        assert found.parting is not None
        assert found.parting.pins == (pin, pin)
        assert found.parting.change is not None
        assert found.parting.change.pins[0] == (pin,)


def test_resistors_that_changed_places_are_the_cause() -> None:
    """The lamps' resistors hang at each other's gate (08: outputs 3 and 6): no chip's pin moved."""
    crossed = TWO_LAMPS.replace("[U1.3, R1.1]", "[U1.3, R2.1]").replace(
        "[U1.6, R2.1]", "[U1.6, R1.1]"
    )
    asked = Wanted(only=("L1",), proofs=False)
    found = compare_netlists(netlist_of(TWO_LAMPS), netlist_of(crossed), asked, Means())
    assert found.parting is not None
    assert found.parting.pins in [("R1.1", "R1.1"), ("R2.1", "R2.1")]
    assert found.parting.change is not None
    assert "moved from" in found.parting.change.text
