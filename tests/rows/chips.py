"""Every way of a chip, ready to run its rows."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from breadproof.specs.machine.machine import Machine
from breadproof.verify.rows.judging import trials
from breadproof.verify.rows.ways import OnBench, OnMachine, machine_of
from tests.rows.icarus import Exported, OnIcarus, exported
from tests.rows.judging import NUMBERS, Way, on, placed
from tests.rows.proofs import InProofs


@cache
def machine(number: str) -> Machine:
    """The machine of a board with that chip alone."""
    return machine_of([placed(number)])


def in_machine(number: str) -> Way:
    return on(OnMachine(placed(number), machine(number)))


def in_amaranth(number: str) -> Way:
    return on(OnBench(placed(number), machine(number)))


def in_proofs(number: str) -> Way:
    return InProofs(placed(number), machine(number)).judge


TOGETHER = 8
"""So many plain chips are exported as one board, for the sake of yosys' start-up."""


def plain(number: str) -> bool:
    """Whether a chip has no memory and no pin that works both ways, so that its board is small and
    has no loops."""
    part = placed(number).part
    both = any(pin.kind.both_ways for pin in part.pins)
    return not (both or part.memories or part.switches)


@cache
def boards() -> dict[str, tuple[str, ...]]:
    """For every chip the chips of the board that it is exported on, itself included."""
    plains = [number for number in NUMBERS if plain(number)]
    groups = [tuple(plains[at : at + TOGETHER]) for at in range(0, len(plains), TOGETHER)]
    return {number: group for group in groups for number in group}


@cache
def board(numbers: tuple[str, ...]) -> Exported:
    """A board of chips, exported."""
    return exported(machine_of([placed(number) for number in numbers]))


def in_icarus(number: str, iverilog: str, seed: int = 0) -> Way:
    chip = placed(number)
    shared = board(boards().get(number, (number,)))
    return on(OnIcarus(iverilog, chip, shared, trials(chip, seed)))


WAYS: dict[str, Callable[[str], Way]] = {
    "machine": in_machine,
    "amaranth": in_amaranth,
    "proofs": in_proofs,
}
"""The ways that need nothing but Python."""
