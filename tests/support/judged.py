"""The proof's verdicts on faulty mapped netlists, with ABC's opinion beside each "equal"."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from breadproof.verify.equal.synthesis import equal_netlist
from tests.support.mapped_faults import alike, faults


def judged(
    design: str, netlist: str, count: int, seed: int, abc: str, folder: Path, seconds: float = 60
) -> Counter[str]:
    """How often each verdict is given on so many faults; ABC has to agree to each "equal"."""
    verdicts: Counter[str] = Counter()
    for fault in faults(netlist, count, seed):
        found = equal_netlist(design, fault.netlist, seconds)
        verdicts[found.verdict] += 1
        if found.verdict == "equal":
            assert alike(netlist, fault.netlist, abc, folder, 60), fault.what
    return verdicts
