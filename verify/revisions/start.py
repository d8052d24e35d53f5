"""Where a comparison begins: at power-up, with the same content on both boards, or after the reset.

After the reset both boards may have held anything before, each its own; only memories held the
same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.twin import Twin, without

Start = Literal["power-up", "reset"]


@dataclass(frozen=True, slots=True)
class Rounds:
    """How many rounds are enough for a step, and for power-up, on both boards; 0 for power-up if
    both may begin with the same at their first quiet moment (`twin.covered`)."""

    step: int
    power_up: int


@dataclass(frozen=True, slots=True)
class Held:
    """A control that the reset holds, and its level meanwhile."""

    name: str
    level: bool


def held(machine: Machine) -> tuple[Held, ...]:
    """What is pressed or pulled for the declared reset, in order."""
    return tuple(
        Held(name, how != "low")
        for how, name in machine.netlist.reset
        if how in ("press", "low", "high")
    )


def begin(
    old: Machine, new: Machine, links: Links, rounds: Rounds, start: Start
) -> tuple[Twin, int]:
    """Both boards, and after how many steps the comparison begins.

    For the reset its controls are pressed one after the other, then released in the same order, and
    nothing else moves.
    """
    if start == "power-up":
        return Twin(old, new, links, rounds.step, rounds.power_up), 0
    twin = Twin(old, new, without(links, ("store", "loop")), rounds.step)
    steps = 0
    for released in (False, True):
        for one in held(old):
            twin.step()
            steps += 1
            before, after = (moment.controls for moment in twin.old.moments[steps - 1 : steps + 1])
            moving = old.controls[one.name][0]
            for leaf, literal in after.items():
                if leaf == moving:
                    level = Aig.true if one.level != released else Aig.false
                    twin.old.constraints.append(literal if level else literal ^ 1)
                else:
                    twin.old.constraints.append(twin.aig.xor(literal, before[leaf]) ^ 1)
    return twin, steps
