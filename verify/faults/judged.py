"""What production test asks of a fault, answered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.trace import Trace

Group = Literal["detected", "undetected", "redundant", "unclassified"]
GROUPS: tuple[Group, ...] = ("detected", "undetected", "redundant", "unclassified")
Means = Literal["rule", "standing", "formula"]
"""What detects: a wiring rule, a standing check, or a formula or cover of the board file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector:
    """What tells of a fault. ``name`` is a rule's code or a result's name; ``warning``: it is a
    warning, with which the board still passes. ``says`` is what it says of the board with the
    fault; ``steps`` is the length of the run that shows it, None where there is no run."""

    means: Means
    name: str
    says: str
    warning: bool = False
    steps: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """The shortest run that tells the board with a fault from the one without.

    ``moves`` begins with how the controls stand, and goes on with what is done in each step;
    ``items`` are what differs at the end, each with what it shows without and with the fault.
    ``pin`` is the first pin that differs, with its levels (None: none of its own). ``runs`` are the
    two runs, without and with the fault; None where a lamp is in no circuit any more.
    """

    steps: int
    moves: tuple[str, ...]
    items: tuple[tuple[str, str, str], ...]
    pin: str = ""
    levels: tuple[int | None, int | None] = (None, None)
    runs: tuple[Trace, Trace] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The group of the fault called ``fault``.

    Detected: by ``detector``. Undetected: ``apart`` shows a run, and no check that holds without
    the fault fails with it. Redundant: no lamp, port or memory ever differs, proved for runs of any
    length, and each check has the verdict that it has without the fault. Unclassified: ``because``
    tells what was not found out.
    """

    fault: str
    group: Group
    detector: Detector | None = None
    apart: Apart | None = None
    because: str = ""
    seconds: float = 0.0
