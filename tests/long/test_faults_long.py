"""All single wiring faults of light-store: some 1,500, about three minutes on two processors.

Each that its checks need not detect is listed in `tests/faults/light-store.yaml`, with the reason.
"""

from __future__ import annotations

from random import Random

from breadproof.export.verilog import module_name, verilog
from breadproof.limits import crew_of
from breadproof.verify.faults.counts import counted
from breadproof.verify.faults.run import Means, Wanted, find_faults
from tests.faults.support import BOARDS, REVISIONS, faults_of, judged, redundant
from tests.support.equivalence import seen_wires_equal

STORE = BOARDS / "light-store.yaml"
SMALL = ("chase", "ten-steps-163", "mode-gates", "sum-gates")
"""Boards without registers of which a bit is spare: yosys pairs registers by name, as whole words,
and such a bit may well differ."""


def test_light_store_has_no_fault_that_nothing_tells_of() -> None:
    with crew_of(2, None, None) as crew:
        report = find_faults(STORE, Wanted(), Means(seconds=60, crew=crew))
    counts = counted(report.judged)
    assert counts.groups["unclassified"] == 0
    assert counts.coverage is not None
    assert counts.coverage >= 0.95
    found = {fault.name for fault, one in judged(report) if one.group == "redundant"}
    assert found == redundant()
    assert counts.groups["undetected"] == 0


def test_redundant_wires_of_small_boards_are_proved_so_by_yosys() -> None:
    dice = Random(74)
    compared = 0
    for name in SMALL:
        report = faults_of(REVISIONS / f"{name}.yaml", "open")
        netlist = report.sound.netlist
        sound, top = verilog(netlist, flat=True), module_name(netlist)
        faults = [fault for fault, one in judged(report) if one.group == "redundant"]
        for fault in dice.sample(faults, min(4, len(faults))):
            faulty = verilog(fault.make(), flat=True)
            assert seen_wires_equal(sound, faulty, top), (name, fault.name)
            compared += 1
    assert compared >= 12
