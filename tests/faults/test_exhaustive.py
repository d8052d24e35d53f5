"""Every fault of a small board against all of its levels, by the second evaluator.

The board has no storage, so what it does is a table; nobody needs a proof for that. Warnings do not
detect here, so that each fault that no error is made of goes through the proofs.
"""

from __future__ import annotations

from collections import Counter

from breadproof.verify.faults.judge import machine_of
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.wiring.registry import check_wiring
from tests.faults.support import REVISIONS, faults_of, inputs_of, judged, levels

LAMP = REVISIONS / "cue-lamp-nand.yaml"


def test_groups_are_those_of_the_whole_table() -> None:
    report = faults_of(LAMP, strict=True)
    sound = report.sound.netlist
    seen: Counter[str] = Counter()
    for fault, one in judged(report):
        by = one.detector
        if by is not None and by.means != "formula":
            continue
        faulty = fault.make()
        tables = [
            (inputs, levels(sound, inputs, free), levels(faulty, inputs, free))
            for inputs in inputs_of(sound)
            for free in (0, 1)
        ]
        differs = any(before["lamp"] != after["lamp"] for _, before, after in tables)
        # the only formula of the board: always (a && b -> lamp)
        broken = any(n["a"] and n["b"] and not n["lamp"] for _, _, n in tables)
        expected = "detected" if broken else "undetected" if differs else "redundant"
        assert one.group == expected, fault.name
        seen[expected] += 1
    assert min(seen[name] for name in ("detected", "undetected", "redundant")) >= 1


def test_a_run_that_differs_does_so_in_the_table() -> None:
    report = faults_of(LAMP, strict=True)
    for fault, one in judged(report):
        if one.apart is None or one.apart.runs is None:
            continue
        assert one.apart.steps == 0  # a table has no past
        shown = []
        for netlist, trace in zip(
            (report.sound.netlist, fault.make()), one.apart.runs, strict=True
        ):
            last = trace.steps[-1]
            inputs = {name: bits[0] for name, bits in last.controls.items()}
            shown.append(levels(netlist, inputs, last.free.get("lamp", 0))["lamp"])
        assert [str(level) for level in shown] == list(one.apart.items[0][1:])


def test_what_is_named_fails_in_verify() -> None:
    """That is what detected means: somebody who verifies the faulty board is told."""
    report = faults_of(LAMP, "moved", strict=True)
    looked = 0
    for fault, one in judged(report):
        if one.detector is None:
            continue
        faulty = fault.make()
        if one.detector.means == "rule":
            codes = {finding.code for finding in check_wiring(faulty) if finding.fails}
            assert one.detector.name in codes, fault.name
            continue
        machine, _ = machine_of(faulty)
        _, results = prove_board(machine, only=(one.detector.name,))
        assert [result.verdict for result in results] == ["fails"], fault.name
        looked += 1
    assert looked >= 3
