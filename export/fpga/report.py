"""What placing and routing tells: what is used of the FPGA, and how fast it is."""

from __future__ import annotations

import json
from dataclasses import dataclass

CELLS = {
    "ICESTORM_LC": "logic cells",
    "ICESTORM_RAM": "memory blocks",
    "SB_IO": "pins",
    "TRELLIS_COMB": "logic cells",
    "TRELLIS_FF": "flip-flops",
    "DP16KD": "memory blocks",
    "TRELLIS_IO": "pins",
}
"""What the placing tool counts, in words; other kinds are not told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How many of something are used, and how many there are."""

    what: str
    used: int
    available: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Cells and memory blocks, and the clock in hertz that is achieved and needed."""

    uses: tuple[Use, ...]
    achieved: float
    needed: float


def read_report(text: str, needed: float) -> Report:
    """Read the report (JSON) of nextpnr.

    The clock achieved is that of the slowest clock net; a design with none (nothing is stored) is
    as fast as it has to be.
    """
    found = json.loads(text)
    clocks = [float(clock["achieved"]) * 1e6 for clock in found["fmax"].values()]
    uses = tuple(
        Use(what=CELLS[kind], used=int(count["used"]), available=int(count["available"]))
        for kind, count in found["utilization"].items()
        if kind in CELLS
    )
    return Report(uses=uses, achieved=min(clocks, default=needed), needed=needed)
