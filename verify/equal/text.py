"""The text of an export against its board."""

from __future__ import annotations

from breadproof.export.amaranth_file import generate
from breadproof.export.named import names_in_text
from breadproof.export.verilog import CLOCK, module_name
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.contents import UnreadableContent
from breadproof.verify.equal.period import equal_period
from breadproof.verify.equal.proof import Equality, Tell, equal_circuit
from breadproof.verify.equal.readback import Unreadable, read_back
from breadproof.verify.equal.yosys import Language, ReadingFailed
from breadproof.verify.prove.solver import Deadline


def equal_text(
    machine: Machine,
    text: str,
    seconds: float,
    language: Language = "verilog",
    tell: Tell = lambda text: None,
    board_clock: str = "",
) -> Equality:
    """Whether an export of the board, read back, does what the board does; ``board_clock``: of a
    synchronous one the control that is its clock.

    A text that cannot be read, or not in time, is "undecided".

    Raises:
        NoReader: no yosys that reads Verilog is installed.
        SolversDisagree: two solvers disagree; no verdict is given.
    """
    deadline, netlist = Deadline(seconds), machine.netlist
    tell("reading the hardware back")
    generated = generate(netlist, clock=board_clock)
    names = names_in_text(netlist, generated)
    clock = f"{CLOCK}_clk"
    try:
        circuit = read_back(text, module_name(netlist), clock, deadline.left, language)
    except (ReadingFailed, UnreadableContent, Unreadable) as error:
        return Equality(verdict="undecided", because=str(error))
    if board_clock:
        lowered = generated.lowered
        return equal_period(machine, lowered, circuit, names, board_clock, deadline.left, tell)
    return equal_circuit(machine, generated.lowered, circuit, names, deadline.left, tell)
