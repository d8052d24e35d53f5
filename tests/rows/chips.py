"""Every way of a chip, ready to run its rows."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from breadproof.specs.machine.machine import Machine
from breadproof.verify.rows.judging import trials
from breadproof.verify.rows.ways import OnBench, OnMachine, machine_of
from tests.rows.icarus import OnIcarus
from tests.rows.judging import Way, on, placed
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


def in_icarus(number: str, iverilog: str, seed: int = 0) -> Way:
    chip = placed(number)
    return on(OnIcarus(iverilog, chip, machine(number), trials(chip, seed)))


WAYS: dict[str, Callable[[str], Way]] = {
    "machine": in_machine,
    "amaranth": in_amaranth,
    "proofs": in_proofs,
}
"""The ways that need nothing but Python."""
