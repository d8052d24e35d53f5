"""What a part's rows notice: its rows on copies of the chip, each with one fault.

Lane 0 is the chip as it is, each other lane a chip with one fault: a pin whose level inside the
chip is stuck low or high whatever is put on it, or a node of its formulas that is. A fault is found
if any row comes out wrong in its lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.judging import Trial, trials
from breadproof.verify.rows.ways import machine_of, word_bit
from tests.against.lanes import Lanes

Fault = tuple[str, int]
"""A pin or node, and the level at which it is stuck."""
Look = tuple[int, int]
"""The lanes in which something drives, and its level."""


@dataclass(slots=True)
class Rows:
    """A chip's rows on faulty copies. ``found`` are the lanes in which a row came out wrong,
    ``shown`` what the rows expect of each pin that drives."""

    chip: Placed
    machine: Machine
    pins: Sequence[Fault] = ()
    nodes: Sequence[tuple[int, int]] = ()
    edges: Sequence[tuple[int, int]] = ()
    """Nodes, each with the operand that counts for its inverse."""
    found: int = 0
    shown: set[tuple[str, str]] = field(default_factory=set)
    lanes: Lanes = field(init=False)
    held: dict[str, tuple[int, int]] = field(init=False)
    labels: dict[str, str] = field(init=False)
    joined: dict[str, int] = field(init=False)
    """The nets of pins that analogue switches join."""

    def __post_init__(self) -> None:
        """Give every fault its lane."""
        count = 1 + len(self.pins) + len(self.nodes) + len(self.edges)
        turned: dict[int, dict[int, int]] = {}
        for place, (node, operand) in enumerate(self.edges, count - len(self.edges)):
            turned.setdefault(node, {})[operand] = 1 << place
        stuck: dict[int, tuple[int, int]] = {}
        for place, (node, level) in enumerate(self.nodes, 1 + len(self.pins)):
            stuck[node] = _with(stuck.get(node, (0, 0)), place, level)
        self.held = {}
        here = set(self.machine.order)
        numbers = {pin.name: pin.number for pin in self.chip.part.pins}
        for place, (pin, level) in enumerate(self.pins, 1):
            node = self.machine.pins[f"{self.chip.name}.{numbers[pin]}"].level
            net = self.chip.net(pin)
            if node in here:
                stuck[node] = _with(stuck.get(node, (0, 0)), place, level)
            else:  # a part of a loop through the pin's own net: what is put on the pin is stuck
                self.held[net] = _with(self.held.get(net, (0, 0)), place, level)
        self.lanes = Lanes(self.machine, count, Random(0), stuck, turned, alike=True)
        self.labels = {
            pin.name: f"{self.chip.name}.{pin.number}"
            for pin in self.chip.part.pins
            if pin.kind.drives
        }
        self.joined = {}
        for name in self.chip.part.switch_pins:
            found = self.machine.netlist.net(self.chip.net(name))
            assert found is not None
            self.joined[name] = found.index

    def run(self) -> None:
        """All runs of all tables.

        Raises:
            AssertionError: a row came out wrong in lane 0, where there is no fault.
        """
        for trial in trials(self.chip):
            self.one(trial)
            assert not self.found & 1, f"{self.chip.part.number}: {trial.table.origin}"

    def one(self, trial: Trial) -> None:
        """One run."""
        self.lanes.dice = dice = trial.dice()
        self.lanes.begin()
        self.put(trial.idle(dice))
        for label, level in trial.drawn(list(self.lanes.storage), dice).items():
            self.lanes.storage[label] = self.lanes.bits.true * level
        self.found |= self.lanes.run()
        watched = trial.watched()
        before: dict[str, Look] = {}
        for stimulus, ends in trial.ends():
            self.put(dict(stimulus.inputs))
            self.found |= self.lanes.run()
            seen = {name: self.see(name) for name in watched}
            for name, says in stimulus.expect:
                self.compare(name, says, seen[name], before.get(name))
            if ends:
                before = seen

    def put(self, levels: Mapping[str, int | None]) -> None:
        """Put levels on pins; those that are stuck stay."""
        every = self.lanes.bits.true
        for pin, level in levels.items():
            net = self.chip.net(pin)
            low, high = self.held.get(net, (0, 0))
            bits = self.lanes.controls[net]
            bits[-1] = every * (level or 0) & ~low | high
            if len(bits) > 1:
                bits[0] = every * (level is not None)

    def see(self, name: str) -> Look:
        """A pin, or a bit of storage or of a word, which always "drives"."""
        every = self.lanes.bits.true
        if name in self.joined:
            net = self.machine.nets[self.joined[name]]
            return self.lanes.level(net.driven), self.lanes.level(net.level)
        if name in self.labels:
            drive = self.machine.drives[self.labels[name]]
            return self.lanes.level(drive.when), self.lanes.level(drive.level)
        word = word_bit(name)
        if word is None:
            return every, self.lanes.storage[f"{self.chip.name}.{name}"]
        memory = [m.storage for m in self.machine.memories].index(word[0])
        levels = [
            self.lanes.word(memory, lane, word[1]) >> word[2] & 1
            for lane in range(self.lanes.count)
        ]
        return every, int("".join(map(str, reversed(levels))), 2)

    def compare(self, name: str, says: str, seen: Look, before: Look | None) -> None:
        """Note the lanes in which a pin or bit is not what a row says."""
        every, (when, level) = self.lanes.bits.true, seen
        match says:
            case "H":
                right = when & level
            case "L":
                right = when & ~level
            case "Z":
                right = every & ~when
            case _:
                assert before is not None
                apart = level ^ before[1] ^ (every if says == "!" else 0)
                both = when & before[0]
                right = both & ~apart
                if says == "=":
                    right |= every & ~(when | before[0])
        self.found |= every & ~right
        if name in self.labels or name in self.joined:
            self.shown.add((name, "Z" if not when & 1 else "LH"[level & 1]))

    def missed_pins(self) -> set[Fault]:
        """The stuck pins that no row noticed."""
        return {fault for place, fault in enumerate(self.pins, 1) if not self.found >> place & 1}

    def missed_edges(self) -> set[tuple[int, int]]:
        """The operands that no row noticed to be inverted."""
        first = 1 + len(self.pins) + len(self.nodes)
        return {
            fault for place, fault in enumerate(self.edges, first) if not self.found >> place & 1
        }

    def missed_nodes(self) -> set[tuple[int, int]]:
        """The stuck nodes that no row noticed."""
        first = 1 + len(self.pins)
        return {
            fault for place, fault in enumerate(self.nodes, first) if not self.found >> place & 1
        }


def _with(masks: tuple[int, int], place: int, level: int) -> tuple[int, int]:
    """Lanes held low and lanes held high, with one more."""
    low, high = masks
    return (low, high | 1 << place) if level else (low | 1 << place, high)


def pin_faults(chip: Placed) -> tuple[Fault, ...]:
    """Every pin that the chip reads, stuck low and stuck high."""
    pins = [pin.name for pin in chip.part.pins if pin.kind.reads]
    return tuple((pin, level) for pin in pins for level in (0, 1))


def node_faults(machine: Machine) -> Iterator[tuple[int, int]]:
    """Every node of the chip's own formulas, stuck low and stuck high."""
    for node in formula_nodes(machine):
        yield from ((node, 0), (node, 1))


