"""How many rounds a step takes: found by trying, then proved (design.md section 4)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import MAX_CUT, Round
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Deadline, Solver

MAX_ROUNDS = 24
"""More rounds than this in one step are not tried: the answer is then "undecided"."""


TANGLED = "a loop of gates is too tangled to be searched for a level at rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class QuietAnswer:
    """``rounds`` in which every step is over (the last one changing nothing), if ``holds``.

    ``fails`` comes with the frames, whose last moment is the step that does not get quiet, or with
    ``at_power_up``.
    """

    verdict: Literal["holds", "fails", "undecided"]
    rounds: int
    because: str
    frames: Frames | None = None
    solver: Solver | None = None
    moments: tuple[Moment, ...] = ()
    at_power_up: bool = False
    question: str = ""


def find_rounds(machine: Machine, deadline: Deadline) -> QuietAnswer:
    """The number of rounds after which every step, and power-up, is quiet."""
    step = _search(machine, deadline, power_up=False)
    if step.verdict != "holds":
        return step
    power = _search(machine, deadline, power_up=True)
    return step if power.verdict == "holds" else power


def _search(machine: Machine, deadline: Deadline, *, power_up: bool) -> QuietAnswer:
    frames = Frames(machine)
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
        if stuck:
            where = "at power-up" if power_up else "after a change of one control"
            return QuietAnswer(
                verdict="fails",
                rounds=rounds,
                because=f"{where} {stuck}",
                frames=frames,
                solver=solver,
                moments=(*frames.moments, moment),
                at_power_up=power_up,
            )
        answer = solver.check([moment.quiet ^ 1], deadline.left)
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
    last = first.rounds[-1]
    controls, free = frames.inputs("control"), frames.inputs("free")
    frames.one_at_a_time(first.controls, controls)
    moment = _moment(controls, free, first.store)
    frames.constraints.append(_legal(frames, controls))
    return moment, last


def _power_up(frames: Frames) -> tuple[Moment, Round[int] | None]:
    controls, free = frames.inputs("control"), frames.inputs("free")
    moment = _moment(controls, free, frames.inputs("store"))
    frames.constraints.append(_legal(frames, controls))
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


def _legal(frames: Frames, controls: dict[int, int]) -> int:
    """The controls' own limits, evaluated on their literals alone."""
    values = {**controls, 0: Aig.false, 1: Aig.true}
    graph = frames.graph
    for node in graph.cone([frames.machine.legal]):
        if node not in values:
            values[node] = frames.settler.level(node, values.__getitem__, _no_memory)
    return values[frames.machine.legal]


def _no_memory(memory: int, bit: int, address: object) -> int:
    raise AssertionError("what a switch may do depends on no memory")


def _stuck(
    frames: Frames,
    solver: Solver,
    moment: Moment,
    states: list[tuple[int, ...]],
    deadline: Deadline,
) -> str:
    """Whether the last round shows that the board can go on for ever."""
    now = moment.rounds[-1]
    if now.unsettled != Aig.false and solver.check([now.unsettled], deadline.left) == "sat":
        names = ", ".join(loop.name for loop in frames.machine.loops if loop.holds)
        return f"a loop of gates can find no level at rest (nets {names})"
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
            return f"storage can change for ever ({', '.join(labels[:6])})"
    states.append(state)
    return ""
