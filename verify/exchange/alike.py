"""Whether storage is known after the declared reset, as questions about two runs.

Both begin at any quiet moments at which the controls stand alike, and the reset's controls move in
both alike, each step of each run being one of the relation of all other questions. That storage is
known is "unsat": no two such runs end in different levels. That it is not is "sat": two runs from
power-up do. Moments of the second run are numbered on from those of the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.closing import Closing, Question, asserted
from breadproof.verify.exchange.confirming import Confirmer, EvidenceMismatch, Unconfirmed
from breadproof.verify.exchange.part import part_of
from breadproof.verify.exchange.smtlib import quoted
from breadproof.verify.prove.cubes import bit_name
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.reset import Unit, called, moves
from breadproof.verify.prove.system import System

Start = Literal["any", "after a step", "power-up"]
STARTS: dict[Start, str] = {
    "any": "from any two quiet moments",
    "after a step": "from any two quiet moments that a step leads to",
    "power-up": "from any two first moments",
}


def known_questions(
    machine: Machine, system: System, units: Sequence[Unit], confirmer: Confirmer
) -> list[Question]:
    """The questions that show that all these are known after the reset.

    Raises:
        EvidenceMismatch: they are not.
        Unconfirmed: that is not found out in time.
    """
    work = TwoRuns(machine, system, units)
    if not work.path:
        starts: tuple[Start, ...] = ("power-up",)
    elif confirmer.closes(work.alike("any")):
        starts = ("any",)
    else:
        # assumptions look at the step that leads to a moment, which "any" knows nothing of
        starts = ("after a step", "power-up")
    found = [confirmer.demand(work.alike(start)) for start in starts]
    return [*found, confirmer.demand(work.two_runs(starts[-1]))]


def unknown_question(
    machine: Machine, system: System, unit: Unit, names: Sequence[str], confirmer: Confirmer
) -> Question:
    """That some of these bits of a unit are not known; raises as `known_questions` does."""
    bits = tuple((name, leaf) for name, leaf in unit.bits if name in names)
    if not bits:
        raise EvidenceMismatch(f"no bit of {unit.name} is named")
    work = TwoRuns(machine, system, [replace(unit, bits=bits)])
    return confirmer.demand(work.differ())


@dataclass(frozen=True, slots=True)
class _Run:
    """The moments of one of the two: the first that counts, and the last."""

    start: int
    end: int


class TwoRuns(Closing):
    """The questions about some units of storage."""

    def __init__(self, machine: Machine, system: System, units: Sequence[Unit]) -> None:
        if getattr(machine.netlist, "bounces", ()):
            raise Unconfirmed("contacts that bounce are not told of in its questions")
        self.machine = machine
        graph = machine.graph
        self.path = [(bit_name(graph, leaf), level) for leaf, level in moves(machine)]
        self.bits = [bit_name(graph, leaf) for unit in units for _, leaf in unit.bits]
        leaves = [leaf for control in machine.controls.values() for leaf in control]
        self.controls = [bit_name(graph, leaf) for leaf in leaves]
        literals = {name: system.names[name][0] for name in self.bits}
        roots = [*literals.values(), *(system.names[name][0] for name in self.controls)]
        super().__init__(part_of(system, (), (), roots), Proof(kind="step"))
        for name, literal in literals.items():
            self.more[shows(name)] = partial(self.work.predicate, shows(name), [literal])

    # runs -------------------------------------------------------------------------------------

    def run(self, base: int, start: Start) -> tuple[_Run, list[str]]:
        """One run whose moments are numbered from ``base``."""
        lead = int(start == "after a step")
        end = base + lead + len(self.path)
        lines = self.work.declared(self.state(base))
        where = self.work.applied("init", self.state(base))
        lines.append(asserted(where if start == "power-up" else self.here(base)))
        for k in range(base + 1, end + 1):
            lines += self.work.declared([*self.inputs(k), *self.state(k)])
            step = self.work.applied("next", self.state(k - 1), self.inputs(k), self.state(k))
            lines += [asserted(step), asserted(self.allowed(k))]
        for number, (moved, level) in enumerate(self.path):
            lines += self.moved(base + lead + number, moved, level)
        return _Run(base + lead, end), lines

    def moved(self, k: int, moved: str, level: int | None) -> list[str]:
        """How the controls stand after moment ``k``: as they did, but for one."""
        found = []
        for name in self.controls:
            before, after = (quoted(f"{name}@{one}") for one in (k, k + 1))
            if name != moved:
                found.append(asserted(f"(= {after} {before})"))
            elif level is None:
                found.append(asserted(f"(= {after} (not {before}))"))
            else:
                found.append(asserted(after if level else f"(not {after})"))
        return found

    def both(self, start: Start) -> tuple[_Run, _Run, list[str]]:
        """Two runs in which the controls stand alike."""
        one, lines = self.run(0, start)
        two, more = self.run(one.end + 1, start)
        alike = [
            asserted(f"(= {quoted(f'{name}@{one.start}')} {quoted(f'{name}@{two.start}')})")
            for name in self.controls
        ]
        return one, two, [*lines, *more, *alike]

    # questions --------------------------------------------------------------------------------

    def unlike(self, one: _Run, two: _Run) -> str:
        """That the runs end in different levels of some bit."""
        work = self.work
        pairs = (
            (work.applied(shows(name), self.state(run.end)) for run in (one, two))
            for name in self.bits
        )
        return f"(or false {' '.join(f'(xor {a} {b})' for a, b in pairs)})"

    def after(self) -> str:
        """What comes before the runs are compared."""
        return f"after {called(self.machine)}" if self.path else "at the first moment"

    def alike(self, start: Start) -> Question:
        """Two runs that end differently."""
        one, two, lines = self.both(start)
        what = {"any": "alike", "after a step": "alike", "power-up": "alike-first"}[start]
        return Question(
            what=what,
            claim=f"{STARTS[start]} two runs whose controls stand alike show the same levels "
            f"{self.after()}",
            answer="unsat",
            script=self.asked("unsat", [*lines, asserted(self.unlike(one, two))]),
        )

    def two_runs(self, start: Start) -> Question:
        """That there are two such runs at all."""
        return Question(
            what="alike-guard",
            claim=f"{STARTS[start]} there are two runs whose controls stand alike",
            answer="sat",
            script=self.asked("sat", self.both(start)[2]),
        )

    def differ(self) -> Question:
        """Two runs from power-up that end differently."""
        one, two, lines = self.both("power-up")
        return Question(
            what="differ",
            claim=f"two runs from power-up whose controls stand alike differ {self.after()}",
            answer="sat",
            script=self.asked("sat", [*lines, asserted(self.unlike(one, two))]),
        )


def shows(name: str) -> str:
    """The function that tells the level of a bit of storage."""
    return f"shows {name}"
