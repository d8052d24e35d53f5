"""Traces of the Machine run through the exported modules; wrong ones are told."""

import random
from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.export.replay import replay
from breadproof.export.simulate import Bench
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace, TraceStep
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.model import Control
from tests.export import boards


def legal(control: Control, dice: random.Random) -> tuple[int, ...]:
    """Any state of a control; a change-over switch stands in one position or in none."""
    if control.exclusive:
        at = dice.randrange(len(control.bits) + 1)
        return tuple(int(at == bit) for bit in range(len(control.bits)))
    return tuple(dice.getrandbits(1) for _ in control.bits)


def walked(machine: Machine, seed: int, steps: int = 14) -> Trace:
    """A trace from random content, controls, free levels and choices."""
    dice = random.Random(seed)
    walker = Walker(
        machine,
        free=lambda reader: dice.getrandbits(1),
        choice=lambda loop, cut: dice.getrandbits(1),
        storage={store.label: dice.getrandbits(1) for store in machine.stores},
        controls={control.name: legal(control, dice) for control in machine.netlist.controls},
    )
    words: dict[str, dict[int, int]] = {}
    for memory, held in zip(machine.memories, walker.memories, strict=True):
        words[memory.label] = {address: dice.getrandbits(memory.bits) for address in range(4)}
        for address, word in words[memory.label].items():
            held[address] = word
    start = dict(walker.storage)
    found = [walker.power_up()]
    for _ in range(steps):
        controls = machine.netlist.controls
        changed = dice.sample(controls, 1 + (machine.netlist.together == "all"))
        found.append(walker.step({one.name: legal(one, dice) for one in changed}))
    return Trace(storage=start, words=words, loops={}, steps=tuple(found))


@pytest.mark.parametrize("text", boards.ALL, ids=lambda text: text.split()[1])
def test_walks_of_the_machine_replay(tmp_path: Path, text: str) -> None:
    machine = boards.machine_of(tmp_path, text)
    bench = Bench(machine.netlist)
    for seed in range(6):
        # one bench for all: nothing of a run may be left on it
        found = replay(machine.netlist, walked(machine, seed), bench)
        assert found.agrees, found.differences
        assert found.differences == ()


def released(level: int, folder: Path) -> tuple[Machine, Trace]:
    """A latch whose two buttons are let go of in one step: it may take either level."""
    machine = boards.machine_of(folder, boards.LATCH)
    walker = Walker(machine, choice=lambda loop, cut: level)
    walker.controls = {"SET": (1,), "RST": (1,)}
    steps = [walker.power_up(), walker.step({"SET": (0,), "RST": (0,)})]
    return machine, Trace(storage={}, words={}, loops={}, steps=tuple(steps))


def test_either_outcome_of_a_race_replays(tmp_path: Path) -> None:
    seen = set()
    for level in (0, 1):
        machine, trace = released(level, tmp_path)
        assert replay(machine.netlist, trace).agrees
        seen.add(trace.steps[-1].nets["q"])
    assert seen == {0, 1}


def test_a_loop_cannot_change_its_mind_while_nothing_moves(tmp_path: Path) -> None:
    machine, trace = released(1, tmp_path)
    _, other = released(0, tmp_path)
    same = replace(trace.steps[-1])
    flipped = replace(other.steps[-1], controls=same.controls)
    found = replay(machine.netlist, replace(trace, steps=(*trace.steps, flipped)))
    assert not found.agrees
    assert any("step 2, round 0: q is" in text for text in found.differences)
    assert replay(machine.netlist, replace(trace, steps=(*trace.steps, same))).agrees


def test_a_level_the_gates_do_not_give_is_told(tmp_path: Path) -> None:
    machine, trace = released(1, tmp_path)
    last = trace.steps[-1]
    wrong = replace(last.rounds[-1], nets={**last.rounds[-1].nets, "q": 1, "q_n": 1})
    steps = (trace.steps[0], replace(last, rounds=(*last.rounds[:-1], wrong)))
    assert not replay(machine.netlist, replace(trace, steps=steps)).agrees


@pytest.fixture(scope="module")
def counted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Machine, Trace]:
    """A ripple counter that counts from 1 to 2: three rounds."""
    machine = boards.machine_of(tmp_path_factory.mktemp("ripple"), boards.RIPPLE)
    walker = Walker(machine, storage={"U1.R1[0]": 1})
    steps = [walker.power_up(), walker.step({"CK": (1,)})]
    trace = Trace(storage={"U1.R1[0]": 1}, words={}, loops={}, steps=tuple(steps))
    assert len(trace.steps[1].rounds) == 3
    assert replay(machine.netlist, trace).agrees
    return machine, trace


def changed(trace: Trace, step: TraceStep) -> Trace:
    return replace(trace, steps=(trace.steps[0], step))


def test_a_net_that_differs_is_named(counted: tuple[Machine, Trace]) -> None:
    machine, trace = counted
    step = trace.steps[1]
    wrong = replace(step.rounds[2], nets={**step.rounds[2].nets, "q1": 0})
    found = replay(machine.netlist, changed(trace, replace(step, rounds=(*step.rounds[:2], wrong))))
    assert found.differences == ("step 1, round 2: q1 is 1 in the modules, 0 in the trace",)


def test_a_round_too_few_or_too_many_is_told(counted: tuple[Machine, Trace]) -> None:
    machine, trace = counted
    step = trace.steps[1]
    short = replay(machine.netlist, changed(trace, replace(step, rounds=step.rounds[:2])))
    assert short.differences == (
        "step 1: the modules' board goes on after round 1, the trace has 2 rounds",
    )
    rounds = (*step.rounds, step.rounds[-1])
    long = replay(machine.netlist, changed(trace, replace(step, rounds=rounds)))
    assert long.differences == (
        "step 1: the modules' board is quiet after round 2, the trace has 4 rounds",
    )


def test_a_write_that_did_not_happen_is_told(counted: tuple[Machine, Trace]) -> None:
    machine, trace = counted
    found = replay(machine.netlist, changed(trace, replace(trace.steps[1], writes=("U9",))))
    assert found.differences == ("step 1: the modules write in no part, the trace in U9",)


def test_other_storage_at_power_up_is_told(counted: tuple[Machine, Trace]) -> None:
    machine, trace = counted
    found = replay(machine.netlist, replace(trace, storage={}))
    assert found.differences[0] == "step 0, round 0: q0 is 0 in the modules, 1 in the trace"
