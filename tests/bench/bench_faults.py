"""What finds single wiring faults of the light-store, how often rules cry wolf, and what it costs.

Run by hand: ``python -m tests.bench.bench_faults [FAULTS]``. So many faults of each kind (100 if
left out) are drawn from those that `breadproof faults` makes, and two kinds that it does not: two
wires crossed, a supply wire forgotten (common practice of builders). The rules are measured on the
board as it stands on breadboards, everything on the board of nets. Times are of the processor.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

from breadproof.specs.load import load_board, load_machine, load_netlist
from breadproof.specs.netlist.connect import connect
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.board import Board
from breadproof.specs.reading.diagnostics import Problems, Severity
from breadproof.verify.faults.fault import KINDS, Fault
from breadproof.verify.faults.judge import Judge
from breadproof.verify.faults.run import Means, Wanted, faults_of
from breadproof.verify.faults.sound import find_sound
from breadproof.verify.faults.wirefaults import WireFaults
from breadproof.verify.wiring.registry import check_wiring

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"
UNBROKEN = ("light-store.yaml", "light-store-holes.yaml", "tempo.yaml", "sequencer.yaml")
Found = frozenset[tuple[str, tuple[str, ...]]]
DICE = Random(7400)


def findings(netlist: Netlist) -> Found:
    """Warnings and errors as (code, pins)."""
    told = check_wiring(netlist)
    return frozenset((f.code, f.pins) for f in told if f.severity is not Severity.NOTE)


def crossed(board: Board) -> Netlist:
    """Two wires with their second ends exchanged."""
    one, other = DICE.sample(range(len(board.wires)), 2)
    first, second = board.wires[one], board.wires[other]
    wires = list(board.wires)
    wires[one] = replace(first, ends=(first.ends[0], second.ends[1]))
    wires[other] = replace(second, ends=(second.ends[0], first.ends[1]))
    return connect(replace(board, wires=tuple(wires)), Problems())


def by_rules(number: int) -> None:
    """The share of faults that rules find on breadboards, and by which."""
    board, netlist, _ = load_board(BOARDS / "light-store-holes.yaml")
    sound = findings(netlist)
    wires = WireFaults(board, netlist)
    opens, moved = list(wires.opens()), list(wires.moved())
    supply = [one for one in opens if "+" in one.name or "lower-" in one.name]
    kinds: dict[str, Callable[[], Netlist]] = {
        "a wire left out": lambda: DICE.choice(opens).make(),
        "a supply wire left out": lambda: DICE.choice(supply).make(),
        "a wire one place off": lambda: DICE.choice(moved).make(),
        "two wires crossed": lambda: crossed(board),
    }
    for kind, make in kinds.items():
        by: Counter[str] = Counter()
        found = 0
        for _ in range(number):
            told = findings(make()) - sound
            found += bool(told)
            by.update({code for code, _ in told})
        rules = ", ".join(f"{code} {times}" for code, times in by.most_common())
        sys.stdout.write(f"{kind:28} {found} of {number} found: {rules}\n")


def judged(number: int) -> None:
    """The groups of some faults of each kind, and what a fault costs."""
    path = BOARDS / "light-store.yaml"
    machine = load_machine(path)
    start = time.process_time()
    faults, _ = faults_of(path, machine, Wanted(), Means(), ())
    sys.stdout.write(f"{len(faults)} faults made in {time.process_time() - start:.1f} s\n")
    sound = find_sound(machine, seconds=60, progress=lambda text: None, crew=None, store=None)
    judge = Judge(sound, 60.0)
    for kind in KINDS:
        some = [fault for fault in faults if fault.kind == kind]
        _judged(judge, kind, DICE.sample(some, min(number, len(some))))


def _judged(judge: Judge, kind: str, faults: Sequence[Fault]) -> None:
    groups: Counter[str] = Counter()
    start = time.process_time()
    for fault in faults:
        groups[(judge.by_rules(fault) or judge.by_proof(fault)).group] += 1
    each = (time.process_time() - start) / max(1, len(faults))
    told = ", ".join(f"{group} {times}" for group, times in groups.most_common())
    sys.stdout.write(f"{kind:28} {each:.2f} s a fault: {told}\n")


def main() -> None:
    """Print the false alarms, then what rules find, then what all checks find."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for name in UNBROKEN:
        alarms = len(findings(load_netlist(BOARDS / name)))
        sys.stdout.write(f"{name:28} {alarms} false alarms\n")
    by_rules(number)
    judged(number)


if __name__ == "__main__":
    main()
