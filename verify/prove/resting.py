"""What a formula rests on: the storage in its cone, the pins at which it changes, open inputs."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.influence import closure
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
        """Index the strobes of storage and memories."""
        self.machine = machine
        self.checks = [check for check in checks if check.strobes]
        self.store_of = {store.leaf: number for number, store in enumerate(machine.stores)}
        self.strobes_of_store: dict[int, list[int]] = {}
        self.strobes_of_memory: dict[int, list[int]] = {}
        for number, strobe in enumerate(machine.strobes):
            for store in strobe.stores:
                self.strobes_of_store.setdefault(store, []).append(number)
            if strobe.memory is not None:
                self.strobes_of_memory.setdefault(strobe.memory, []).append(number)

    def resting(self, roots: list[int]) -> Resting:
        """What the nodes ``roots`` rest on.

        Whether something is written rests on write pins that neither pulse nor float; what is
        stored, on all checks of the pins at which it changes.
        """
        graph = self.machine.graph
        strobes: set[int] = set()
        seen = closure(self.machine, roots)[0]
        writing = self.writing(seen)
        open_high: set[str] = set()
        for node in seen:
            if graph.kinds[node] is Kind.READ:
                strobes.update(self.strobes_of_memory.get(graph.args[node][0], ()))
            leaf = graph.leaf_of(node)
            if leaf is not None and leaf.kind == "open":
                open_high.add(f"open-high:{leaf.name}")
            if node in self.store_of:
                strobes.update(self.strobes_of_store.get(self.store_of[node], ()))
        names = [
            check.name
            for check in self.checks
            if strobes & set(check.strobes)
            or (check.kind in ("glitch", "float") and writing & set(check.strobes))
        ]
        return Resting(checks=tuple(names), open_high=tuple(sorted(open_high)))

    def writing(self, seen: set[int]) -> set[int]:
        """The strobes of memories of which a formula among whose nodes are ``seen`` asks whether
        they are written."""
        graph = self.machine.graph
        asked = [one.node for one in self.machine.logic.gathered if one.leaf in seen]
        cone = set(graph.cone(asked, through_was=False))
        return {
            strobe
            for number, memory in enumerate(self.machine.memories)
            if memory.contents is None and memory.write in cone
            for strobe in self.strobes_of_memory.get(number, ())
        }
