"""Graph matching against permutations that are known, and faults that are known."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Net, Netlist, Part, Pin
from breadproof.verify.revisions.changes import changes_of
from breadproof.verify.revisions.matching import Matching, match
from breadproof.verify.revisions.said import said_changes
from breadproof.verify.revisions.samewiring import same_wiring
from tests.random_boards.boards import build
from tests.revisions.boards import corpus, netlist_of
from tests.support.permuted import permuted

NAMES = ("light-store", "mixer", "cue-pad", "revisions/chase", "revisions/sum-gates")


def nets_by_pins(netlist: Netlist, called: dict[str, str]) -> set[frozenset[str]]:
    """The nets that join anything, as sets of pin labels."""
    return {
        frozenset(called.get(pin.label, pin.label) for pin in net.pins)
        for net in netlist.nets
        if len(net.pins) > 1
    }


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(NAMES), st.integers(0, 2**32))
def test_permuted_boards_are_the_same_wiring(name: str, seed: int) -> None:
    """Nothing is told but names and gates, and the pins that are found make the same nets."""
    old = corpus(name)
    made = permuted(old, Random(seed))
    found = match(old, made.netlist)
    assert same_wiring(found)
    assert {change.group for change in changes_of(found)} <= {"names"}
    assert nets_by_pins(old, dict(found.pins)) == nets_by_pins(made.netlist, {})
    types = {part.name: (part.printed, part.value) for part in made.netlist.parts}
    assert all(types[found.parts[p.name]] == (p.printed, p.value) for p in old.parts)


def moved(netlist: Netlist, label: str, target: int | None) -> Netlist:
    """The board with one pin on another net."""
    pins = {pin.label: pin for pin in netlist.pins()}
    new = replace(pins[label], net=target)
    nets: list[Net] = []
    for net in netlist.nets:
        own = [pin for pin in net.pins if pin.label != label]
        nets.append(replace(net, pins=(*own, new) if net.index == target else tuple(own)))
    parts = tuple(
        replace(part, pins=tuple(new if pin.label == label else pin for pin in part.pins))
        for part in netlist.parts
    )
    return replace(netlist, parts=parts, nets=tuple(nets))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(NAMES), st.integers(0, 2**32))
def test_one_wire_is_found_among_all_that_is_drawn_anew(name: str, seed: int) -> None:
    """A pin moved to another net of a permuted board: the wiring is not the same, and what is told
    of it is a line or a few."""
    random = Random(seed)
    old = corpus(name)
    made = permuted(old, random)
    signals = [net for net in made.netlist.nets if net.rail is None and len(net.pins) > 2]
    pins = [pin for net in signals for pin in net.pins]
    pin = random.choice(pins)
    others = [net for net in made.netlist.nets if net.rail is None and len(net.pins) > 1]
    target = random.choice([net for net in others if net.index != pin.net])
    new = moved(made.netlist, pin.label, target.index)
    found = match(old, new)
    same = nets_by_pins(old, made.pins) == nets_by_pins(new, {})
    assert same_wiring(found) is same
    if not same:
        wiring = [change for change in changes_of(found) if change.group == "wiring"]
        assert 1 <= len(wiring) <= 8
        assert len(found.moved) <= 12


@pytest.mark.parametrize("name", NAMES)
def test_a_wrong_matching_is_noticed(name: str) -> None:
    """Whatever the search says, two pins that are exchanged are no same wiring."""
    board = corpus(name)
    found = match(board, board)
    assert same_wiring(found)
    chips = [part for part in board.parts if part.device == "chip"]
    noticed = 0
    for part in chips:
        outputs = [pin for pin in part.pins if pin.kind.drives and pin.net is not None]
        inputs = [pin for pin in part.pins if pin.kind.reads and pin.net is not None]
        if outputs and inputs and not same_wiring(exchanged(found, outputs[0], inputs[0])):
            noticed += 1
    assert noticed == sum(
        any(p.kind.drives and p.net is not None for p in part.pins)
        and any(p.kind.reads and p.net is not None for p in part.pins)
        for part in chips
    )


def exchanged(found: Matching, one: Pin, two: Pin) -> Matching:
    pins = dict(found.pins)
    pins[one.label], pins[two.label] = pins[two.label], pins[one.label]
    return replace_pins(found, pins)


def replace_pins(found: Matching, pins: dict[str, str]) -> Matching:
    return Matching(
        old=found.old,
        new=found.new,
        parts=found.parts,
        pins=pins,
        nets=found.nets,
        gates=(),
        moved=(),
        anew=frozenset(),
    )


def part_exchanged(netlist: Netlist, name: str, other: Part) -> Netlist:
    parts = tuple(replace(other, name=name) if p.name == name else p for p in netlist.parts)
    return replace(netlist, parts=parts)


CHANGES = {
    "parts": (
        {"U1: 74LS00": "U1: 74HC00"},
        ["U1: HC in place of LS (74HC00)"],
    ),
    "value": ({"value: 10k": "value: 4.7k"}, ["R1: 4.7 kohm in place of 10 kohm"]),
    "joined": (
        {"one: [U1.1, R1.2]\n  two: [U1.2, U1.4]": "one: [U1.1, R1.2, U1.2, U1.4]"},
        ["one and two are joined"],
    ),
    "split": (
        {"out: [U1.3, U1.5, U1.9, U1.10]": "out: [U1.3, U1.5]\n  apart: [U1.9, U1.10]"},
        ["out is split: U1.9, U1.10 are apart now"],
    ),
    "moved": (
        {"two: [U1.2, U1.4]": "two: [U1.2]", "out: [U1.3,": "out: [U1.4, U1.3,"},
        ["U1.2 (B1) is off two, on nothing", "U1.4 (A2) moved from two to out"],
    ),
    "new": (
        {"U1: 74LS00": "U1: 74LS00\n  C1: {part: capacitor, value: 100n}", "VCC: [": "VCC: [C1.1, ",
         "GND: [": "GND: [C1.2, "},
        ["C1 (capacitor) is new, on VCC and GND"],
    ),
    "name taken": (
        {"two: [U1.2, U1.4]": "out: [U1.2, U1.4, U1.9]",
         "out: [U1.3, U1.5, U1.9, U1.10]": "early: [U1.3, U1.5, U1.10]"},
        ["U1.9 (A3) moved from out (now early) to out", "two is now out", "out is now early"],
    ),
}  # fmt: skip
BOARD = """\
board: small
parts:
  U1: 74LS00
  R1: {part: resistor, value: 10k}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, U1.12, U1.13]
  one: [U1.1, R1.2]
  two: [U1.2, U1.4]
  out: [U1.3, U1.5, U1.9, U1.10]
