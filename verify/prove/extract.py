"""A model of the solver as a run of the board."""

from __future__ import annotations

from breadproof.specs.machine.trace import Trace, TraceStep
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.solver import Solver


class TraceMismatch(Exception):
    """A run that the solver found cannot be walked: our fault, never shown as a verdict."""


def extract(frames: Frames, solver: Solver, moments: list[Moment], *, quiet: bool = True) -> Trace:
    """The run of the last model, walked with numbers from its first moment.

    With ``quiet`` false the last step may go on for ever; its rounds are then those of the chain.

    Raises:
        TraceMismatch: walking the same choices does something else.
    """
    return _Extractor(frames, solver, moments, quiet).trace()


class _Extractor:
    def __init__(self, frames: Frames, solver: Solver, moments: list[Moment], quiet: bool) -> None:
        self.frames = frames
        self.moments = moments
        self.quiet = quiet
        self.graph = frames.graph
        wanted: set[int] = set()
        for moment in moments:
            wanted |= {*moment.controls.values(), *moment.free.values(), *moment.loops.values()}
            for choices in moment.choices:
                wanted |= set(choices.values())
        wanted |= set(moments[0].start_store.values())
        for log in frames.memories:
            for address, word in log.first_reads.items():
                wanted |= {*address, *word}
        self.value = solver.values(sorted(wanted))
        self.step = 0
        self.walker = Walker(frames.machine, self.free, self.choice)

    def label(self, leaf: int) -> tuple[str, int]:
        found = self.graph.leaf_of(leaf)
        if found is None:
            raise AssertionError("only leaves have labels")
        return found.name, found.bit

    def trace(self) -> Trace:
        first = self.moments[0]
        storage = {
            bit.label: self.value[first.start_store[bit.leaf]] for bit in self.frames.machine.stores
        }
        words = self.words()
        walker = self.walker
        walker.storage.update(storage)
        walker.controls.update(self.controls(first))
        for index, log in enumerate(self.frames.memories):
            for address, word in words.get(log.unit.label, {}).items():
                walker.memories[index][address] = word
        steps = [self.run(None)]
        for number, moment in enumerate(self.moments[1:], start=1):
            self.step = number
            steps.append(self.run(self.controls(moment)))
        loops = {self.label(leaf)[0]: self.value[lit] for leaf, lit in first.loops.items()}
        return Trace(storage=storage, words=words, loops=loops, steps=tuple(steps), ends=self.quiet)

    def words(self) -> dict[str, dict[int, int]]:
        found: dict[str, dict[int, int]] = {}
        for log in self.frames.memories:
            if log.unit.contents is not None:
                continue
            by_address: dict[int, int] = {}
            for address, word in log.first_reads.items():
                place = 0
                for literal in address:
                    place = 2 * place + self.value[literal]
                value = sum(self.value[literal] << k for k, literal in enumerate(word))
                by_address.setdefault(place, value)
            found[log.unit.label] = dict(sorted(by_address.items()))
        return found

    def controls(self, moment: Moment) -> dict[str, tuple[int, ...]]:
        return {
            name: tuple(self.value[moment.controls[leaf]] for leaf in leaves)
            for name, leaves in self.frames.machine.controls.items()
        }

    def free(self, reader: str) -> int:
        leaf = self.frames.machine.free[reader]
        literal = self.moments[self.step].free.get(leaf, 0)
        return self.value.get(literal, 0)

    def choice(self, loop: str, cut: int) -> int:
        """At power-up the level that the loop has; later what the model chose for this round."""
        machine = self.frames.machine
        found = next(one for one in machine.loops if one.name == loop)
        if self.step == 0 and self.moments[0].loops:
            literal = self.moments[0].loops.get(found.leaves[cut], 0)
            return self.value.get(literal, 0)
        rounds = self.moments[self.step].choices
        if self.walker.round_number >= len(rounds):
            return 0
        literal = rounds[self.walker.round_number].get(found.choices[cut], 0)
        return self.value.get(literal, 0)

    def run(self, controls: dict[str, tuple[int, ...]] | None) -> TraceStep:
        limit = None if self.quiet else len(self.moments[self.step].rounds)
        try:
            if controls is None:
                return self.walker.power_up(limit)
            return self.walker.step(controls, limit)
        except NotQuiet as error:
            raise TraceMismatch(str(error)) from error
