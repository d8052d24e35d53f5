"""Two boards side by side over one and-inverter graph: chains of quiet moments in step.

What they share (`links`) is one variable. Where the boards are alike the graph then is one, too
(structural hashing), and nothing is left to be asked about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round, Settler
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.revisions.links import Links


class _Leader(Frames):
    """The old board's chain, which remembers what it asked for."""

    def __init__(self, machine: Machine) -> None:
        super().__init__(machine, checks=False)
        self.given: dict[str, dict[int, int]] = {}

    def inputs(self, kind: str) -> dict[int, int]:
        found = super().inputs(kind)
        self.given[kind] = found
        return found


class _Follower(Frames):
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
        return found

    def step(self, rounds: int) -> Moment:
        self.round = 0
        return super().step(rounds)

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

    def __init__(self, old: Machine, new: Machine, links: Links, rounds: int) -> None:
        """Begin with the first quiet moment of both."""
        self.links = links
        self.rounds = rounds
        self.old = _Leader(old)
        self.new = _Follower(new, self.old, links)
        self.aig: Aig = self.old.aig
        self.initial = self.old.initial
        self.old.first()
        self.new.first()

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


def without(links: Links, kinds: Sequence[str]) -> Links:
    """The links without some kinds of leaves."""
    return replace(links, leaves={k: v for k, v in links.leaves.items() if k not in kinds})