"""


def test_a_formula_of_which_a_name_is_another_net_s_now() -> None:
    """The words are the same; what they speak of is not."""
    said = f"{BOARD}assert: {{low: never out}}\n"
    other = said.replace("two: [U1.2, U1.4]", "out: [U1.2, U1.4]").replace(
        "out: [U1.3, U1.5, U1.9, U1.10]", "early: [U1.3, U1.5, U1.9, U1.10]"
    )
    told = [change.text for change in said_changes(match(netlist_of(said), netlist_of(other)))]
    assert told == ["formula low says so of other nets: out of the old board is now early"]


@pytest.mark.parametrize("name", CHANGES)
def test_what_is_told(name: str) -> None:
    swaps, told = CHANGES[name]
    text = BOARD
    for before, after in swaps.items():
        assert before in text
        text = text.replace(before, after)
    found = match(netlist_of(BOARD), netlist_of(text))
    assert [change.text for change in changes_of(found)] == told
    assert not same_wiring(found)


@pytest.mark.parametrize("seed", range(8))
def test_random_boards_drawn_anew(seed: int) -> None:
    """Boards with loops, buses, timers, switches and diodes; see `tests.long` for more."""
    random = Random(seed)
    old = netlist_of(build(random))
    made = permuted(old, random)
    found = match(old, made.netlist)
    assert same_wiring(found)
    assert nets_by_pins(old, dict(found.pins)) == nets_by_pins(made.netlist, {})


CHIP = """\
# {comment}
part: "9155"
title: Two-phase ring
does: phase generator
package: DIP-14
families: [HC]
source: no chip at all, made for this test
pins:
  1: CLK in clock
  2: P0 out
  3: P1 out
  4: NC nc
  5: NC nc
  6: NC nc
  7: GND ground
  8: NC nc
  9: NC nc
  10: NC nc
  11: NC nc
  12: NC nc
  13: NC nc
  14: VCC supply
logic:
  P0: "R"
  P1: "{second}"
storage:
  R: {{clock: rose(CLK), next: "!R"}}
rows:
  - from: no chip at all, made for this test
    columns: CLK | P0
    start: {{R: 0}}
    table:
      - "^ | H"
"""


def test_a_copy_of_a_part_file_is_the_same_part(tmp_path: Path) -> None:
    """Only what it says counts, not where it stands."""
    boards: list[Netlist] = []
    for place, (comment, second) in enumerate((("old", "!R"), ("new", "!R"), ("new", "!(R & R)"))):
        folder = tmp_path / str(place)
        folder.mkdir()
        (folder / "9155.yaml").write_text(CHIP.format(comment=comment, second=second), "utf-8")
        (folder / "board.yaml").write_text(
            "board: ring\ncatalogue: .\nparts: {U1: 74HC9155}\n"
            "nets: {VCC: [U1.14], GND: [U1.7], clk: [U1.1], p: [U1.2]}\n"
            "ports: {clk: in, p: out}\n",
            "utf-8",
        )
        boards.append(load_netlist(folder / "board.yaml"))
    old, copy, other = boards
    assert same_wiring(match(old, copy))
    assert not changes_of(match(old, copy))
    assert not same_wiring(match(old, other))
    (change,) = changes_of(match(old, other))
    assert change.text == "U1: the part file of the 74HC9155 says something else"
