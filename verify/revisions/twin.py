"""Two boards side by side over one and-inverter graph: chains of quiet moments in step.

What they share (`links`) is one variable. Where the boards are alike the graph then is one, too
(structural hashing), and nothing is left to be asked about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.machine.steplogic import StepLogic
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.revisions.links import Links

MAX_ROUNDS = 24
"""Power-up that takes more rounds than this is not waited for."""


class _Chain(Frames):
    """A board's chain, which can begin with power-up itself: storage holds anything then, and
    the first moment is what becomes of it.

    What two boards hold alike when power comes on they need not hold alike at the first quiet
    moment: an asynchronous clear may have been at it.
    """

    def power_up(self, rounds: int) -> Moment:
        """Begin the chain with so many rounds from power-on."""
        aig, machine = self.aig, self.machine
        moment = Moment(
            controls=self.inputs("control"),
            free=self.inputs("free"),
            choices=[],
            rounds=[],
            start_store=self.inputs("store"),
            store={},
            monitors={one.leaf: int(one.initial) for one in machine.logic.monitors},
            until=[],
        )
        moment.store = moment.start_store
        before: Round[int] | None = None
        gathered = {one.leaf: Aig.false for one in machine.logic.gathered}
        for _ in range(rounds):
            if before is not None:
                before = self.add_round(moment, before, gathered, {})
                continue
            choices: dict[int, int] = {}
            until = [len(log.writes) for log in self.memories]
            leaves = {**moment.controls, **moment.free, **moment.store}
            before = self.settle(leaves, until, None, None, choices)
            moment.store, changed = self.advance(moment.store, before)
            moment.quiet = aig.and_([changed ^ 1, before.unsettled ^ 1])
            moment.rounds.append(before)
            moment.choices.append(choices)
        self.constraints.append(moment.rounds[-1].levels[machine.legal])
        for leaf, sure in machine.first:
            level = moment.start_store[leaf]
            self.constraints.append(level if sure else level ^ 1)
        self.finish(moment, self.gathered_at(moment.rounds[-1]))
        return moment


class _Leader(_Chain):
    """The old board's chain, which remembers what it asked for."""

    def __init__(self, machine: Machine) -> None:
        super().__init__(machine, checks=False)
        self.given: dict[str, dict[int, int]] = {}

    def inputs(self, kind: str) -> dict[int, int]:
        found = super().inputs(kind)
        self.given[kind] = found
        return found


class _Follower(_Chain):
    """The new board's chain: what it shares with the leader's is the same variable."""

    def __init__(self, machine: Machine, leader: _Leader, links: Links) -> None:
        super().__init__(machine, checks=False)
        self.leader = leader
        self.links = links
        self.round = 0
        self.aig = leader.aig
        self.initial = leader.initial
        counted = [g.node for g in machine.logic.gathered if g.pulses]
        self.settler = Settler(machine, self.aig, [], counted)
        self.round_checks.settler = self.settler
        for log in self.memories:
            log.aig = self.aig
        for one, two in links.memories:
            self.memories[two].first_reads = leader.memories[one].first_reads

    def inputs(self, kind: str) -> dict[int, int]:
        found = super().inputs(kind)
        given = self.leader.given[kind]
        for mine, other in self.links.of(kind).items():
            if mine in found and other in given:
                found[mine] = given[other]
        if kind == "control" and self.links.reads:
            levels = self.leader.moments[-1].rounds[-1].levels
            for mine, (node, turned) in self.links.reads.items():
                found[mine] = levels[node] ^ int(turned)
        return found

    def step(self, rounds: int) -> Moment:
        self.round = 0
        return super().step(rounds)

    def power_up(self, rounds: int) -> Moment:
        self.round = 0
        return super().power_up(rounds)

    def settle(
        self,
        leaves: dict[int, int],
        until: Sequence[int],
        before: Round[int] | None,
        quiet: dict[int, int] | None = None,
        choices: dict[int, int] | None = None,
    ) -> Round[int]:
        if choices is not None:
            chosen = self.leader.moments[-1].choices[self.round]
            self.round += 1
            for mine, other in self.links.of("choice").items():
                if other in chosen:
                    choices[mine] = chosen[other]
        return super().settle(leaves, until, before, quiet, choices)


