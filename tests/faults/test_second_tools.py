"""Groups that need a proof or a run, against programs that have no part in either."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from breadproof.export.verilog import module_name, verilog
from breadproof.specs.machine.trace import Trace, TraceStep
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judged import Judged
from breadproof.verify.faults.sound import for_comparison
from tests.faults.support import REVISIONS, faults_of, judged
from tests.support.equivalence import seen_wires_equal
from tests.support.second_evaluator import Levels, SecondBoard

STEPS, QUARTER = REVISIONS / "ten-steps-163.yaml", REVISIONS / "quarter-74.yaml"
SAMPLE = 2


def text_of(netlist: Netlist) -> str:
    return verilog(netlist, flat=True)


def test_redundant_wires_are_proved_so_by_yosys() -> None:
    """And those that are undetected, which differ, are not: yosys could tell."""
    report = faults_of(STEPS, "open")
    sound, top = text_of(report.sound.netlist), module_name(report.sound.netlist)
    dice = Random(74163)
    groups = {
        name: [fault for fault, one in judged(report) if one.group == name]
        for name in ("redundant", "undetected")
    }
    for name, faults in groups.items():
        assert len(faults) >= SAMPLE
        for fault in dice.sample(faults, SAMPLE):
            equal = seen_wires_equal(sound, text_of(fault.make()), top)
            assert equal == (name == "redundant"), fault.name


def told(step: TraceStep) -> tuple[Callable[[str], int], Callable[[int], Levels | None]]:
    """What nobody decides in a step: free levels, and the levels of loops by round."""
    return (
        lambda reader: step.free.get(reader, 0),
        lambda number: step.rounds[number].nets if number < len(step.rounds) else None,
    )


def played(netlist: Netlist, trace: Trace) -> dict[str, int]:
    """The nets at the end of a run, by the second evaluator, under the names of the file."""
    first, *steps = trace.steps
    memories = {label: dict(words) for label, words in trace.words.items()}
    moving = for_comparison(netlist).netlist
    full = {
        f"{part.name}.{unit.name}": [
            memories.get(f"{part.name}.{unit.name}", {}).get(n, 0) for n in range(unit.words)
        ]
        for part in moving.parts
        for unit in part.type.memories
        if unit.write is not None
    }
    board = SecondBoard(moving, first.controls, trace.storage, full)
    rounds = board.power_up(*told(first))
    for step in steps:
        rounds = board.step(step.controls, *told(step))
    found = rounds[-1].nets
    names = {alias: moving.nets[index].name for alias, index in moving.aliases}
    return dict(found) | {alias: found[name] for alias, name in names.items()}


def port(netlist: Netlist, nets: dict[str, int], name: str) -> list[int]:
    """The levels of an output port, most significant first."""
    found = next(one for one in netlist.ports if one.name == name)
    return [nets[netlist.nets[index].name] for index in found.nets]


def shows(sound: Netlist, fault: Fault, one: Judged) -> bool:
    """Whether the second evaluator sees the first item that is told to differ do so."""
    assert one.apart is not None
    assert one.apart.runs is not None
    faulty = fault.make()
    name = one.apart.items[0][0]
    ends = (played(sound, one.apart.runs[0]), played(faulty, one.apart.runs[1]))
    return port(sound, ends[0], name) != port(faulty, ends[1], name)


@pytest.mark.parametrize("board", [STEPS, QUARTER])
def test_undetected_faults_show_in_the_second_evaluator(board: Path) -> None:
    report = faults_of(board, "moved")
    found = [(fault, one) for fault, one in judged(report) if one.group == "undetected"]
    assert len(found) >= 4
    for fault, one in found:
        assert shows(report.sound.netlist, fault, one), fault.name
