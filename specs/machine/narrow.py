"""A machine without what has no influence on some formulas: their cone of influence.

What is left is closed: it goes on as in the whole machine, whatever the rest does. So a run of the
whole is one of the part, and what no run of the part does no run of the whole does either.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import StepLogic


def narrowed(machine: Machine, nodes: Sequence[int]) -> Machine:
    """The part of a machine that decides about formulas with these nodes, and all assumptions.

    Formulas that look at anything else are left out, and nets and pins. All controls are left, and
    memories that are not read: their numbers count.
    """
    wanted = set(nodes)
    roots = [machine.legal, *nodes]
    for one in machine.logic.formulas:
        if one.kind == "assume" or not wanted.isdisjoint(one.nodes()):
            roots += one.nodes()
    kept, _ = closure(machine, roots)
    while more := [machine.counted[n] for n in kept if machine.counted.get(n, n) not in kept]:
        roots += more
        kept, _ = closure(machine, roots)
    loops = [loop for loop in machine.loops if not kept.isdisjoint(loop.leaves)]
    number = {id(loop): place for place, loop in enumerate(loops)}
    order = (
        entry if entry >= 0 else ~number[id(machine.loops[~entry])]
        for entry in machine.order
        if (entry in kept if entry >= 0 else id(machine.loops[~entry]) in number)
    )
    logic = machine.logic
    return replace(
        machine,
        order=tuple(order),
        stores=tuple(store for store in machine.stores if store.leaf in kept),
        loops=tuple(loops),
        nets=(),
        pins={},
        drives={},
        lamps={},
        strobes=(),
        switches={},
        free={name: leaf for name, leaf in machine.free.items() if leaf in kept},
        logic=StepLogic(
            monitors=tuple(one for one in logic.monitors if one.leaf in kept),
            gathered=tuple(one for one in logic.gathered if one.leaf in kept),
            formulas=tuple(
                one
                for one in logic.formulas
                if all(n in kept or n <= Graph.TRUE for n in one.nodes())
            ),
        ),
        first=tuple(one for one in machine.first if one[0] in kept),
    )
