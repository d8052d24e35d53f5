"""Boards with faults, found and looked at.

The second evaluator is `tests.support.second_evaluator`, which was written from design.md alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from itertools import product
from pathlib import Path

import yaml

from breadproof.specs.netlist.model import Netlist
from breadproof.verify.faults.fault import KINDS, Fault, Kind
from breadproof.verify.faults.judged import Judged
from breadproof.verify.faults.run import FaultReport, Means, Wanted, find_faults
from tests.support.second_evaluator import SecondBoard

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"
REVISIONS = BOARDS / "revisions"

Inputs = Mapping[str, int]


@cache
def faults_of(
    path: Path, kind: Kind | None = None, *, parts: tuple[str, ...] = (), strict: bool = False
) -> FaultReport:
    """All faults, or those of a kind, judged in this process."""
    kinds = KINDS if kind is None else (kind,)
    wanted = Wanted(kinds=kinds, parts=parts, strict=strict)
    return find_faults(path, wanted, Means(seconds=60))


def judged(report: FaultReport) -> Iterator[tuple[Fault, Judged]]:
    """Each fault with its group."""
    yield from zip(report.faults, report.judged, strict=True)


def group(report: FaultReport, name: str) -> Judged:
    """What was found out about the fault of that name, or the one that stands for it."""
    return next(one for fault, one in judged(report) if name in (fault.name, *fault.same))


def inputs_of(netlist: Netlist) -> Iterator[Inputs]:
    """All levels of a board's input ports of one net each."""
    names = [port.name for port in netlist.ports if port.direction == "in"]
    for levels in product((0, 1), repeat=len(names)):
        yield dict(zip(names, levels, strict=True))


def levels(netlist: Netlist, inputs: Inputs, free: int) -> dict[str, int]:
    """The nets of a board without storage, by the second evaluator, under the names of the board
    without a fault; what floats or is fought over reads ``free``."""
    controls = {name: (level,) for name, level in inputs.items()}
    board = SecondBoard(netlist, controls, {}, {})
    found = board.power_up(lambda reader: free, lambda number: None)[-1].nets
    names = dict(netlist.aliases)
    return dict(found) | {name: found[netlist.nets[net].name] for name, net in names.items()}


def redundant() -> set[str]:
    """The faults of light-store that make no difference, as `light-store.yaml` here lists them."""
    path = Path(__file__).with_name("light-store.yaml")
    groups = yaml.safe_load(path.read_text("utf-8"))["redundant"]
    return {name for group in groups for name in group["faults"]}
