"""Where a comparison begins: at power-up, with the same content on both boards, or after the reset.

After the reset both boards may have held anything before, each its own; only memories held the
same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Machine
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
    old: Machine,
    new: Machine,
    links: Links,
    rounds: Rounds,
    start: Start,
    beats: tuple[str, ...] = (),
) -> tuple[Twin, int]:
    """Both boards, and after how many steps the comparison begins.

    For the reset its controls are pressed one after the other, then released in the same order, and
    nothing else moves, but for a change of each of ``beats`` between: controls of one bit.
    """
    if start == "power-up":
        return Twin(old, new, links, rounds.step, rounds.power_up), 0
    twin = Twin(old, new, without(links, ("store", "loop")), rounds.step)
    steps = 0
    for name, wanted in moves(old, beats):
        twin.step()
        steps += 1
        before, after = (moment.controls for moment in twin.old.moments[steps - 1 : steps + 1])
        moving = old.controls[name][0]
        for leaf, literal in after.items():
            changed = twin.aig.xor(literal, before[leaf])
            if leaf != moving:
                twin.old.constraints.append(changed ^ 1)
            elif wanted is None:
                twin.old.constraints.append(changed)
            else:
                twin.old.constraints.append(literal if wanted else literal ^ 1)
    return twin, steps


def moves(old: Machine, beats: tuple[str, ...]) -> Iterator[tuple[str, bool | None]]:
    """What moves for the reset, and the level that it gets; None: the other one."""
    yield from ((one.name, one.level) for one in held(old))
    yield from ((name, None) for name in beats)
    yield from ((one.name, not one.level) for one in held(old))
