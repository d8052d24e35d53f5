"""How long comparisons take (by hand: `python -m tests.bench.bench_compare`), CPU seconds.

Wanted on two cores: the fade engine drawn anew, under 20 s; with one wire moved, under 20 s to the
shortest difference; the wiring of 120 chips, under 2 s.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.revisions.changes import changes_of
from breadproof.verify.revisions.compare import Wanted, compare_netlists
from breadproof.verify.revisions.matching import match
from breadproof.verify.revisions.samewiring import same_wiring
from breadproof.verify.revisions.verdicts import Means
from tests.support.permuted import permuted

BOARDS = Path(__file__).parents[2] / "specs" / "boards"


def measured(what: str, work: Callable[[], object]) -> None:
    """Do it, and say how long it took."""
    start = time.process_time()
    found = work()
    print(f"{time.process_time() - start:6.2f} s  {what}: {found}")  # noqa: T201


def two_engines() -> Netlist:
    """120 chips on one board."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "two.yaml")
        engine = BOARDS / "fade-engine.yaml"
        joins = "[a.VCC to b.VCC, a.GND to b.GND]"
        path.write_text(
            f"board: two\nboards: {{a: {engine}, b: {engine}}}\njoins: {joins}\n", "utf-8"
        )
        return load_netlist(path)


def wiring(old: Netlist, new: Netlist) -> str:
    """What the pairing finds."""
    found = match(old, new)
    return f"same wiring: {same_wiring(found)}, {len(changes_of(found))} names"


def main() -> None:
    """All of them."""
    engine = load_netlist(BOARDS / "fade-engine.yaml")
    twin = load_netlist(BOARDS / "twins" / "fade-unphased.yaml")
    anew = permuted(engine, Random(1)).netlist
    two = two_engines()
    anew_two = permuted(two, Random(1)).netlist
    levels = Wanted(proofs=False)
    measured("120 chips drawn anew", lambda: wiring(two, anew_two))
    measured(
        "fade engine drawn anew",
        lambda: compare_netlists(engine, anew, levels, Means()).behaviour,
    )
    measured(
        "fade engine, one wire moved",
        lambda: compare_netlists(engine, twin, levels, Means()).behaviour,
    )


if __name__ == "__main__":
    main()
