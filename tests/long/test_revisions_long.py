"""Three hundred random pairs of revisions against ABC; a hundred boards drawn anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

from breadproof.specs.machine.build import build_machine
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.revisions.behaviour import Task, behaviour
from breadproof.verify.revisions.items import items_of
from breadproof.verify.revisions.links import link
from breadproof.verify.revisions.matching import match
from breadproof.verify.revisions.samewiring import same_wiring
from tests.random_boards.boards import build
from tests.revisions.boards import netlist_of
from tests.revisions.test_latency import agree
from tests.revisions.test_random_modules import agree as modules_agree
from tests.revisions.test_random_pairs import check
from tests.support.permuted import permuted


def test_three_hundred_pairs(tmp_path: Path, berkeley_abc: str) -> None:
    differ = 0
    for seed in range(150):
        same, other = check(tmp_path, 8_000 + seed, berkeley_abc)
        assert not same
        differ += other
    assert differ >= 75


def test_boards_drawn_anew_behave_alike() -> None:
    """The pairing finds the same wiring; and the proof, which is not told so, finds the same
    behaviour, with loops, floating nets, timers and switches on the boards."""
    alike = 0
    for seed in range(100):
        random = Random(seed)
        old = netlist_of(build(random))
        old = replace(old, formulas=(), together=(), reset=())
        new = permuted(old, random).netlist
        matching = match(old, new)
        assert same_wiring(matching)
        machines = build_machine(old, Problems()), build_machine(new, Problems())
        links = link(*machines, matching)
        task = Task(
            matching=matching, machines=machines, links=links,
            items=items_of(*machines, matching, links), changes=(), start="power-up", when=None,
            seconds=30,
        )  # fmt: skip
        found = behaviour(task)
        if found.answered is not None:
            fates = found.answered.fates.values()
            assert "differs" not in fates
            alike += "undecided" not in fates
    assert alike >= 50


def test_a_hundred_boards_that_are_later(tmp_path: Path, berkeley_abc: str) -> None:
    """Told apart, or proved to be so many beats later, as ABC does it."""
    differ = sum(agree(tmp_path, 5_000 + seed, 1 + seed % 3, berkeley_abc) for seed in range(100))
    assert differ >= 25


def test_a_hundred_modules(tmp_path: Path, berkeley_abc: str) -> None:
    """Boards beside Verilog, told apart or proved to be the same, as ABC does it."""
    differ = sum(modules_agree(tmp_path, 6_000 + seed, berkeley_abc) for seed in range(100))
    assert differ >= 25
