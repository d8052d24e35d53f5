"""ABC's property-directed prover on AIGER files (Debian: berkeley-abc).

Latches that may begin at either level become inputs of the first frame, and constraints are folded
into the properties, both by ABC itself.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

PREPARED = "logic; undc; strash; fold"
BROKEN = re.compile(r"Output\s+(\d+) was asserted in frame")
SETTLED = re.compile(r"All = (\d+). Proved = (\d+). Disproved = (\d+). Undecided = (\d+)")


def broken(abc: str, file: Path, names: Sequence[str], seconds: int) -> set[str] | None:
    """The properties that some run reaches; all others are proved. None: not all is decided.

    ``names`` are those of the file's bad states, in order.
    """
    commands = f"read_aiger {file}; {PREPARED}; pdr -a -T {seconds}"
    done = subprocess.run([abc, "-q", commands], check=True, capture_output=True, text=True)
    settled = SETTLED.search(done.stdout)
    assert settled is not None, done.stdout
    total, proved, disproved, undecided = map(int, settled.groups())
    if undecided:
        return None
    found = {names[int(place)] for place in BROKEN.findall(done.stdout)}
    assert (total, proved, disproved) == (len(names), len(names) - len(found), len(found))
    return found


def goes_round(abc: str, file: Path) -> bool:
    """Whether a run that goes round meets all outputs named ``assume_fair`` again and again.

    By ABC's own way from liveness to safety (Biere, Artho and Schuppan 2002). ``assert_fair`` is
    an output that is never high: a run that goes round without it is what is looked for.
    """
    commands = f"read_aiger {file}; logic; undc; strash; l2s; pdr"
    done = subprocess.run([abc, "-q", commands], check=True, capture_output=True, text=True)
    proved = "Property proved." in done.stdout
    assert proved != ("was asserted in frame" in done.stdout), done.stdout
    return not proved
