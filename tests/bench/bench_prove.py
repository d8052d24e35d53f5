"""Time to verdict, against a general-purpose model checker on the exported AIGER, in the same run.

Run by hand: ``python -m tests.bench.bench_prove [SECONDS [CHIPS]]``: the limit for a property, 60
if left out, and the size of the largest generated board, 160 chips if left out. The reference is
ABC's property-directed prover (Debian: berkeley-abc). Memories are cut to 16 words on both sides;
both settle the same properties: the formulas, and the standing checks of levels. Ours has to find
the number of rounds, to look whether the assumptions can go on, and to confirm each run; the
reference does not, and gets its file for nothing. Aim: at most three times the reference in
total. A board on which the reference does not decide everything in time does not count.
"""

from __future__ import annotations

import itertools
import resource
import shutil
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from importlib.resources import as_file, files
from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.exchange.obligation import obligation
from breadproof.verify.prove.prover import prove_board
from tests.bench.provable_board import provable_board
from tests.support.abc_checker import broken
from tests.support.cut_memories import cut_memories

CHIPS = (20, 40, 80, 160)
CORPUS = (
    "light-store.yaml",
    "sequencer.yaml",
    "tempo.yaml",
    "twins/clear-on-ground.yaml",
    "twins/mode-direct.yaml",
    "twins/strobe-late.yaml",
)
LARGEST = "fade-engine.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """Seconds of the processor; ``decided`` tells whether the reference settled everything."""

    chips: int
    properties: int
    ours: float
    undecided: int
    reference: float
    decided: bool


def children() -> float:
    """Seconds of the processor that ended processes took."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def timed(machine: Machine, abc: str, seconds: float, folder: Path) -> Timed:
    """Both on one board."""
    machine = cut_memories(machine)
    made = flat(circuit(obligation(machine, [], seconds)))
    names = tuple(one.name for one in made.bad)
    start = time.process_time()
    _, results = prove_board(machine, only=names, seconds=seconds)
    ours = time.process_time() - start
    file = folder / "board.aig"
    file.write_bytes(aiger_binary(replace(made, justice=(), fair=())))
    start = children()
    found = broken(abc, file, names, int(seconds * 10))
    reference = children() - start
    open_ones = [one for one in results if one.verdict == "undecided"]
    return Timed(
        chips=sum(part.name.rpartition("/")[2].startswith("U") for part in machine.netlist.parts),
        properties=len(names),
        ours=ours,
        undecided=sum(not one.because.startswith("it rests on") for one in open_ones),
        reference=reference,
        decided=found is not None,
    )


def shown(name: str, one: Timed) -> str:
    """A line of the table."""
    ratio = f"{one.ours / one.reference:6.1f} x" if one.decided else "  (out of time)"
    return (
        f"{name:28} {one.chips:4} chips {one.properties:4} properties  ours {one.ours:7.2f} s "
        f"({one.undecided} open)  reference {one.reference:7.2f} s {ratio}\n"
    )


def main() -> None:
    """Print a line a board, the sums, and how time grows from one size to twice as many chips."""
    abc = shutil.which("berkeley-abc")
    if abc is None:
        raise SystemExit("berkeley-abc is not installed: apt-get install berkeley-abc")
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    largest = int(sys.argv[2]) if len(sys.argv) > 2 else max(CHIPS)
    done: list[Timed] = []
    grown: list[Timed] = []
    with tempfile.TemporaryDirectory() as name, as_file(files("breadproof.specs.boards")) as boards:
        folder = Path(name)
        paths = [boards / board for board in CORPUS]
        sizes = [chips for chips in CHIPS if chips <= largest]
        for chips in sizes:
            paths.append(folder / f"{chips}-chips.yaml")
            paths[-1].write_text(provable_board(chips // 10), "utf-8")
        paths.append(boards / LARGEST)
        for path in paths:
            one = timed(load_machine(path), abc, seconds, folder)
            done.append(one)
            if path.parent == folder:
                grown.append(one)
            sys.stdout.write(shown(path.stem, one))
            sys.stdout.flush()
    counted = [one for one in done if one.decided]
    ours, reference = sum(one.ours for one in counted), sum(one.reference for one in counted)
    sys.stdout.write(
        f"in total: ours {ours:.2f} s, reference {reference:.2f} s, {ours / reference:.1f} x\n"
    )
    for small, large in itertools.pairwise(grown):
        sys.stdout.write(
            f"{small.chips} to {large.chips} chips: ours {large.ours / small.ours:.1f} x, "
            f"reference {large.reference / small.reference:.1f} x\n"
        )


if __name__ == "__main__":
    main()
