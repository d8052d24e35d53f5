"""Whether two boards behave alike, from their rounds to a difference that is confirmed.

Both begin with the same at their first quiet moment, or, where one board can be quiet with what the
other cannot, with the same when power comes on: what they hold at the first quiet moment may differ
then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.resting import Cones
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.revisions.alike import REST_SECONDS, Answered, Comparison
from breadproof.verify.revisions.cause import Parting, parting
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.items import Item, nets_of
from breadproof.verify.revisions.later import (
    Latency,
    Later,
    Shown,
    comes,
    later,
    shown,
    without_rows,
)
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.start import Rounds, Start, moves
from breadproof.verify.revisions.twin import covered, power_up_rounds
from breadproof.verify.revisions.walked import Walked, confirm, walk

NOTHING = "there is nothing to compare: no lamp, port, memory or net that both have"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What is compared, and how; see `alike.Comparison`."""

    matching: Matching
    machines: tuple[Machine, Machine]
    links: Links
    items: tuple[Item, ...]
    changes: tuple[Change, ...]
    start: Start
    when: tuple[int, int] | None
    seconds: float
    progress: Callable[[str], None] = lambda text: None
    latency: Latency | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """``because`` tells why there is no answer; the rest goes with a difference. Where the new
    board is to be later, ``shown`` are the two moments that are not alike."""

    answered: Answered | None = None
    because: str = ""
    parting: Parting | None = None
    runs: tuple[Walked, Walked] | None = None
    shown: Shown | None = None


def behaviour(task: Task) -> Found:
    """The answer.

    Raises:
        TraceMismatch: a difference that was found does not show (our error).
    """
    if not task.items:
        return Found(because=NOTHING)
    task.progress("do the boards get quiet?")
    step = 0
    late = None
    if task.latency is not None:
        late = later(task.machines[0], task.latency, task.items, task.matching.nets)
        task = replace(task, machines=(late.machine, task.machines[1]))
    for which, machine in zip(("old", "new"), task.machines, strict=True):
        quiet = find_rounds(machine, Deadline(task.seconds))
        if quiet.verdict != "holds":
            return Found(because=f"the {which} board is not proved to get quiet: {quiet.because}")
        step = max(step, quiet.rounds)
    if late is not None:
        return _later(task, late, step)
    answered = _compared(task, Rounds(step, 0))
    if not _all_begin_alike(task):
        power_up = [power_up_rounds(machine, Deadline(task.seconds)) for machine in task.machines]
        if not all(power_up):
            return Found(because="a board is not proved to get quiet when power comes on")
        answered = _from_power_on(task, answered, Rounds(step, max(power_up)))
    if answered.difference is None:
        return Found(answered=answered)
    runs = confirm(answered.difference, *task.machines, task.links, task.items, task.start)
    _replayed(task, answered)
    since = len(list(moves(task.machines[0]))) if task.start == "reset" else 0
    seen = [item for item in task.items if item.name in answered.difference.items]
    where = parting(task.matching, runs, task.changes, task.links, since, seen)
    return Found(answered=answered, parting=where, runs=runs)


def _later(task: Task, late: Later, step: int) -> Found:
    """The answer where the new board is to be later: it has storage of its own, so that runs begin
    when power comes on, or after the reset."""
    rounds = Rounds(step, 0)
    if task.start == "power-up":
        power_up = [power_up_rounds(machine, Deadline(task.seconds)) for machine in task.machines]
        if not all(power_up):
            return Found(because="a board is not proved to get quiet when power comes on")
        rounds = Rounds(step, max(power_up))
    answered = Comparison(
        *task.machines, task.links, rounds, late.items, (*nets_of(task.matching), *late.helpers),
        task.start, task.seconds, task.progress, task.when, late.told, late.controls,
        comes=comes(late, task.start),
    ).answer()  # fmt: skip
    found = answered.difference
    if found is None:
        return Found(answered=answered)
    _, new = confirm(found, *task.machines, task.links, late.items, task.start)
    answered.difference = replace(found, old=without_rows(found.old, late.old))
    old = walk(late.old, answered.difference.old)
    pairs = zip(task.items, late.items, strict=True)
    seen = [shown(late, a, old, new) for a, b in pairs if b.name in found.items]
    _replayed(replace(task, machines=(late.old, task.machines[1])), answered)
    return Found(answered=answered, runs=(old, new), shown=seen[0])


