"""Runs in which what is awaited never comes: a stem, and steps that come again and again.

On finitely many states an endless run that violates a strong operator can be had as one that comes
back to a state (Biere, Artho and Schuppan 2002). The part of the state that counts is the formula's
`influence`; all fairness assumptions must be met within the part that comes again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.influence import Influence, assumed
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.netlist.bouncing import rests
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames, Moment


def fairness(assumes: Sequence[CompiledFormula]) -> tuple[int, ...]:
    """For each strong assumption a node that must not hold for ever."""
    return tuple(awaited.node for formula in assumes for awaited in formula.awaited)


@dataclass(slots=True)
class Lassos:
    """Literals of one chain that say that a run ends in steps which can come again and again."""

    frames: Frames
    formula: CompiledFormula
    part: Influence
    found: dict[int, int] = field(default_factory=dict)

    def bad(self, moment: Moment) -> int:
        """At a moment: it is in a state of before, and what is awaited did not come since."""
        moments = self.frames.moments
        last = next(k for k, one in enumerate(moments) if one is moment)
        if last not in self.found:
            self.found[last] = self.frames.aig.or_([self.back_to(k, last) for k in range(last)])
        return self.found[last]

    def back_to(self, start: int, last: int) -> int:
        """Whether the steps after ``start`` up to ``last`` can come again and violate."""
        aig, moments = self.frames.aig, self.frames.moments
        round_ = moments[start + 1 : last + 1]
        waits = aig.or_(
            [
                aig.and_([moment.values[one.node] for moment in round_])
                for one in self.formula.awaited
            ]
        )
        if waits == Aig.false:
            return Aig.false
        fair = [
            aig.or_([moment.values[node] ^ 1 for moment in round_])
            for node in fairness(assumed(self.frames.machine))
        ]
        still = [
            write.when ^ 1
            for index in self.part.memories
            for write in self.frames.memories[index].writes[
                moments[start].until[index] : moments[last].until[index]
            ]
        ]
        same = aig.equal(self.state(moments[start]), self.state(moments[last]))
        return aig.and_([waits, same, *fair, *still, *self.at_rest(moments[start : last + 1])])

    def at_rest(self, moments: Sequence[Moment]) -> list[int]:
        """That no contact bounces for ever: none does at all, and each is where its finger is."""
        aig, machine = self.frames.aig, self.frames.machine
        leaves = {store.label: store.leaf for store in machine.stores}
        found: list[int] = []
        for rest in rests(machine.netlist):
            (bounces,) = machine.controls[rest.bounces]
            levels = [moment.controls[bounces] for moment in moments]
            found += [aig.xor(level, levels[0]) ^ 1 for level in levels[1:]]
            for label, control, bit in rest.places:
                finger = moments[0].controls[machine.controls[control][bit]]
                found.append(aig.xor(moments[0].store[leaves[label]], finger) ^ 1)
        return found

    def state(self, moment: Moment) -> list[int]:
        """The part of the state that counts after a moment, but for memories."""
        return state(self.frames.machine, self.part, moment)


def state(machine: Machine, part: Influence, moment: Moment) -> list[int]:
    """Storage, controls, free levels, loops that hold, and what formulas remember."""
    levels = moment.rounds[-1].levels
    held = [leaf for loop in machine.loops if loop.holds for leaf in loop.leaves]
    return [
        *(moment.store[bit.leaf] for bit in machine.stores if bit.leaf in part.leaves),
        *(literal for leaf, literal in moment.controls.items() if leaf in part.leaves),
        *(moment.free[leaf] for leaf in machine.free.values() if leaf in part.leaves),
        *(levels[leaf] for leaf in held if leaf in part.leaves),
        *(moment.values[node] for node in part.monitors),
    ]