class Twin:
    """Both chains. ``rounds`` is enough for each board's steps, and proved to be."""

    def __init__(
        self, old: Machine, new: Machine, links: Links, rounds: int, power_up: int = 0
    ) -> None:
        """Begin with any quiet moment of both, or with so many rounds from power-on."""
        self.links = links
        self.rounds = rounds
        self.old = _Leader(old)
        self.new = _Follower(new, self.old, links)
        self.aig: Aig = self.old.aig
        self.initial = self.old.initial
        for chain in (self.old, self.new):
            if power_up:
                chain.power_up(power_up)
            else:
                chain.first()

    def step(self) -> None:
        """One more step of both."""
        self.old.step(self.rounds)
        self.new.step(self.rounds)

    def reach(self, steps: int) -> None:
        """Extend both to so many steps after the first."""
        while len(self.old.moments) <= steps:
            self.step()

    def take(self) -> list[int]:
        """What must hold and was not taken yet."""
        return [*self.old.take_constraints(), *self.new.take_constraints()]

    def moments(self, step: int) -> tuple[Moment, Moment]:
        """The two moments after so many steps."""
        return self.old.moments[step], self.new.moments[step]

    def differ(self, one: Sequence[int], two: Sequence[int], step: int) -> int:
        """Whether one of the old nodes differs from its new one at a quiet moment."""
        before, after = (moment.rounds[-1].levels for moment in self.moments(step))
        pairs = zip(one, two, strict=True)
        return self.aig.or_([self.aig.xor(before[a], after[b]) for a, b in pairs])


def power_up_rounds(machine: Machine, deadline: Deadline) -> int:
    """After how many rounds from power-on the board is quiet, for sure; 0 if that is not known."""
    for rounds in range(1, MAX_ROUNDS + 1):
        chain = _Leader(machine)
        moment = chain.power_up(rounds)
        solver = Solver(chain.aig)
        for literal in chain.take_constraints():
            solver.require(literal)
        answer = refuted(solver, [moment.quiet ^ 1], deadline.left)
        if answer == "unsat":
            return rounds
        if answer == "unknown":
            return 0
    return 0


def covered(old: Machine, new: Machine, links: Links, deadline: Deadline) -> bool:
    """Whether each content with which one board can be quiet is one with which the other can, so
    that both may begin with the same at a first quiet moment and no run is left out.

    That is asked only where all that they hold is shared; where it is not, the answer is no.
    """
    for machine, shared in (
        (old, {leaf for kind in ("store", "loop") for leaf in links.of(kind).values()}),
        (new, {leaf for kind in ("store", "loop") for leaf in links.of(kind)}),
    ):
        own = {store.leaf for store in machine.stores}
        own |= {leaf for loop in machine.loops if loop.holds for leaf in loop.leaves}
        written = sum(memory.contents is None for memory in machine.memories)
        if not own <= shared or written != len(links.memories):
            return False
    silent = StepLogic(monitors=(), gathered=(), formulas=())  # the assumptions are the same
    twin = Twin(replace(old, logic=silent), replace(new, logic=silent), links, 0)
    quiet = [list(chain.constraints) for chain in (twin.old, twin.new)]
    for chain in (twin.old, twin.new):
        chain.constraints = []
    solver = Solver(twin.aig)
    for literal in twin.take():
        solver.require(literal)
    return all(
        refuted(solver, [twin.initial, *quiet[one], twin.aig.and_(quiet[1 - one]) ^ 1],
                deadline.left) == "unsat"
        for one in (0, 1)
    )  # fmt: skip
