"""The Machine follows where the second evaluator leads: no run that the board has is left out.

`witnesses.compare` lets the Machine choose what loops do: it finds runs of the Machine's that the
board does not have. Here the second evaluator chooses, at random among all stable values, and the
Machine has to find choices that lead to the same levels. It may leave open more than it must (false
alarms), but nothing less: what is proved of it would not be true of the board.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from functools import partial
from itertools import product
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.walk import Walker
from tests.support.second.wires import ANY, HIGH, Wires
from tests.support.second_evaluator import NeverQuiet, SecondBoard, SecondRound, TooTangled
from tests.support.witnesses import Stimuli

MAX_UNSURE = 8
"""Of so many cuts whose level the second evaluator does not tell, all cases are gone through."""


class Lost(AssertionError):
    """The Machine cannot do what the board does."""


class Follower(Walker):
    """The Machine, walked along the second evaluator's rounds."""

    def follow(self, rounds: list[SecondRound]) -> None:
        """One step.

        Raises:
            Lost: no choice for its loops leads where the second evaluator went.
        """
        self.free_now = {name: self.free(name) for name in self.machine.free}
        names = [net.name for net in self.machine.netlist.nets]
        changed = True
        for number, seen in enumerate(rounds):
            now = self.found(seen, dict(zip(names, seen.sets, strict=True)), number)
            changed = self.advance(now)
            self.before = now
            if self.storage != seen.stored:
                raise Lost(f"round {number}: after it storage is {self.storage}, not {seen.stored}")
        if changed:
            raise Lost("it is not quiet where the second evaluator is")

    def found(self, seen: SecondRound, sets: dict[str, int], number: int) -> Round[int]:
        closest: dict[str, tuple[int, int]] | None = None
        for wishes in self.wishes(sets):
            self.choice = partial(_wish, wishes)
            now = self.settler.settle(self._leaf, self._read, self.before)
            if now.unsettled:
                continue
            nets = self.record(now).nets
            other = {n: (level, seen.nets[n]) for n, level in nets.items() if level != seen.nets[n]}
            if not other:
                return now
            if closest is None or len(other) < len(closest):
                closest = other
        raise Lost(f"round {number}: at best its nets are {closest} (open: {seen.open_nets})")

    def wishes(self, sets: dict[str, int]) -> Iterator[dict[tuple[str, int], int]]:
        """What to choose for each cut; a net without a level of its own leaves that open."""
        cases: dict[tuple[str, int], tuple[int, ...]] = {}
        for loop in self.machine.loops:
            for cut, variable in enumerate(loop.variables[: loop.cut]):
                known = variable.startswith("known(")
                one = sets[variable.removeprefix("known(").removesuffix(")")]
                if known:
                    cases[loop.name, cut] = (int(one != ANY),)
                else:
                    cases[loop.name, cut] = (0, 1) if one == ANY else (int(one == HIGH),)
        if sum(len(case) > 1 for case in cases.values()) > MAX_UNSURE:
            raise TooTangled("too many cuts without a level of their own")
        for chosen in product(*cases.values()):
            yield dict(zip(cases, chosen, strict=True))


def _wish(wishes: Mapping[tuple[str, int], int], loop: str, cut: int) -> int:
    return wishes[loop, cut]


def follow(machine: Machine, stimuli: Stimuli, count: Counter[str]) -> None:
    """One run of a board, the second evaluator leading; ends early where it cannot tell.

    Raises:
        Lost: the Machine does not do what the board does.
    """
    start = stimuli.start
    second = SecondBoard(machine.netlist, start.controls, start.storage, start.memories)
    second.random = Random(stimuli.seed)
    second.wires = Wires(machine.netlist, narrow=True)
    follower = Follower(machine, storage=dict(start.storage), controls=dict(start.controls))
    for words, memory in zip(follower.memories, machine.memories, strict=True):
        words[:] = start.memories.get(memory.label, words)
    for number in range(len(stimuli.changes) + 1):
        follower.free = stimuli.free(number)
        try:
            if number:
                changes = stimuli.changes[number - 1]
                rounds = second.step(changes, follower.free, lambda _: None)
                follower.controls.update(changes)
                if follower.before is not None:
                    follower.before = follower.settler.at_rest(follower.before)
            else:
                rounds = second.power_up(follower.free, lambda _: None)
            if second.wires.gave_up:
                count["too much unknown"] += 1
                return
            follower.follow(rounds)
        except NeverQuiet:
            count["not quiet"] += 1
            return
        except TooTangled:
            count["tangled"] += 1
            return
        count["steps"] += 1
        count["open rounds"] += sum(bool(one.open_nets) for one in rounds)
    count["whole runs"] += 1
