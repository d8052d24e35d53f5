"""The part of a machine that decides about a formula goes on as the whole does.

The whole machine is the reference: both are walked from the same power-up with the same controls,
and the formula says the same at every quiet moment. That the whole is right is held against other
witnesses elsewhere (`tests.random_boards`).
"""

from __future__ import annotations

from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.narrow import narrowed
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import TraceRound
from breadproof.specs.machine.watch import Watcher
from tests.boards.corpus import BOARDS

NAMES = ["light-store.yaml", "quick-store.yaml", "sequencer.yaml", "mixer.yaml"]
STEPS = 12


class Walk(Watcher):
    """A walk that keeps no record of nets: a narrowed machine has none."""

    def record(self, now: Round[int]) -> TraceRound:
        return TraceRound(nets={}, choices={}, unknown=())


def begun(machine: Machine, seed: int) -> Walk:
    """A walk from a power-up that only leaves' names decide."""
    return Walk(
        machine,
        free=lambda reader: Random(f"{seed} {reader}").randint(0, 1),
        choice=lambda loop, cut: Random(f"{seed} {loop} {cut}").randint(0, 1),
        storage={one.label: Random(f"{seed} {one.label}").randint(0, 1) for one in machine.stores},
    )


@pytest.mark.parametrize("name", NAMES)
def test_what_is_left_has_all_that_it_is_made_of(name: str) -> None:
    machine = load_machine(BOARDS / name)
    for formula in machine.logic.formulas:
        part = narrowed(machine, [formula.bad])
        known = {0, 1, *(entry for entry in part.order if entry >= 0)}
        known |= {leaf for loop in part.loops for leaf in loop.leaves}
        needed = {arg for e in part.order if e >= 0 for arg in part.graph.operands(e)}
        for loop in part.loops:
            needed |= {*loop.externals, *loop.choices}
        needed |= {store.next for store in part.stores}
        assert needed <= known
        read = {part.graph.leaf_of(e) for e in part.order if e >= 0}
        stores = {(f"{one.part}.{one.storage}", one.bit) for one in part.stores}
        assert {(e.name, e.bit) for e in read if e is not None and e.kind == "store"} <= stores
    assert any(
        len(narrowed(machine, [formula.bad]).order) < len(machine.order)
        for formula in machine.logic.formulas
    )


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", range(2))
def test_it_goes_on_as_the_whole(name: str, seed: int) -> None:
    machine = load_machine(BOARDS / name)
    random = Random(seed)
    for formula in random.sample(machine.logic.formulas, 4):
        whole, part = begun(machine, seed), begun(narrowed(machine, [formula.bad]), seed)
        whole.power_up()
        part.power_up()
        said = formula.formula.name
        for _ in range(STEPS):
            assert part.said[said] == whole.said[said]
            control = random.choice(machine.netlist.controls)
            moved = {control.name: tuple(random.randint(0, 1) for _ in control.bits)}
            if control.exclusive and sum(moved[control.name]) > 1:
                continue
            whole.step(moved)
            part.step(moved)
