"""Everything about one board: wiring, standing checks, formulas, and the board's verdict."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.verdict import BoardVerdict, Result
from breadproof.verify.wiring.finding import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardReport:
    """What `breadproof verify` found.

    ``rounds`` is the proved number of rounds a step takes (0 if it is not proved); ``machine``
    gives names their nets and pins; ``seconds`` is the whole time. ``interrupted``: somebody
    pressed Ctrl-C, and what was not finished by then is undecided.
    """

    machine: Machine
    wiring: tuple[Finding, ...]
    results: tuple[Result, ...]
    verdict: BoardVerdict
    rounds: int
    seconds: float
    interrupted: bool = False