def _from_power_on(task: Task, quiet: Answered, rounds: Rounds) -> Answered:
    """What is left of an answer about runs from first quiet moments that are alike, where not all
    runs begin with such: a difference that people see, and no proof. The rest is asked anew."""
    seen = {item.name for item in task.items if item.outside}
    difference = quiet.difference
    if difference is None or (seen and seen.isdisjoint(difference.items)):
        return _compared(task, rounds)
    proved = _compared(replace(task, seconds=min(task.seconds, REST_SECONDS)), rounds, search=False)
    for name in difference.items:
        proved.fates[name] = "differs"
    proved.difference = difference
    return proved


def _all_begin_alike(task: Task) -> bool:
    return task.start == "reset" or covered(*task.machines, task.links, Deadline(task.seconds))


def _compared(task: Task, rounds: Rounds, *, search: bool = True) -> Answered:
    asked = {(item.old, item.new) for item in task.items}
    helpers = [one for one in nets_of(task.matching) if (one.old, one.new) not in asked]
    comparison = Comparison(
        *task.machines, task.links, rounds, task.items, tuple(helpers), task.start, task.seconds,
        task.progress, task.when,
    )  # fmt: skip
    return comparison.answer(search=search)


def _replayed(task: Task, answered: Answered) -> None:
    """Replay both runs through the Amaranth modules of their boards."""
    found = answered.difference
    assert found is not None, "there are runs to replay"
    for which, machine, trace in zip(
        ("old", "new"), task.machines, (found.old, found.new), strict=True
    ):
        task.progress(f"replaying the run on the {which} board")
        replayed(machine, trace, f"the {which} board")


def replayed(machine: Machine, trace: Trace, which: str) -> None:
    """Replay a run through the Amaranth modules of its board.

    Raises:
        TraceMismatch: it goes otherwise there.
    """
    # Amaranth is slow to import, and rarely needed.
    from breadproof.export.replay import replay

    answer = replay(machine.netlist, trace)
    if not answer.agrees:
        first = "; ".join(answer.differences[:3])
        raise TraceMismatch(f"the run of {which} replays differently: {first}")


def rests_on(
    machine: Machine, items: Sequence[Item], side: int, clock: str = "", when: int | None = None
) -> tuple[str, ...]:
    """The glitch, race and float checks of the pins below what is compared on one board, below the
    node of the formula ``when`` that holds then, and of those on the net ``clock`` by which its
    rises are counted."""
    checks = standing_checks(machine)
    cones = Cones(machine, checks)
    roots: list[int] = [] if when is None else [when]
    numbers: set[int] = set()
    for item in items:
        what = (item.old, item.new)[side]
        if item.kind == "lamp":
            roots.append(machine.lamps[str(what[0])])
        elif item.kind == "memory":
            unit = machine.memories[int(what[0])]
            roots += [unit.write, *unit.address, *unit.data]
            strobes = cones.strobes_of_memory.get(int(what[0]), [])
            numbers |= set(strobes)
        else:
            for net in what:
                level = machine.nets[int(net)]
                roots += [level.level, level.known, level.driven]
    labels = {pin.label for n in machine.netlist.nets if n.name == clock for pin in n.pins}
    numbers |= {k for k, strobe in enumerate(machine.strobes) if labels & set(strobe.pins)}
    names = [check.name for check in checks if numbers & set(check.strobes)]
    return tuple(dict.fromkeys([*names, *cones.resting(roots).checks]))
