"""What a formula rests on: the storage in its cone, the pins at which it changes, open inputs."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.checks import Check


@dataclass(frozen=True, slots=True, kw_only=True)
class Resting:
    """``checks`` are names of glitch, race and float checks; ``open_high`` of open pins."""

    checks: tuple[str, ...]
    open_high: tuple[str, ...]


class Cones:
    """Finds what nodes of one machine rest on."""

    def __init__(self, machine: Machine, checks: tuple[Check, ...]) -> None:
        """Index the machine's storage, loops and formulas' memories."""
        self.machine = machine
        self.checks = [check for check in checks if check.kind != "fights"]
        self.store_of = {store.leaf: number for number, store in enumerate(machine.stores)}
        self.loop_of = {leaf: loop for loop in machine.loops for leaf in loop.leaves}
        self.monitor_of = {monitor.leaf: monitor.next for monitor in machine.logic.monitors}
        self.gathered_of = {one.leaf: one.node for one in machine.logic.gathered}
        self.strobes_of_store: dict[int, list[int]] = {}
        self.strobes_of_memory: dict[int, list[int]] = {}
        for number, strobe in enumerate(machine.strobes):
            for store in strobe.stores:
                self.strobes_of_store.setdefault(store, []).append(number)
            if strobe.memory is not None:
                self.strobes_of_memory.setdefault(strobe.memory, []).append(number)

    def resting(self, roots: list[int]) -> Resting:
        """What the nodes ``roots`` rest on."""
        graph, machine = self.machine.graph, self.machine
        seen: set[int] = set()
        strobes: set[int] = set()
        open_high: set[str] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            stack.extend(graph.operands(node))
            if graph.kinds[node] is Kind.READ:
                memory = machine.memories[graph.args[node][0]]
                stack += [memory.write, *memory.address, *memory.data]
                strobes.update(self.strobes_of_memory.get(graph.args[node][0], ()))
            leaf = graph.leaf_of(node)
            if leaf is not None and leaf.kind == "open":
                open_high.add(f"open-high:{leaf.name}")
            stack += self.behind(node)
            if node in self.store_of:
                strobes.update(self.strobes_of_store.get(self.store_of[node], ()))
        names = [check.name for check in self.checks if strobes & set(check.strobes)]
        return Resting(checks=tuple(names), open_high=tuple(sorted(open_high)))

    def behind(self, node: int) -> list[int]:
        """What decides a leaf in earlier rounds or steps."""
        if node in self.store_of:
            return [self.machine.stores[self.store_of[node]].next]
        if node in self.loop_of:
            return [*self.loop_of[node].functions]
        if node in self.monitor_of:
            return [self.monitor_of[node]]
        if node in self.gathered_of:
            return [self.gathered_of[node]]
        return []
