"""A sample of light-store's faults; all of them are in `tests/long/test_faults_long.py`."""

from __future__ import annotations

from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judge import Judge
from breadproof.verify.faults.run import Means, Wanted, faults_of
from breadproof.verify.faults.sound import Sound, for_comparison
from breadproof.verify.wiring.registry import check_wiring
from tests.faults.support import BOARDS, redundant

STORE = BOARDS / "light-store.yaml"
SEED, SAMPLE = 7, 6


@pytest.fixture(scope="module")
def judge() -> Judge:
    """All that is claimed of the board is taken to hold: `tests/boards` proves it."""
    machine = load_machine(STORE)
    sound = Sound(
        machine=machine,
        wiring=check_wiring(machine.wired),
        results=(),
        contacts=for_comparison(machine.wired),
    )
    return Judge(sound, 60.0)


@pytest.fixture(scope="module")
def faults(judge: Judge) -> list[Fault]:
    wanted = Wanted(kinds=("open", "moved", "bridge"))
    found, _ = faults_of(STORE, judge.sound.machine, wanted, Means(), ())
    return found


def test_there_are_some_hundreds(faults: list[Fault]) -> None:
    assert len(faults) > 1000


def test_a_sample_is_detected(judge: Judge, faults: list[Fault]) -> None:
    told = redundant()
    others = [fault for fault in faults if told.isdisjoint((fault.name, *fault.same))]
    for fault in Random(SEED).sample(others, SAMPLE):
        one = judge.by_rules(fault) or judge.by_proof(fault)
        assert one.group == "detected", fault.name


def test_what_is_said_to_make_no_difference_makes_none(judge: Judge, faults: list[Fault]) -> None:
    told = redundant()
    spare = [fault for fault in faults if fault.name in told]
    for fault in Random(SEED).sample(spare, 1):
        one = judge.by_rules(fault) or judge.by_proof(fault)
        assert one.group == "redundant", fault.name
