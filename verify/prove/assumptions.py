"""Whether the assumptions can go on for ever: they must not run into a dead end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Settler
from breadproof.specs.machine.steplogic import CompiledFormula, MonitorBit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Deadline, Solver

MAX_STEPS = 6
MAX_WAIT = 5
"""What is assumed to come again must be able to come in fewer steps than this."""
MAX_WAYS = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumptionAnswer:
    """``holds``: from wherever they got, another step is possible, and all that is assumed to come
    again can come. Else why not. ``lasting`` is False if the latter is not proved."""

    verdict: Literal["holds", "fails", "undecided"]
    because: str
    lasting: bool = True


def check_assumptions(machine: Machine, deadline: Deadline) -> AssumptionAnswer:
    """Assumptions speak only of controls and their past, so only these are looked at.

    A step in which nothing changes must be possible wherever the assumptions led to, or else one
    in which one bit of a control changes. That more bits, or controls, may change together is not
    tried: where that could be a way out, the answer is "undecided".
    """
    assumes = [f for f in machine.logic.formulas if f.kind == "assume"]
    if not assumes:
        return AssumptionAnswer(verdict="holds", because="")
    answer = _go_on(machine, assumes, deadline)
    if answer.verdict != "holds":
        strong = any(f.awaited for f in assumes)
        return replace(answer, lasting=answer.lasting and not strong)
    for formula in assumes:
        for awaited in formula.awaited:
            if not _comes(machine, awaited.node, deadline):
                return AssumptionAnswer(
                    verdict="undecided",
                    because=f"that {formula.formula.name} can be kept from wherever the "
                    "assumptions led to is not proved",
                    lasting=False,
                )
    return answer


def _comes(machine: Machine, node: int, deadline: Deadline) -> bool:
    """Whether what a strong assumption waits for can come soon, from anywhere.

    If that is so for each of them, each run can go on in a way that they all allow: to the first
    one's, from there to the second one's, and so on for ever.
    """
    history = _History(machine)
    bits = history.bits([node, *(f.bad for f in machine.logic.formulas if f.kind == "assume")])
    aig = history.aig
    monitors = dict(history.monitors)
    ways = [(history.controls, monitors, Aig.true)]
    come: list[int] = []
    for _ in range(MAX_WAIT):
        for controls, monitors, possible in ways:
            (waits,) = history.evaluate([node], {**controls, **monitors})
            come.append(aig.and2(possible, waits ^ 1))
        if refuted(history.solver, [aig.or_(come) ^ 1], deadline.left) == "unsat":
            return True
        if len(ways) * (len(bits) + 1) > MAX_WAYS:
            return False
        ways = [
            (new, later, aig.and2(possible, history.allowed(new, later)))
            for controls, monitors, possible in ways
            for later in [history.following(controls, monitors)]
            for new in [controls, *({**controls, b: controls[b] ^ 1} for b in bits)]
        ]
    return False


def _go_on(
    machine: Machine, assumes: Sequence[CompiledFormula], deadline: Deadline
) -> AssumptionAnswer:
    history = _History(machine)
    steps = 0
    while steps <= MAX_STEPS:
        answer = history.solver.check([history.initial, history.stuck()], deadline.left)
        if answer == "sat":
            one_bit = all(len(leaves) == 1 for leaves in machine.controls.values())
            exact = one_bit and not machine.netlist.together
            names = ", ".join(f.formula.name for f in assumes)
            if exact:
                return AssumptionAnswer(
                    verdict="fails",
                    because=f"the assumptions ({names}) leave no next step after {steps} steps",
                )
            return AssumptionAnswer(
                verdict="undecided",
                because=f"the assumptions ({names}) may leave no next step after {steps} steps",
            )
        if answer == "unsat" and steps:
            answer = refuted(history.solver, [history.stuck()], deadline.left)
            if answer == "unsat":
                return AssumptionAnswer(verdict="holds", because="")
        if answer == "unknown":
            return AssumptionAnswer(verdict="undecided", because=history.solver.reason)
        if steps == 0 and history.solver.check([history.initial], deadline.left) == "unsat":
            return AssumptionAnswer(
                verdict="fails", because="the assumptions contradict each other in the first step"
            )
        history.step()
        steps += 1
    return AssumptionAnswer(
        verdict="undecided", because="whether the assumptions leave a next step is not proved"
    )


def of_controls(settler: Settler[int], nodes: list[int], leaves: dict[int, int]) -> list[int]:
    """Literals of nodes that look only at controls and their past, whose literals are given."""
    graph = settler.machine.graph
    values = {**leaves, 0: Aig.false, 1: Aig.true}
    for node in graph.cone(nodes):
        if node not in values:
            if graph.kinds[node] is Kind.LEAF:
                raise AssertionError("this looks at more than controls")
            values[node] = settler.level(node, values.__getitem__, _no_memory)
    return [values[node] for node in nodes]


def allowed(settler: Settler[int], leaves: dict[int, int]) -> int:
    """The controls' own limits and the assumptions, which look at controls and their past alone."""
    machine = settler.machine
    assumes = [one.bad for one in machine.logic.formulas if one.kind == "assume"]
    legal, *broken = of_controls(settler, [machine.legal, *assumes], leaves)
    return settler.of.and_([legal, *(settler.of.not_(bad) for bad in broken)])