def edge_faults(machine: Machine) -> Iterator[tuple[int, int]]:
    """Every operand of every node of the chip's own formulas, taken for its inverse."""
    for node in formula_nodes(machine):
        if machine.graph.kinds[node] is not Kind.READ:
            yield from ((node, operand) for operand in machine.graph.operands(node))


def formula_nodes(machine: Machine) -> Iterator[int]:
    """The nodes of the chip's own formulas.

    Those are the nodes between what it reads and what it drives and stores; those of its nets are
    none.
    """
    graph = machine.graph
    roots = [node for drive in machine.drives.values() for node in (drive.level, drive.when)]
    roots += [store.next for store in machine.stores]
    for memory in machine.memories:
        roots += [*memory.address, memory.write, *memory.data]
    outside = {pin.level for pin in machine.pins.values()}
    inside: set[int] = set()
    while roots:
        node = roots.pop()
        if node not in inside and node not in outside:
            inside.add(node)
            roots += graph.operands(node)
    here = set(machine.order)
    for node in sorted(inside & here):
        if graph.kinds[node] not in (Kind.CONST, Kind.LEAF, Kind.WAS):
            yield node


def rows_of(chip: Placed, *, formulas: bool = False) -> Rows:
    """The rows of a chip, run with its pins stuck, or with its formulas wrong."""
    machine = machine_of([chip])
    if formulas:
        nodes, edges = tuple(node_faults(machine)), tuple(edge_faults(machine))
        rows = Rows(chip=chip, machine=machine, nodes=nodes, edges=edges)
    else:
        rows = Rows(chip=chip, machine=machine, pins=pin_faults(chip))
    rows.run()
    return rows
