"""What in a run does not matter: which controls, and which bits of storage at its beginning.

The board's runs of the same length are asked: do any of these levels, with all the others left
open, still leave a run that does not show it? If not, what is in the core of that answer decides,
and the rest does not matter (lifting over the whole run; Ravi and Somenzi, "Minimal assignments for
bounded model checking", 2004, told from memory). A control that follows from the rest is no
matter of choice, so those that are said not to matter were turned round, all at once or by parts,
and the run was walked with that.
Levels of floating pins, choices of loops and the words of memories stay as they are in the run. A
control is looked at from one of its changes to the next: where it stays, it either matters or not.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import DontCare, Trace
from breadproof.specs.machine.walk import NotQuiet
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.keeper import chosen, walked
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.prove.witness import confirms

MAX_STEPS = 40
"""In a longer run it is not looked for."""

SECONDS = 2.0
"""Nor any longer for one run."""

MAX_WALKS = 24
"""No run is walked more often with controls the other way round; what is not tried may matter."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """Something that matters or not: a control from one step to another, or a bit of storage."""

    literal: int
    name: str
    steps: tuple[int, ...] = ()


@dataclass(slots=True)
class Lifting:
    """Looks at runs of one board; all share one chain and one solver.

    ``rounds`` is the proved number that a step takes.
    """

    machine: Machine
    rounds: int
    frames: Frames = field(init=False)
    solver: Solver = field(init=False)

    def __post_init__(self) -> None:
        """Build the first moment."""
        self.frames = Frames(self.machine)
        self.solver = Solver(self.frames.aig)
        self.frames.first()

    def of(self, name: str, trace: Trace, seconds: float) -> DontCare | None:
        """What does not matter to the result ``name``; None if that was not found out.

        Raises:
            KeyError: the board has no such result.
        """
        deadline, last = Deadline(seconds), len(trace.steps) - 1
        if not trace.ends or trace.loop is not None or last > MAX_STEPS:
            return None
        while len(self.frames.moments) <= last:
            if deadline.left <= 0:
                return None
            self.frames.step(self.rounds)
        bad = property_named(self.machine, name).bad(self.frames.moments[last])
        fixed = [self.frames.initial, bad ^ 1, *self._fixed(trace)]
        for literal in self.frames.take_constraints():
            self.solver.require(literal)
        units = [*self._storage(trace), *self._controls(trace)]
        matter = self._core(fixed, units, deadline)
        if matter is None:
            return None
        idle = [unit for unit in units if unit.literal not in matter]
        return _named(self._open(name, trace, idle))

    def _core(
        self, fixed: list[int], units: Sequence[_Unit], deadline: Deadline
    ) -> list[int] | None:
        """The literals of the units that matter; None if all of them do not suffice."""
        every = list(dict.fromkeys(unit.literal for unit in units))
        if self.solver.check([*fixed, *every], deadline.left) != "unsat":
            return None
        core = self.solver.core([*fixed, *every])
        left = [one for one in every if one in core]
        for one in list(left):
            rest = [other for other in left if other != one]
            if self.solver.check([*fixed, *rest], deadline.left) == "unsat":
                left = rest
        return left

    def _open(self, name: str, trace: Trace, units: Sequence[_Unit]) -> list[_Unit]:
        """The units, but for controls that were not seen the other way round in a run like it."""
        found: list[_Unit] = []
        one_bit = {n for n, leaves in self.machine.controls.items() if len(leaves) == 1}
        controls = [unit for unit in units if unit.steps]
        together = [unit for unit in controls if unit.name in one_bit]
        chunks = [[unit] for unit in controls if unit.name not in one_bit]
        chunks += [together] if together else []
        for _ in range(MAX_WALKS):
            if not chunks:
                break
            chunk = chunks.pop()
            other = _otherwise(self.machine, trace, chunk)
            if other is not None and confirms(self.machine, name, other):
                found += chunk
            elif len(chunk) > 1:
                half = len(chunk) // 2
                chunks += [chunk[half:], chunk[:half]]
        return [unit for unit in units if unit in found or not unit.steps]

    # a run as literals ------------------------------------------------------------------------

    def _storage(self, trace: Trace) -> Iterator[_Unit]:
        """Each bit of storage at the beginning."""
        start = self.frames.moments[0].start_store
        for bit in self.machine.stores:
            level = trace.storage.get(bit.label, 0)
            yield _Unit(_at(start[bit.leaf], level), bit.label)

    def _controls(self, trace: Trace) -> Iterator[_Unit]:
        """Each control from one of its changes to the next."""
        for name, leaves in self.machine.controls.items():
            bits = [step.controls[name] for step in trace.steps]
            for _, group in itertools.groupby(range(len(bits)), key=bits.__getitem__):
                steps = tuple(group)
                literals = [
                    _at(self.frames.moments[step].controls[leaf], level)
                    for step in steps
                    for leaf, level in zip(leaves, bits[step], strict=True)
                    if leaf in self.frames.moments[step].controls
                ]
                yield _Unit(self.frames.aig.and_(literals), name, steps)

    def _fixed(self, trace: Trace) -> Iterator[int]:
        """What stays as it is in the run: floating pins, loops, memories."""
        moments, machine = self.frames.moments, self.machine
        for moment, step in zip(moments, trace.steps, strict=False):
            for reader, leaf in machine.free.items():
                if leaf in moment.free and reader in step.free:
                    yield _at(moment.free[leaf], step.free[reader])
            for choices, found in zip(moment.choices, step.rounds, strict=False):
                for leaf, literal in choices.items():
                    what = machine.graph.leaf_of(leaf)
                    label = "" if what is None else f"{what.name.partition('#')[0]}.{what.bit}"
                    if label in found.choices:
                        yield _at(literal, found.choices[label])
        for leaf, literal in moments[0].loops.items():
            what = machine.graph.leaf_of(leaf)
            if what is not None and what.name in trace.loops:
                yield _at(literal, trace.loops[what.name])
        yield from self._words(trace)

    def _words(self, trace: Trace) -> Iterator[int]:
        """The words that the run tells of, wherever one is read."""
        aig = self.frames.aig
        for log in self.frames.memories:
            for place, word in trace.words.get(log.unit.label, {}).items():
                wanted = [(word >> bit) & 1 for bit in range(log.unit.bits)]
                for address, read in list(log.first_reads.items()):
                    size = len(address)
                    here = [(place >> (size - 1 - bit)) & 1 for bit in range(size)]
                    other = aig.equal(address, here) ^ 1
                    yield aig.or_([other, aig.equal(read, wanted)])


def _at(literal: int, level: int) -> int:
    return literal if level else literal ^ 1


def _otherwise(machine: Machine, trace: Trace, units: Sequence[_Unit]) -> Trace | None:
    """The run with some controls the other way round; None if there is none.

    Of a control all bits are inverted: a change-over switch goes to its other position.
    """
    kept = chosen(trace)
    for unit in units:
        for step in unit.steps:
            bits = kept["steps"][step]["controls"][unit.name]
            kept["steps"][step]["controls"][unit.name] = [1 - bit for bit in bits]
    try:
        other = walked(machine, kept)
    except NotQuiet:
        return None
    return other if len(other.steps) == len(trace.steps) else None


def _named(idle: Sequence[_Unit]) -> DontCare:
    controls: dict[str, tuple[int, ...]] = {}
    for unit in idle:
        if unit.steps:
            controls[unit.name] = (*controls.get(unit.name, ()), *unit.steps)
    storage = tuple(unit.name for unit in idle if not unit.steps)
    return DontCare(controls=controls, storage=storage)


def with_dont_care(
    machine: Machine,
    rounds: int,
    results: Sequence[Result],
    only: Sequence[str] = (),
    progress: Callable[[str], None] = lambda text: None,
) -> tuple[Result, ...]:
    """The results; the runs of what fails, and of ``only``, with what does not matter in them."""
    lifting: Lifting | None = None
    found: list[Result] = []
    for one in results:
        wanted = rounds and one.name != "quiet" and (failing(one) or one.name in only)
        if one.trace is not None and wanted:
            progress(f"what matters in the run of {one.name}")
            lifting = lifting or Lifting(machine, rounds)
            idle = lifting.of(one.name, one.trace, SECONDS)
            one = replace(one, trace=replace(one.trace, dont_care=idle))
        found.append(one)
    return tuple(found)
