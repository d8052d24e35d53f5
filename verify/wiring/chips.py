"""What the pins of a chip have to do with each other, read off its part file's formulas."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.catalogue.part import Role
from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import PinDrive, StrobeKind
from breadproof.specs.machine.partlogic import Built, build_part
from breadproof.specs.netlist.model import Part, Pin

_Thing = tuple[str, str, int]
"""("pin", number, 0), ("store", name, bit) or ("memory", name, bit)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stuck:
    """What no longer works with one input held at a level; pins by name, in order of the part.

    ``silent``: outputs that never drive. ``high`` and ``low``: outputs that stay there.
    ``ignored``: inputs that no output looks at any more; ``taken``: data inputs that are still
    looked at, if others are not.
    """

    silent: tuple[str, ...]
    high: tuple[str, ...]
    low: tuple[str, ...]
    ignored: tuple[str, ...]
    taken: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """An analogue switch: the pins that it joins, and the inputs that close it, by number."""

    joins: tuple[str, str]
    inputs: tuple[str, ...]


class Chip:
    """Dependencies between the pins of one type of chip. Pins are called by their numbers."""

    def __init__(self, part: Part) -> None:
        """Build the part's formulas once; any part of the type will do."""
        self.graph = Graph()
        self.built = Built()
        self.pins = {pin.number: pin for pin in part.pins}
        self.leaves = {
            pin.name: self.graph.leaf("free", pin.number) for pin in part.pins if pin.kind.reads
        }
        self.memories = part.type.memories
        build_part(self.graph, part, self.leaves, 0, self.built)
        self.drives: dict[str, PinDrive] = {
            pin.number: self.built.drives[pin.label]
            for pin in part.pins
            if pin.label in self.built.drives
        }
        self.switches = tuple(
            Joint(joins=self._joins(switch.joins), inputs=self._pins_of(closed))
            for switch, closed in zip(part.type.switches, self.built.switches.values(), strict=True)
        )
        self._direct = self._dependencies()

    def _joins(self, names: tuple[str, str]) -> tuple[str, str]:
        numbers = {pin.name: pin.number for pin in self.pins.values()}
        return numbers[names[0]], numbers[names[1]]

    def _pins_of(self, node: int) -> tuple[str, ...]:
        looked_at = self._looks_at((node,), follow_ram=False)
        return tuple(number for kind, number, _ in looked_at if kind == "pin")

    def through_logic(self, output: str) -> tuple[str, ...]:
        """The inputs that an output follows at once: through gates, not through storage."""
        drive = self.drives[output]
        return tuple(
            number
            for kind, number, _ in self._looks_at((drive.level, drive.when), follow_ram=False)
            if kind == "pin"
        )

    def strobes(self) -> dict[str, StrobeKind]:
        """The inputs whose level or edge alone changes storage, and how.

        A memory's chip select is left out: the write pin is what pulses. A clear or load that
        waits for the clock is none of them.
        """
        found: dict[str, StrobeKind] = {}
        for strobe in self.built.strobes:
            pins = [self.pins[label.rpartition(".")[2]] for label in strobe.pins]
            writes = [pin for pin in pins if pin.role is Role.WRITE]
            for pin in writes if strobe.kind == "write" and writes else pins:
                found.setdefault(pin.number, strobe.kind)
        for pin in self.pins.values():
            if pin.role is Role.WRITE:
                found.setdefault(pin.number, "write")
        return found

    def reached_from(self, pin: str) -> tuple[str, ...]:
        """The outputs that an input matters to, storage included; never the pin itself.

        The pins of an analogue switch count as outputs of what closes it.
        """
        reached = [
            number for switch in self.switches if pin in switch.inputs for number in switch.joins
        ]
        for output in self.drives:
            if pin in self.depends_on(output) and output != pin:
                reached.append(output)
        return tuple(dict.fromkeys(reached))

    def depends_on(self, output: str) -> frozenset[str]:
        """The inputs that matter to an output, through storage too."""
        seen: set[_Thing] = set()
        stack = list(self._direct["output", output, 0])
        while stack:
            thing = stack.pop()
            if thing not in seen:
                seen.add(thing)
                stack.extend(self._direct.get(thing, ()))
        return frozenset(name for kind, name, _ in seen if kind == "pin")

    def stuck(self, pin: Pin, high: bool) -> Stuck:
        """What no longer works while an input is held at a level."""
        roots = [node for drive in self.drives.values() for node in (drive.level, drive.when)]
        new = {self.leaves[pin.name]: Graph.TRUE if high else Graph.FALSE}
        self.graph.substitute(roots, new)
        silent: list[str] = []
        stays: tuple[list[str], list[str]] = ([], [])
        before: list[_Thing] = []
        after: set[_Thing] = set()
        for number, drive in self.drives.items():
            name, level, when = self.pins[number].name, new[drive.level], new[drive.when]
            before += self._looks_at((drive.level, drive.when), follow_ram=True)
            after.update(self._looks_at((level, when), follow_ram=True))
            if when == Graph.FALSE and not self.pins[number].kind.sinks:
                silent.append(name)
            elif when == Graph.FALSE:
                stays[1].append(name)
            elif level <= 1 and drive.level > 1:
                stays[level].append(name)
        kept = {number for kind, number, _ in after if kind == "pin"}
        lost = {number for kind, number, _ in before if kind == "pin"} - kept - {pin.number}
        return Stuck(
            silent=tuple(silent),
            high=tuple(stays[1]),
            low=tuple(stays[0]),
            ignored=tuple(p.name for p in self.pins.values() if p.number in lost),
            taken=tuple(
                p.name
                for p in self.pins.values()
                if p.number in kept and p.role is Role.DATA and lost
            ),
        )

    def _looks_at(self, roots: tuple[int, ...], *, follow_ram: bool) -> list[_Thing]:
        """Pins, storage and memory bits in the cones of nodes, in order of the nodes."""
        found: list[_Thing] = []
        seen: set[int] = set()
        stack = list(roots)
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            if self.graph.kinds[node] is Kind.READ:
                number, bit = self.graph.args[node][:2]
                memory = self.memories[number]
                found.append(("memory", memory.name, bit))
                if memory.write is not None and not follow_ram:
                    continue
            leaf = self.graph.leaf_of(node)
            if leaf is not None:
                kind = "pin" if leaf.kind == "free" else "store"
                found.append((kind, leaf.name.rpartition(".")[2], leaf.bit))
            stack.extend(reversed(self.graph.operands(node)))
        return found

    def _dependencies(self) -> dict[_Thing, list[_Thing]]:
        """What each output, storage bit and memory bit looks at directly."""
        direct: dict[_Thing, list[_Thing]] = {}
        for number, drive in self.drives.items():
            direct["output", number, 0] = self._looks_at((drive.level, drive.when), follow_ram=True)
        for store in self.built.stores:
            direct["store", store.storage, store.bit] = self._looks_at(
                (store.next, store.clock), follow_ram=True
            )
        for unit in self.built.memories:
            for bit, data in enumerate(unit.data):
                direct["memory", unit.storage, bit] = self._looks_at(
                    (data, unit.write, *unit.address), follow_ram=True
                )
        return direct
