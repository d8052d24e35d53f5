"""Where a comparison begins: at power-up, with the same content on both boards, or after the reset.

After the reset both boards may have held anything before, each its own; only memories held the
same, and parts that the reset leaves alone (``keeps``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove import reset
from breadproof.verify.report.words import count, listed
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.twin import Twin

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

    For the reset the old board moves as it declares (`reset.moves`), and nothing else does, but for
    a change of each of ``beats`` while it is held: controls of one bit.
    """
    if start == "power-up":
        return Twin(old, new, links, rounds.step, rounds.power_up), 0
    twin = Twin(old, new, begun_alike(old, new, links, start), rounds.step)
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


def begun_alike(old: Machine, new: Machine, links: Links, start: Start) -> Links:
    """What the boards share when a run begins: of storage all, or what the reset leaves alone."""
    if start == "power-up":
        return links
    one, two = (reset.kept_leaves(machine) for machine in (old, new))
    kept = {
        kind: {b: a for b, a in links.of(kind).items() if a in one and b in two}
        for kind in ("store", "loop")
    }
    return replace(links, leaves={**links.leaves, **kept})


def moves(old: Machine, beats: tuple[str, ...] = ()) -> Iterator[tuple[str, bool | None]]:
    """What moves for the reset, and the level that it gets; None: the other one."""
    names = {leaves[0]: name for name, leaves in old.controls.items()}
    for leaf, level in reset.moves(old, [old.controls[name][0] for name in beats]):
        yield names[leaf], None if level is None else bool(level)


def declared(machine: Machine) -> tuple[tuple[tuple[str, bool], ...], Counter[str]]:
    """What is held for the reset, each with its level, and how often what changes meanwhile;
    capacitors do as they are wired."""
    slow = {control.name for control in machine.netlist.controls if control.kind == "moment"}
    changing = Counter(name for name, level in moves(machine) if level is None)
    return (
        tuple((one.name, one.level) for one in held(machine)),
        Counter({name: times for name, times in changing.items() if name not in slow}),
    )


def reset_words(old: Machine, beats: tuple[str, ...] = ()) -> str:
    """How runs begin after the reset, as a builder says it: what is held, what changes meanwhile,
    that it is let go, and what was stored before."""
    words = [f"{one.name} {'held' if one.level else 'held low'}" for one in held(old)]
    slow = {control.name for control in old.netlist.controls if control.kind == "moment"}
    changing = Counter(name for name, level in moves(old, beats) if level is None)
    beaten = [
        f", {name} changing {count(times, 'time')}"
        for name, times in changing.items()
        if name not in slow
    ]
    settled = ", capacitors charging" if slow & set(changing) else ""
    keeps = [name for how, name in old.netlist.reset if how == "keeps"]
    same = f", but in {listed(keeps)} the same" if keeps else ""
    done = f"after {listed(words)}{''.join(beaten)}{settled}, and released"
    return f"{done}; anything was stored before{same}"
