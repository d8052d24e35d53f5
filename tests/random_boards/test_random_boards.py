"""Random boards: the Machine and independent witnesses agree on every net, round by round.

What they are held against is design.md, section 4, written down a second time in
tests/support/second_evaluator.py with nothing taken from the Machine.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from random import Random

import pytest

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import ChipSwitch, Net
from tests.random_boards.boards import CLOCKED, build, stimuli
from tests.random_boards.icarus import check_one
from tests.random_boards.running import STEPS, machine_of, run_many, run_one
from tests.support.follower import follow
from tests.support.witnesses import (
    AmaranthWitness,
    Disagreement,
    Moment,
    SecondWitness,
    Seen,
    Start,
    Witness,
    compare,
)


def others(machine: Machine, start: Start) -> Sequence[Witness]:
    return [SecondWitness(machine.netlist, start), AmaranthWitness(machine.netlist, start)]


def test_witnesses_agree_on_twenty_boards() -> None:
    """A sample; a thousand in tests/long."""
    count = run_many(20, others)
    assert count["boards"] >= 20
    run_one(build(Random(18), joins=100), 18, others, count)  # one that writes its memory
    # The draw must not be idle: most boards run to the end, and much happens on them.
    assert count["whole runs"] >= 0.6 * count["boards"]
    assert count["chips"] >= 4 * count["boards"]
    assert count["steps of several rounds"] >= count["boards"]
    assert count["writes"] > 0


def follow_boards(first: int, last: int) -> Counter[str]:
    """Random boards of these seeds, the second evaluator leading."""
    count: Counter[str] = Counter()
    for seed in range(first, last):
        machine = machine_of(build(Random(seed)))
        follow(machine, stimuli(machine, Random(seed), STEPS), count)
    return count


def test_no_run_of_a_random_board_is_left_out() -> None:
    """A sample; more in tests/long. Where too much moves at once for the narrowest reading of what
    is unknown, the run ends early."""
    count = follow_boards(0, 8)
    assert count["whole runs"] >= 2
    assert count["steps"] >= 80


@pytest.mark.parametrize("seed", range(6))
def test_every_random_board_has_what_it_is_meant_to_have(seed: int) -> None:
    netlist = machine_of(build(Random(seed))).netlist
    chips = [part for part in netlist.parts if part.device == "chip"]
    assert len(chips) >= 4
    assert sum(part.type.number in CLOCKED for part in chips) >= 2
    gated = netlist.net("gated")
    assert gated is not None
    assert "clock" in {pin.role.value for pin in gated.pins if pin.kind.reads}
    bus = netlist.net("bus0")
    assert bus is not None
    assert sum(pin.kind.drives for pin in bus.pins) >= 2
    assert netlist.net("q") is not None  # the loop of gates


@pytest.mark.parametrize("part", range(3))
def test_witnesses_agree_on_boards_with_switches_and_diodes(part: int) -> None:
    """Every board has a chip of analogue switches and diodes, at any nets."""
    count: Counter[str] = Counter()
    for seed in range(4 * part, 4 * (part + 1)):
        text = build(Random(seed), joins=100)
        netlist = machine_of(text).netlist
        count["diodes"] += len(netlist.diodes)
        count["switches"] += sum(isinstance(c.closing, ChipSwitch) for c in netlist.contacts)
        run_one(text, seed, others, count)
    assert count["whole runs"] >= 2
    assert count["diodes"] >= 4
    assert count["switches"] >= 3


def test_icarus_sees_what_switches_and_diodes_pass(iverilog: str) -> None:
    count: Counter[str] = Counter()
    for seed in range(6):
        check_one(iverilog, build(Random(seed), joins=100), seed, count)
    assert count["whole runs"] >= 2


class Forger(SecondWitness):
    """A witness that lies about one thing in one step."""

    lie = ""

    def step(self, moment: Moment) -> Seen:
        seen = super().step(moment)
        last = seen.rounds[-1]
        match self.lie:
            case "net":
                last = replace(last, nets={**last.nets, "gated": 1 - last.nets["gated"]})
            case "storage":
                assert last.stored is not None
                name = min(last.stored)
                last = replace(last, stored={**last.stored, name: 1 - last.stored[name]})
            case "round":
                return replace(seen, rounds=(*seen.rounds, last))
            case "writes":
                return replace(seen, writes=("U99",))
            case "quiet":
                return replace(seen, quiet=False)
        return replace(seen, rounds=(*seen.rounds[:-1], last))


@pytest.mark.parametrize("lie", ["net", "storage", "round", "writes", "quiet"])
def test_a_single_lie_of_a_witness_is_noticed(lie: str) -> None:
    machine = machine_of(build(Random(1)))
    drawn = stimuli(machine, Random(1), STEPS)
    compare(machine, drawn, [SecondWitness(machine.netlist, drawn.start)])
    forger = Forger(machine.netlist, drawn.start)
    forger.lie = lie
    with pytest.raises(Disagreement):
        compare(machine, drawn, [forger])


@pytest.mark.parametrize("part", range(4))
def test_icarus_sees_what_the_second_evaluator_sees(iverilog: str, part: int) -> None:
    """A sample; a thousand in tests/long."""
    count: Counter[str] = Counter()
    for seed in range(15 * part, 15 * part + 6):
        check_one(iverilog, build(Random(seed)), seed, count)
    assert count["whole runs"] >= 3


@pytest.mark.parametrize("part", range(3))
def test_witnesses_agree_on_boards_with_wired_ands(part: int) -> None:
    """Every board has two chips with pins that are read and only pull low, on its bus."""
    count: Counter[str] = Counter()
    for seed in range(4 * part, 4 * (part + 1)):
        text = build(Random(seed), wired=True)
        nets = machine_of(text).netlist.nets
        count["pins"] += sum(pin.kind is PinKind.WIRED_AND for net in nets for pin in net.pins)
        count["meet"] += any(len(kinds) > 1 for kinds in map(_wired_or_driving, nets))
        run_one(text, seed, others, count)
    assert count["whole runs"] >= 1
    assert count["pins"] >= 4
    assert count["meet"] >= 2


def _wired_or_driving(net: Net) -> set[str]:
    """The parts that drive a net of wired-and pins."""
    wired = any(pin.kind is PinKind.WIRED_AND for pin in net.pins)
    return {pin.part for pin in net.pins if pin.kind.drives} if wired else set()


def test_icarus_sees_wired_ands(iverilog: str) -> None:
    count: Counter[str] = Counter()
    for seed in range(4):
        check_one(iverilog, build(Random(seed), wired=True), seed, count)
    assert count["whole runs"] >= 2
