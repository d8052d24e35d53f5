"""Conditions that are hoped to come true: whether they do in a short run; no runs are shown."""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.verify.prove.engine import Engine, Outcome, Property, undecided
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.together import possible

FAR = "longer runs were not looked at"


def hoped(
    engine: Engine, wanted: Sequence[Property], steps: int, seconds: float
) -> dict[str, Outcome]:
    """For each, by name: reached in a run of at most so many steps, never to be reached, or
    undecided."""
    deadline, left = Deadline(seconds), {one.name: one for one in wanted}
    outcomes: dict[str, Outcome] = {}
    looked = 0
    for depth in range(steps + 1):
        engine.reach(depth)
        moments = engine.frames.moments[: depth + 1]
        bad = {name: [one.bad(moment) for moment in moments] for name, one in left.items()}
        last = {name: literals[-1] for name, literals in bad.items()}
        begun, all_known = possible(engine.solver, [engine.frames.initial], last, deadline)
        for name in begun:
            del left[name]
            outcomes[name] = Outcome(
                verdict="reached", method="unrolling", steps=depth, seconds=0.0
            )
        if not all_known or not left:
            break
        looked = depth
        if depth:
            for name in _never(engine, {name: bad[name] for name in left}, deadline):
                del left[name]
                outcomes[name] = Outcome(
                    verdict="never", method="induction", steps=depth, seconds=0.0
                )
    because = FAR if looked == steps else engine.solver.reason
    return outcomes | {name: undecided(looked, because) for name in left}


def _never(engine: Engine, bad: dict[str, list[int]], deadline: Deadline) -> set[str]:
    """Those of what was not reached until now that induction proves never to be."""
    aig = engine.frames.aig
    step = {
        name: aig.and_([*(literal ^ 1 for literal in earlier), last])
        for name, (*earlier, last) in bad.items()
    }
    open_ones, all_known = possible(engine.solver, [], step, deadline)
    never = bad.keys() - open_ones
    if not all_known or not never:
        return set()
    at_first = aig.or_([literal for name in never for literal in bad[name]])
    later = aig.or_([step[name] for name in never])
    return set(never) if engine.confirmed(at_first, later, deadline.left) else set()
