"""What tells two boards apart."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.trace import Trace
from breadproof.verify.report.words import count


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """``steps`` after the beginning item ``items`` differ, and in no shorter run does any that is
    compared, or, if it is not known to be the ``shortest``, perhaps in one. The runs of both boards
    go up to there."""

    items: tuple[str, ...]
    steps: int
    old: Trace
    new: Trace
    fewest: bool
    shortest: bool = True

    def moment(self, origin: str) -> str:
        """When it shows: ``3 steps after power-up, and in no shorter run``."""
        if not self.steps:
            return f"right after {origin}"
        when = f"{count(self.steps, 'step')} after {origin}"
        return f"{when}, and in no shorter run" if self.shortest else f"{when}, perhaps earlier"
