"""Walking a board with its formulas: what each of them says at every quiet moment, in numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.order import formula_order
from breadproof.specs.machine.settle import Round, Settler
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import Numbers, Walker


@dataclass(slots=True)
class Watcher(Walker):
    """A `Walker` that evaluates the formulas after each step.

    ``swing_of`` are nodes whose swings are to be kept, ``count_of`` those whose changes are to be
    counted. ``rounds`` are those of the last step,
    ``values`` the levels of all formula nodes at its quiet moment (see `at`), ``said`` maps each
    formula's name to its ``bad`` (1: violated in this step; for a cover: reached).
    """

    swing_of: Sequence[int] = ()
    count_of: Sequence[int] = ()
    rounds: list[Round[int]] = field(default_factory=list)
    values: dict[int, int] = field(default_factory=dict)
    said: dict[str, int] = field(default_factory=dict)
    remembered: dict[int, int] = field(default_factory=dict)
    beyond: list[int] = field(init=False)

    def __post_init__(self) -> None:
        """Nothing is remembered yet; see `Walker`."""
        Walker.__post_init__(self)
        machine = self.machine
        pulses = [one.node for one in machine.logic.gathered if one.pulses]
        self.settler = Settler(machine, Numbers(), self.swing_of, [*self.count_of, *pulses])
        known = {entry for entry in machine.order if entry >= 0}
        known.update(leaf for loop in machine.loops for leaf in loop.leaves)
        self.beyond = formula_order(machine, frozenset(known))

    def power_up(self, limit: int | None = None) -> TraceStep:
        """See `Walker`. What formulas remember begins anew; of the rounds only the last counts."""
        self.rounds = []
        step = Walker.power_up(self, limit)
        self.remembered = {m.leaf: int(m.initial) for m in self.machine.logic.monitors}
        last = self.rounds[-1]
        self._watch(
            {
                one.leaf: 0 if one.pulses else last.levels[one.node]
                for one in self.machine.logic.gathered
            }
        )
        return step

    def step(self, controls: Mapping[str, tuple[int, ...]], limit: int | None = None) -> TraceStep:
        """See `Walker`."""
        self.remembered = {m.leaf: self.at(m.next) for m in self.machine.logic.monitors}
        self.rounds = []
        step = Walker.step(self, controls, limit)
        gathered = dict.fromkeys((one.leaf for one in self.machine.logic.gathered), 0)
        for now in self.rounds:
            for one in self.machine.logic.gathered:
                here = now.extra[one.node] if one.pulses else now.levels[one.node]
                gathered[one.leaf] |= 1 if here is None else here
        self._watch(gathered)
        return step

    def advance(self, now: Round[int]) -> bool:
        """See `Walker`; the round is kept."""
        self.rounds.append(now)
        return Walker.advance(self, now)

    def at(self, node: int) -> int:
        """The level of a node of a formula at the last quiet moment."""
        return self.values[node] if node in self.values else self.rounds[-1].levels[node]

    def _watch(self, gathered: dict[int, int]) -> None:
        self.values = {0: 0, 1: 1, **gathered, **self.remembered}
        for node in self.beyond:
            self.values[node] = self.settler.level(node, self.at, self._read)
        self.said = {one.formula.name: self.at(one.bad) for one in self.machine.logic.formulas}
