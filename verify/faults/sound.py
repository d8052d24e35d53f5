"""The board without a fault, and all that is known of it: what a fault is held against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.crew import Crew
from breadproof.verify.prove.keeper import Keeper
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.store import Remembered, Store
from breadproof.verify.prove.verdict import Result
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring

Found = tuple[str, tuple[str, ...]]
"""A finding by its rule and pins."""


@dataclass(frozen=True, kw_only=True)
class Sound:
    """The board as its file has it. ``results`` are those of all that is proved of it."""

    machine: Machine
    wiring: tuple[Finding, ...]
    results: tuple[Result, ...]
    contacts: Machine
    """The board for a comparison of behaviour; see `for_comparison`."""
    remembered: Store | None = None
    """What was proved of it, for boards with faults of which the same is asked."""

    @property
    def netlist(self) -> Netlist:
        """The board as it is wired."""
        return self.machine.wired

    @cached_property
    def verdicts(self) -> dict[str, str]:
        """By name of a result."""
        return {result.name: result.verdict for result in self.results}

    @cached_property
    def told(self) -> frozenset[Found]:
        """What the wiring rules say of it."""
        return frozenset((finding.code, finding.pins) for finding in self.wiring)

    def detects(self, name: str) -> bool:
        """Whether a check that fails with a fault tells of the fault: it does not fail without."""
        return self.verdicts.get(name, "holds") in ("holds", "covered")


def find_sound(
    machine: Machine,
    *,
    seconds: float,
    progress: Callable[[str], None],
    crew: Crew | None,
    store: Store | None,
) -> Sound:
    """All that is known of a board.

    Raises:
        KeyboardInterrupt: by Ctrl-C.
    """
    progress("the board without a fault")
    prover = Prover(machine, seconds=seconds, progress=progress, crew=crew, store=store)
    results = prover.run()
    if prover.interrupted:
        raise KeyboardInterrupt
    return Sound(
        machine=machine,
        wiring=check_wiring(machine.wired),
        results=results,
        contacts=for_comparison(machine.wired),
        remembered=remember(prover),
    )


def remember(prover: Prover) -> Store:
    """What a prover found out, as a store of this process alone."""
    store = Remembered(Path())
    prover.keeper = Keeper(prover.machine, store)
    if prover.known.quiet is not None and prover.rounds:
        prover.keeper.begin(prover.known.quiet)
        prover.keep()
    return store


def for_comparison(netlist: Netlist) -> Machine:
    """The machine of a board with its assumptions alone.

    What the world moves are the contacts, bouncing or not, as in `revisions.compare`; assumptions
    about fingers would be about contacts here, and are left aside with the bouncing.
    """
    bouncing = set(netlist.bounces)
    assumes = tuple(f for f in netlist.formulas if f.kind == "assume") if not bouncing else ()
    problems = Problems()
    machine = build_machine(replace(netlist, formulas=assumes, bounces=()), problems)
    problems.stop_if_any()
    return machine
