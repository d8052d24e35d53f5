"""Whether fights are proved impossible, for whoever exports a board."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.engine import Engine
from breadproof.verify.prove.properties import check_property
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline


@dataclass(frozen=True, slots=True, kw_only=True)
class FightAnswer:
    """Nets and vectors on which several could drive: never at once, possibly, or not settled."""

    proved: tuple[str, ...]
    possible: tuple[str, ...]
    undecided: tuple[str, ...]


def fights_proved(machine: Machine, seconds: float) -> FightAnswer:
    """What is known of each net that several could drive; ``seconds`` is the limit of each."""
    names = [c.name for c in standing_checks(machine) if c.kind == "fights"]
    nets = {name: name.removeprefix("fights:") for name in names}
    if not names:
        return FightAnswer(proved=(), possible=(), undecided=())
    quiet = find_rounds(machine, Deadline(seconds))
    assumptions = check_assumptions(machine, Deadline(seconds))
    if quiet.verdict != "holds" or assumptions.verdict != "holds":
        return FightAnswer(proved=(), possible=(), undecided=tuple(nets.values()))
    engine = Engine(machine, quiet.rounds, seconds)
    outcomes = engine.settle([check_property(name) for name in names])

    def having(verdict: str) -> tuple[str, ...]:
        return tuple(nets[name] for name in names if outcomes[name].verdict == verdict)

    return FightAnswer(
        proved=having("never"), possible=having("reached"), undecided=having("undecided")
    )
