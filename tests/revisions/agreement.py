"""What compare says of two boards, against another model checker on both as one machine.

The two board files are joined into one board by the reader for several boards, whose formulas say
that the ports are the same; the obligation is exported as AIGER and proved or broken by ABC. The
comparison's own pairing, product and induction have no part in it.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from breadproof.specs.load import load_machine, load_netlist
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.system import board_system
from breadproof.verify.revisions.compare import Compared, Wanted, compare
from breadproof.verify.revisions.verdicts import Means
from tests.revisions.pairs import joined
from tests.support.abc_checker import broken


def different_ports(
    folder: Path, old: Path, new: Path, content: str, abc: str, when: str = ""
) -> set[str]:
    """The ports that ABC finds to differ in some run; all others are proved to be the same."""
    one, two = load_netlist(old), load_netlist(new)
    known = {control.name for control in two.controls}
    controls = [control.name for control in one.controls if control.name in known]
    shown = {port.name for port in two.ports}
    ports = [p.name for p in one.ports if p.direction == "out" and p.name in shown]
    machine = load_machine(joined(folder, old, new, controls, ports, content, when))
    quiet = find_rounds(machine, Deadline(60))
    assert quiet.verdict == "holds"
    made = circuit(board_system(machine, quiet.rounds).only(ports))
    names = [one.name for one in made.bad]
    file = folder / "joined.aig"
    file.write_bytes(aiger_binary(replace(flat(made), justice=(), fair=())))
    found = broken(abc, file, names, 60)
    assert found is not None, "ABC is out of time"
    return found


def compared(old: Path, new: Path, wanted: Wanted | None = None) -> Compared:
    """What compare says, on levels alone unless something else is wanted."""
    return compare(old, new, wanted or Wanted(proofs=False, outside=True), Means(seconds=60))


def agree(folder: Path, old: Path, new: Path, content: str, abc: str) -> bool:
    """Whether the two boards differ, both saying the same."""
    different = different_ports(folder, old, new, content, abc)
    answer = compared(old, new)
    if answer.answered is None:
        assert answer.behaviour == "same"
        assert not different
        return False
    fates = {n: f for n, f in answer.answered.fates.items() if n.isidentifier()}  # no memories
    found = answer.answered.difference
    if found is not None and (found.old.steps[0].writes or found.new.steps[0].writes):
        return bool(different)  # written while power came on: the joined board begins later
    if found is not None and not set(found.items) & set(fates):
        return bool(different)  # what is stored differs, and maybe no port ever shows it
    assert "undecided" not in fates.values() or different
    for name, fate in fates.items():
        assert fate != "same" or name not in different, name
        assert fate != "differs" or name in different, name
    assert bool(different) == ("differs" in fates.values())
    return bool(different)
