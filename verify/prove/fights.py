"""Whether fights are proved impossible, for whoever exports a board."""

from __future__ import annotations

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.engine import Engine
from breadproof.verify.prove.prover import check_property
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline


def fights_proved(machine: Machine, seconds: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Nets and vectors on which two could drive: (proved never to fight, not proved)."""
    names = [c.name for c in standing_checks(machine) if c.kind == "fights"]
    nets = [name.removeprefix("fights:") for name in names]
    if not names:
        return (), ()
    quiet = find_rounds(machine, Deadline(seconds))
    if quiet.verdict != "holds":
        return (), tuple(nets)
    engine = Engine(machine, quiet.rounds, seconds)
    outcomes = engine.settle([check_property(name) for name in names])
    proved = [
        net for net, name in zip(nets, names, strict=True) if outcomes[name].verdict == "never"
    ]
    return tuple(proved), tuple(net for net in nets if net not in proved)