class _History:
    """Controls over steps, without the board."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.aig = Aig()
        self.solver = Solver(self.aig)
        self.settler = Settler(machine, self.aig, [])
        self.initial = self.aig.input()
        self.controls = {
            leaf: self.aig.input() for leaves in machine.controls.values() for leaf in leaves
        }
        assumes = [f for f in machine.logic.formulas if f.kind == "assume"]
        self.assumes = [f.bad for f in assumes]
        self.assumes += [awaited.node for f in assumes for awaited in f.awaited]
        self.monitor_bits = self.needed_monitors()
        self.monitors = {monitor.leaf: self.aig.input() for monitor in self.monitor_bits}
        for monitor in self.monitor_bits:
            level = self.monitors[monitor.leaf] ^ (0 if monitor.initial else 1)
            self.solver.require(self.aig.or_([self.initial ^ 1, level]))
        self.solver.require(self.allowed(self.controls, self.monitors))

    def needed_monitors(self) -> list[MonitorBit]:
        seen = self.cone(self.assumes)
        return [monitor for monitor in self.machine.logic.monitors if monitor.leaf in seen]

    def bits(self, roots: Sequence[int]) -> list[int]:
        """The bits of controls that nodes look at, now or earlier."""
        seen = self.cone([*roots, self.machine.legal])
        return [leaf for leaf in self.controls if leaf in seen]

    def cone(self, roots: Sequence[int]) -> set[int]:
        """All that nodes are made of, in this step and before."""
        beyond = {m.leaf: (m.next,) for m in self.machine.logic.monitors}
        return set(self.machine.graph.cone(list(roots), beyond=beyond))

    def evaluate(self, nodes: list[int], leaves: dict[int, int]) -> list[int]:
        return of_controls(self.settler, nodes, leaves)

    def allowed(self, controls: dict[int, int], monitors: dict[int, int]) -> int:
        return allowed(self.settler, {**controls, **monitors})

    def following(self, controls: dict[int, int], monitors: dict[int, int]) -> dict[int, int]:
        nexts = self.evaluate(
            [monitor.next for monitor in self.monitor_bits], {**controls, **monitors}
        )
        leaves = [monitor.leaf for monitor in self.monitor_bits]
        return dict(zip(leaves, nexts, strict=True))

    def stuck(self) -> int:
        """Neither no change nor any change of one bit is allowed next."""
        monitors = self.following(self.controls, self.monitors)
        ways = [self.allowed(self.controls, monitors)]
        for leaf in self.controls:
            ways.append(self.allowed({**self.controls, leaf: self.controls[leaf] ^ 1}, monitors))
        return self.aig.or_(ways) ^ 1

    def step(self) -> None:
        monitors = self.following(self.controls, self.monitors)
        controls = {leaf: self.aig.input() for leaf in self.controls}
        changed = [
            self.aig.or_([self.aig.xor(self.controls[n], controls[n]) for n in leaves])
            for leaves in self.machine.controls.values()
        ]
        if not self.machine.netlist.together:
            for place, a in enumerate(changed):
                for b in changed[place + 1 :]:
                    self.solver.require(self.aig.and2(a, b) ^ 1)
        self.controls, self.monitors = controls, monitors
        self.solver.require(self.allowed(controls, monitors))


def _no_memory(memory: int, bit: int, address: object) -> int:
    raise AssertionError("an assumption reads no memory")
