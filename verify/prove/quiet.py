"""How many rounds a step takes: found by trying, then proved (design.md section 4)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import MAX_CUT, Round
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.assumptions import allowed
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Deadline, Solver

MAX_ROUNDS = 24
"""More rounds than this in one step are not tried: the answer is then "undecided"."""


TANGLED = "a loop of gates is too tangled to be searched for a level at rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class QuietAnswer:
    """``rounds`` in which every step is over (the last one changing nothing), if ``holds``.

    ``fails`` comes with the frames, the model at hand, and ``moments``: the run whose last step, or
    whose power-up, does not get quiet.
    """

    verdict: Literal["holds", "fails", "undecided"]
    rounds: int
    because: str
    frames: Frames | None = None
    solver: Solver | None = None
    moments: tuple[Moment, ...] = ()
    question: str = ""
    power_up_question: str = ""


def find_rounds(machine: Machine, deadline: Deadline) -> QuietAnswer:
    """The number of rounds after which every step, and power-up, is quiet."""
    step = _search(machine, deadline, power_up=False)
    if step.verdict != "holds":
        return step
    power = _search(machine, deadline, power_up=True)
    if power.verdict != "holds":
        return power
    return replace(step, power_up_question=power.question)


def _search(machine: Machine, deadline: Deadline, *, power_up: bool) -> QuietAnswer:
    frames = Frames(machine, checks=False)
    solver = Solver(frames.aig)
    moment, before = _power_up(frames) if power_up else _one_step(frames)
    _require(frames, solver)
    states: list[tuple[int, ...]] = []
    gathered = {one.leaf: Aig.false for one in machine.logic.gathered}
    for rounds in range(1, MAX_ROUNDS + 1):
        broken: dict[str, list[int]] = {check.name: [] for check in frames.checks}
        if before is None:
            choices: dict[int, int] = {}
            until = [len(log.writes) for log in frames.memories]
            leaves = {**moment.controls, **moment.free, **moment.store}
            before = frames.settle(leaves, until, None, None, choices)
            moment.store, changed = frames.advance(moment.store, before)
            moment.quiet = frames.aig.and_([changed ^ 1, before.unsettled ^ 1])
            moment.rounds.append(before)
            moment.choices.append(choices)
        else:
            before = frames.add_round(moment, before, gathered, broken)
        _require(frames, solver)
        stuck = _stuck(frames, solver, moment, states, deadline)
        if stuck and any(loop.cut > MAX_CUT for loop in machine.loops):
            return QuietAnswer(verdict="undecided", rounds=rounds, because=TANGLED)
        where = "at power-up" if power_up else "after a change of one control"
        if stuck and solver.check([frames.initial, *stuck.when], deadline.left) != "sat":
            because = f"{where} {stuck.how}, if the assumptions can lead there"
            return QuietAnswer(verdict="undecided", rounds=rounds, because=because)
        if stuck:
            return QuietAnswer(
                verdict="fails",
                rounds=rounds,
                because=f"{where} {stuck.how}",
                frames=frames,
                solver=solver,
                moments=(*frames.moments, moment),
            )
        answer = refuted(solver, [moment.quiet ^ 1], deadline.left)
        if answer == "unsat":
            return QuietAnswer(
                verdict="holds",
                rounds=rounds,
                because="",
                question=solver.question([moment.quiet ^ 1]),
            )
        if answer == "unknown":
            return QuietAnswer(verdict="undecided", rounds=rounds, because=solver.reason)
    return QuietAnswer(
        verdict="undecided",
        rounds=MAX_ROUNDS,
        because=f"a step can take more than {MAX_ROUNDS} rounds",
    )


def _require(frames: Frames, solver: Solver) -> None:
    for literal in frames.take_constraints():
        solver.require(literal)


def _one_step(frames: Frames) -> tuple[Moment, Round[int] | None]:
    first = frames.first()
    last = frames.settler.at_rest(first.rounds[-1])
    controls, free = frames.inputs("control"), frames.inputs("free")
    frames.one_at_a_time(first.controls, controls)
    moment = _moment(controls, free, first.store)
    monitors = {m.leaf: first.values[m.next] for m in frames.machine.logic.monitors}
    frames.constraints.append(allowed(frames.settler, {**controls, **monitors}))
    return moment, last


def _power_up(frames: Frames) -> tuple[Moment, Round[int] | None]:
    controls, free = frames.inputs("control"), frames.inputs("free")
    moment = _moment(controls, free, frames.inputs("store"))
    for leaf, level in frames.machine.first:
        frames.constraints.append(moment.store[leaf] if level else moment.store[leaf] ^ 1)
    monitors = {m.leaf: int(m.initial) for m in frames.machine.logic.monitors}
    frames.constraints.append(allowed(frames.settler, {**controls, **monitors}))
    return moment, None


def _moment(controls: dict[int, int], free: dict[int, int], store: dict[int, int]) -> Moment:
    return Moment(
        controls=controls,
        free=free,
        choices=[],
        rounds=[],
        start_store=store,
        store=store,
        monitors={},
        until=[],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stuck:
    """How the board can go on for ever, and the literals that say so."""

    how: str
    when: tuple[int, ...]


def _stuck(
    frames: Frames,
    solver: Solver,
    moment: Moment,
    states: list[tuple[int, ...]],
    deadline: Deadline,
) -> _Stuck | None:
    """Whether the last round shows that the board can go on for ever."""
    now = moment.rounds[-1]
    if now.unsettled != Aig.false and solver.check([now.unsettled], deadline.left) == "sat":
        names = ", ".join(loop.name for loop in frames.machine.loops if loop.holds)
        how = f"a loop of gates can find no level at rest (nets {names})"
        return _Stuck(how=how, when=(now.unsettled,))
    loops = [leaf for loop in frames.machine.loops if loop.holds for leaf in loop.leaves]
    stores = [bit.leaf for bit in frames.machine.stores]
    shown = [now.levels[leaf] for leaf in (*stores, *loops)]
    state = (*shown, *(moment.store[leaf] for leaf in stores))
    writes = [
        one.levels[memory.write] for one in moment.rounds for memory in frames.machine.memories
    ]
    for earlier in states:
        same = frames.aig.equal(state, earlier)
        again = [same, moment.quiet ^ 1, frames.aig.or_(writes) ^ 1]
        if same != Aig.false and solver.check(again, deadline.left) == "sat":
            labels = [bit.label for bit in frames.machine.stores]
            how = f"storage can change for ever ({', '.join(labels[:6])})"
            return _Stuck(how=how, when=tuple(again))
    states.append(state)
    return None
