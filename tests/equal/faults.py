"""One fault in exported Verilog, judged by the proof and by yosys's own equivalence commands."""

from breadproof.export.lowering.board import lower
from breadproof.export.verilog import module_name
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.text import equal_text
from tests.support.equivalence import all_wires_equal, outputs_equal_so_far, seen_wires_equal
from tests.support.mutants import Mutant

ROUNDS = 8


def judged(machine: Machine, text: str, mutant: Mutant) -> str:
    """The proof's verdict; fails where yosys contradicts it.

    A register that holds something else where it does not matter keeps yosys from closing its
    induction; then the outputs are compared for some rounds. And its induction says nothing of how
    a run begins: what differs in round 0 alone it may take for equal.
    """
    top = module_name(machine.netlist)
    found = equal_text(machine, mutant.text, 60)
    if found.verdict == "equal":
        ticks = lower(machine.netlist).cuts.ticks
        assert seen_wires_equal(text, mutant.text, top) or outputs_equal_so_far(
            text, mutant.text, top, ticks, ROUNDS
        ), mutant.fault
    else:
        begins = "in round 0" in found.because
        assert begins or not all_wires_equal(text, mutant.text, top), (mutant.fault, found.because)
    return found.verdict
