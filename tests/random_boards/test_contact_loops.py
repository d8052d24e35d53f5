"""Rings of gates with resistors and contacts across them: what a contact may and may not change.

A contact between two nets of one level changes nothing, though it goes from open to closed:
"Levels" in design.md, section 4, settled for either state of the contact. So such a ring keeps its
level. And no run of a ring is left out, whatever contacts and resistors there are.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random

import pytest

from breadproof.specs.machine.walk import Walker
from tests.random_boards.boards import stimuli
from tests.random_boards.running import STEPS, machine_of
from tests.support.follower import Lost, follow
from tests.support.second_evaluator import SecondBoard

RING = """
board: ring
parts:
  U1: {gate}
  B: push-button
  R1: {{part: resistor, value: 10k}}
  {more}
nets:
  VCC: [U1.14]
  GND: [U1.7, U1.5, U1.9, U1.11, U1.13{ground}]
  first: [U1.1, R1.1, B.1{first}]
  second: [U1.2, U1.3]
  third: [U1.4, R1.2, B.2]
"""
CAPACITOR = {"more": "C1: {part: capacitor, value: 1u}", "ground": ", C1.2", "first": ", C1.1"}
BARE = {"more": "", "ground": "", "first": ""}


@pytest.mark.parametrize("level", [0, 1])
@pytest.mark.parametrize("more", [BARE, CAPACITOR], ids=["bare", "capacitor"])
@pytest.mark.parametrize("gate", ["74HC04", "74HC14"])
def test_a_button_across_a_resistor_changes_nothing(
    gate: str, more: dict[str, str], level: int
) -> None:
    """Two inverters keep either level, and the button only shorts what is alike anyway: whatever is
    chosen for the loop."""
    machine = machine_of(RING.format(gate=gate, **more))
    told = {"first": level, "second": 1 - level, "third": level}
    charge = {store.label: level for store in machine.stores}
    walker = Walker(
        machine,
        choice=lambda loop, cut: level if walker.before is None else 1 - level,
        storage=dict(charge),
    )
    second = SecondBoard(machine.netlist, {}, charge, {})
    every = {net.name: told.get(net.name, level) for net in machine.netlist.nets}
    start = second.power_up(lambda _: 0, lambda _: every)
    assert {name: start[-1].nets[name] for name in told} == told
    assert {name: walker.power_up().nets[name] for name in told} == told
    for pressed in (1, 0, 1, 0):
        now = walker.step({"B": (pressed,)})
        assert {name: now.nets[name] for name in told} == told
        rounds = second.step({"B": (pressed,)}, lambda _: 0, lambda _: None)
        assert {name: rounds[-1].nets[name] for name in told} == told
        assert not any(one.open_nets for one in rounds)


def contact_ring(random: Random) -> str:
    """Two or three gates in a ring, resistors and contacts between any of its nets and supplies."""
    size = random.randint(2, 3)
    nets: dict[str, list[str]] = {"VCC": ["U1.14"], "GND": ["U1.7"], "go": []}
    names = [f"n{k}" for k in range(2 * size)]
    nets |= {name: [] for name in names}
    gate = random.choice(["74HC04", "74LS04", "74HC14", "74LS05"])
    parts = [f"U1: {gate}"]
    ins, outs = (1, 3, 5, 9, 11, 13), (2, 4, 6, 8, 10, 12)
    for k in range(6):
        if k < size:
            nets[f"n{2 * k}"].append(f"U1.{ins[k]}")
            nets[f"n{2 * k + 1}"].append(f"U1.{outs[k]}")
        else:
            nets["GND"].append(f"U1.{ins[k]}")
    places = [*names, "VCC", "GND", "go"]
    for k in range(size):  # from each output to the next input: a wire, a resistor or a contact
        a, b = f"n{2 * k + 1}", f"n{2 * k + 2 if k < size - 1 else 0}"
        how = random.choice(["wire", "resistor", "resistor", "contact"])
        if how == "wire":
            nets[a] += nets.pop(b)
            places = [place for place in places if place != b]
            names = [name for name in names if name != b]
        else:
            _two(parts, nets, "resistor" if how == "resistor" else "push-button", a, b)
    for _ in range(random.randint(1, 3)):
        a, b = random.sample(places, 2)
        _two(parts, nets, "push-button", a, b)
    for _ in range(random.randint(0, 2)):
        a, b = random.sample([*names, "VCC", "GND"], 2)
        _two(parts, nets, "resistor", a, b)
    if random.randint(0, 1):
        common, one, other = random.sample(places, 3)
        parts.append("S: {part: spdt, positions: [UP, DOWN]}")
        for net, pin in ((one, 1), (common, 2), (other, 3)):
            nets[net].append(f"S.{pin}")
    if random.randint(0, 2) == 0:
        _two(parts, nets, "capacitor", random.choice(names), "GND")
    lines = ["board: ring", "parts:", *(f"  {part}" for part in parts), "nets:"]
    lines += [f"  {net}: [{', '.join(pins)}]" for net, pins in nets.items() if pins]
    ports = "ports: {go: in}" if nets["go"] else ""
    return "\n".join([*lines, ports, ""])


def _two(parts: list[str], nets: dict[str, list[str]], kind: str, a: str, b: str) -> None:
    name = f"P{len(parts)}"
    value = {"resistor": ", value: 4.7k", "capacitor": ", value: 1u"}.get(kind, "")
    parts.append(f"{name}: {{part: {kind}{value}}}")
    nets[a].append(f"{name}.1")
    nets[b].append(f"{name}.2")


def follow_rings(first: int, last: int) -> Counter[str]:
    """The rings of these seeds, the second evaluator leading."""
    count: Counter[str] = Counter()
    for seed in range(first, last):
        machine = machine_of(contact_ring(Random(seed)))
        follow(machine, stimuli(machine, Random(seed), STEPS), count)
    return count


def test_no_run_of_a_ring_is_left_out() -> None:
    """A sample; more in tests/long."""
    count = follow_rings(0, 60)
    assert count["whole runs"] >= 25
    assert count["open rounds"] >= 50


def test_what_is_left_out_is_noticed() -> None:
    """A Machine whose loops are always decided, one that keeps what a loop was at first."""
    lost = 0
    for seed in range(20):
        machine = machine_of(contact_ring(Random(seed)))
        loops = tuple(replace(loop, holds=False) for loop in machine.loops)
        try:
            follow(replace(machine, loops=loops), stimuli(machine, Random(seed), STEPS), Counter())
        except Lost:
            lost += 1
    assert lost >= 4
