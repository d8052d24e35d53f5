"""Answers of a board with their keys, for the tests of what is kept."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.keys import Keys
from breadproof.verify.prove.properties import claimed
from breadproof.verify.prove.prover import Prover
from tests.prove.boards import GATES, Sketch
from tests.prove.test_brute import load


@dataclass(frozen=True, slots=True)
class Told:
    """What was found out about one property: its key, and verdict with the length of the run."""

    name: str
    key: str
    answer: tuple[str, int]


def answers(machine: Machine) -> list[Told]:
    """What is found out of a board without any store; undecided ones left out."""
    prover = Prover(machine, seconds=10)
    prover.run()
    known = prover.known
    keys = Keys(machine)
    if known.quiet is None or known.quiet.verdict != "holds":
        return []
    told = [Told("quiet", keys.quiet.text, ("holds", known.quiet.rounds))]
    keys.rounds = known.quiet.rounds
    every = {check.name: keys.check(check) for check in standing_checks(machine)}
    every |= {formula.formula.name: keys.formula(formula) for formula in claimed(machine)}
    for name, key in every.items():
        outcome = known.outcomes[name]
        if outcome.verdict != "undecided":
            steps = outcome.steps if outcome.verdict == "reached" else -1
            told.append(Told(name, key.text, (outcome.verdict, steps)))
    if known.lively:
        verdicts = "".join(f"{one.name} {one.verdict}\n" for one in known.lively.values())
        if "undecided" not in verdicts:
            told.append(Told("lively", keys.lively.text, (verdicts, 0)))
    return told


def changed(made: Sketch, more: str, dice: Random) -> tuple[Sketch, str] | None:
    """One random change of a board: another gate, a pin on another net, two nets swapped at a pin,
    a formula's operator, an assumption less; None if it has nothing of the kind."""
    new = Sketch(made.folder, dict(made.parts), {}, dict(made.ports), dict(made.types))
    new.nets = {net: list(pins) for net, pins in made.nets.items()}
    new.open = set(made.open)
    kind = dice.randrange(4)
    if kind == 0:
        gates = [name for name, part in new.parts.items() if part.removeprefix("74HC") in GATES]
        if not gates:
            return None
        new.chip(dice.choice(gates), dice.choice([g for g in GATES if g != "14"]))
    elif kind in (1, 2):
        reading = [
            (net, pin)
            for net, pins in new.nets.items()
            for pin in pins
            if pin.partition(".")[0] in new.types and _reads(new, pin)
        ]
        net, pin = dice.choice(reading)
        other = dice.choice([name for name in new.nets if name != net])
        if len(new.nets[net]) < 2:
            return None
        new.nets[net].remove(pin)
        new.nets[other].append(pin)
    elif "assume:" in more:
        more = more[: more.index("assume:")]
    return new, more


def _reads(made: Sketch, pin: str) -> bool:
    part, _, name = pin.partition(".")
    return any(one.name == name and one.kind.reads for one in made.types[part].pins)


def loaded(made: Sketch, more: str) -> Machine | None:
    """The machine of a board; None if it is no board any more."""
    try:
        return load(made, more)
    except BadInput:
        return None
