"""What formulas come to: bits remembered from step to step, and a level that tells a violation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.wide import Wide
from breadproof.specs.netlist.model import BoardFormula


@dataclass(frozen=True, slots=True, kw_only=True)
class MonitorBit:
    """A bit that a formula remembers: ``next`` at a quiet moment is its level in the next step."""

    leaf: int
    next: int
    initial: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """A level gathered over the rounds of a step: true if ``node`` held in any of them.

    ``pulses`` asks instead whether the node may have changed more often in a round than it must. In
    the first step only the quiet moment counts, since nothing has changed yet.
    """

    leaf: int
    node: int
    pulses: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Antecedent:
    """A condition without which a formula says nothing; ``node`` tells that it is met."""

    text: str
    node: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Awaited:
    """What a strong operator waits for: ``node`` holds in a step at whose end it still waits.

    A run violates the operator if ``node`` holds from some step on for ever.
    """

    text: str
    node: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CompiledFormula:
    """A formula as nodes at a quiet moment.

    ``bad`` holds in a step that violates it (for a cover: that reaches it). ``liveness`` names the
    strong operators it has, about which no finite run says anything; an endless run violates it if
    there is a ``bad`` step, or one of ``awaited`` never comes. ``nested``: a strong operator stands
    under a clock that is itself under a clock, and ``awaited`` does not tell when it is violated.
    ``wide`` are its comparisons that hardly mean what they say.
    """

    formula: BoardFormula
    kind: Literal["assume", "assert", "cover"]
    bad: int
    antecedents: tuple[Antecedent, ...]
    liveness: tuple[str, ...]
    awaited: tuple[Awaited, ...] = ()
    nested: bool = False
    wide: tuple[Wide, ...] = ()

    def nodes(self) -> list[int]:
        """All nodes that tell of it: a violation, its conditions, what it waits for."""
        found = [self.bad, *(antecedent.node for antecedent in self.antecedents)]
        return [*found, *(awaited.node for awaited in self.awaited)]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLogic:
    """All formulas of a board. ``order`` are the nodes beyond a round, in topological order."""

    monitors: tuple[MonitorBit, ...]
    gathered: tuple[Gathered, ...]
    formulas: tuple[CompiledFormula, ...]
