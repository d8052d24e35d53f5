"""Whether the assumptions can go on for ever: they must not run into a dead end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Settler
from breadproof.specs.machine.steplogic import MonitorBit
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.solver import Deadline, Solver

MAX_STEPS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumptionAnswer:
    """``holds``: from wherever they got, another step is possible. Else why not."""

    verdict: Literal["holds", "fails", "undecided"]
    because: str


def check_assumptions(machine: Machine, deadline: Deadline) -> AssumptionAnswer:
    """Assumptions speak only of controls and their past, so only these are looked at.

    A step in which nothing changes must be possible wherever the assumptions led to, or else one
    in which one bit of a control changes. That more bits, or controls, may change together is not
    tried: where that could be a way out, the answer is "undecided".
    """
    assumes = [f for f in machine.logic.formulas if f.kind == "assume"]
    if not assumes:
        return AssumptionAnswer(verdict="holds", because="")
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
            answer = history.solver.check([history.stuck()], deadline.left)
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
        self.assumes = [f.bad for f in machine.logic.formulas if f.kind == "assume"]
        self.monitor_bits = self.needed_monitors()
        self.monitors = {monitor.leaf: self.aig.input() for monitor in self.monitor_bits}
        for monitor in self.monitor_bits:
            level = self.monitors[monitor.leaf] ^ (0 if monitor.initial else 1)
            self.solver.require(self.aig.or_([self.initial ^ 1, level]))
        self.solver.require(self.allowed(self.controls, self.monitors))

    def needed_monitors(self) -> list[MonitorBit]:
        graph, by_leaf = self.machine.graph, {m.leaf: m for m in self.machine.logic.monitors}
        needed: set[int] = set()
        stack = list(self.assumes)
        seen: set[int] = set()
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            if node in by_leaf:
                needed.add(node)
                stack.append(by_leaf[node].next)
            stack.extend(graph.operands(node))
        return [monitor for monitor in self.machine.logic.monitors if monitor.leaf in needed]

    def evaluate(self, nodes: list[int], leaves: dict[int, int]) -> list[int]:
        return of_controls(self.settler, nodes, leaves)

    def allowed(self, controls: dict[int, int], monitors: dict[int, int]) -> int:
        return allowed(self.settler, {**controls, **monitors})

    def following(self) -> dict[int, int]:
        nexts = self.evaluate(
            [monitor.next for monitor in self.monitor_bits], {**self.controls, **self.monitors}
        )
        leaves = [monitor.leaf for monitor in self.monitor_bits]
        return dict(zip(leaves, nexts, strict=True))

    def stuck(self) -> int:
        """Neither no change nor any change of one bit is allowed next."""
        monitors = self.following()
        ways = [self.allowed(self.controls, monitors)]
        for leaf in self.controls:
            ways.append(self.allowed({**self.controls, leaf: self.controls[leaf] ^ 1}, monitors))
        return self.aig.or_(ways) ^ 1

    def step(self) -> None:
        monitors = self.following()
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
