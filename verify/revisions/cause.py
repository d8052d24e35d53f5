"""Where two runs part: the first pin that differs, and the change on the board that it comes from.

Pins are compared round by round, those that can decide about what is seen to differ. Of those that
differ in the first such round the first cause is a pin that is wired otherwise, or is on a net or a
part that was changed; else a pin that a part drives whose inputs are all the same still. The change
is the one that names this pin, its net or its part, or else the nearest on the board.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import networkx as nx

from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist, Pin
from breadproof.verify.revisions.changes import MATTERS, Change
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.walked import Walked


@dataclass(frozen=True, slots=True, kw_only=True)
class Parting:
    """The first pin that differs, on the old and on the new board, with its levels (None: it has
    none of its own), the step and round (from 0), and the change it comes from, if it is known.

    ``open`` is storage (``U3.R``, as the old board calls it) in which the boards differ right after
    the reset, from what was stored before or by what was changed.
    """

    pins: tuple[str, str]
    levels: tuple[int | None, int | None]
    step: int
    round: int
    change: Change | None
    open: tuple[str, ...] = ()


def parting(
    matching: Matching,
    runs: tuple[Walked, Walked],
    changes: Sequence[Change],
    links: Links,
    since: int,
    seen: Sequence[Item],
) -> Parting | None:
    """Where the runs part, from the step ``since`` on, with which the comparison begins; None if no
    pin that both boards have differs then.

    ``seen`` is what differs. Pins that cannot decide about it are named only if no other differs.

    Where storage differs already after the reset, a change is named only if it is one of the parts
    that hold it: else what was stored before may be all that there is to it.
    """
    changes = [change for change in changes if change.group in MATTERS]
    left = _open(runs, links, since) if since else ()
    if left:
        holders = {label.split(".")[0] for label in left}
        changes = [change for change in changes if holders & set(_parts_of(change))]
    touched = _touched(changes)
    pairs = list(_pairs(matching, touched))
    sides = [_Deciding.about(run, seen, side) for side, run in enumerate(runs)]
    near = [(a, b) for a, b in pairs if sides[0].has(a) or sides[1].has(b)]
    for some in (near, pairs):
        found = _apart(runs, some, touched, since)
        if found is not None:
            (a, b, levels), step, number = found
            return Parting(
                pins=(a.label, b.label),
                levels=levels,
                step=step,
                round=number,
                change=_change(matching, a, b, changes),
                open=left,
            )
    return None


def _apart(
    runs: tuple[Walked, Walked], pairs: list[tuple[Pin, Pin]], touched: _Touched, since: int
) -> tuple[Found, int, int] | None:
    """The first of these pins that differs, with its step and round."""
    old, new = runs
    for step, (one, two) in enumerate(zip(old.steps, new.steps, strict=True)):
        if step < since:
            continue
        rounds = max(len(one), len(two))
        for number in range(rounds - 1 if since and step == since else 0, rounds):
            levels = (one[min(number, len(one) - 1)].levels, two[min(number, len(two) - 1)].levels)
            found: list[Found] = []
            for a, b in pairs:
                both = (_level(old, a, levels[0]), _level(new, b, levels[1]))
                if both[0] != both[1]:
                    found.append((a, b, both))
            if found:
                return _first(found, pairs, touched), step, number
    return None


@dataclass(frozen=True, slots=True)
class _Deciding:
    """What can decide about what differs, on one board: nodes, and the chips that pass them on.

    ``others`` are chips that drive, but nothing that has to do with it.
    """

    machine: Machine
    nodes: set[int]
    others: frozenset[str]

    @staticmethod
    def about(run: Walked, seen: Sequence[Item], side: int) -> _Deciding:
        """Of the old board (``side`` 0) or the new one."""
        machine = run.machine
        roots: list[int] = []
        for item in seen:
            for one in item.new if side else item.old:
                if item.kind == "lamp":
                    roots.append(machine.lamps[str(one)])
                elif item.kind == "memory":
                    unit = machine.memories[int(one)]
                    roots += [unit.write, *unit.address, *unit.data]
                else:
                    net = machine.nets[int(one)]
                    roots += [net.level, net.known, net.fights, net.driven]
        # At the first moment nothing was stored yet by either board.
        nodes, memories = (
            closure(machine, roots) if run.steps[1:] else (_now(machine, roots), set())
        )
        written = {machine.memories[index].part for index in memories}
        written |= {
            machine.memories[int(one)].part
            for item in seen
            if item.kind == "memory"
            for one in (item.new if side else item.old)
        }
        chips = {label.rpartition(".")[0] for label in machine.drives}
        driving = {
            label.rpartition(".")[0]
            for label, drive in machine.drives.items()
            if drive.level in nodes or drive.when in nodes
        }
        return _Deciding(machine, nodes, frozenset(chips - driving - written))

    def has(self, pin: Pin) -> bool:
        """Whether a pin is one by which it can be decided."""
        drive = self.machine.drives.get(pin.label)
        if drive is not None and (drive.level in self.nodes or drive.when in self.nodes):
            return True
        reads = self.machine.pins.get(pin.label)
        if reads is not None:
            return pin.part not in self.others and reads.level in self.nodes
        return pin.net is not None and self.machine.nets[pin.net].level in self.nodes


def _parts_of(change: Change) -> Iterator[str]:
    """The parts of the old board that a change names, or pins of which."""
    yield from change.parts[0]
    yield from (label.split(".")[0] for label in change.pins[0])


def _open(runs: tuple[Walked, Walked], links: Links, since: int) -> tuple[str, ...]:
    """Storage that both boards have, and in which they differ at the end of a step."""
    old, new = (run.steps[since][-1].levels for run in runs)
    labels = {store.leaf: f"{store.part}.{store.storage}" for store in runs[0].machine.stores}
    differ = {a for b, a in links.of("store").items() if old[a] != new[b]}
    return tuple(dict.fromkeys(label for leaf, label in labels.items() if leaf in differ))


def _pairs(matching: Matching, touched: _Touched) -> Iterator[tuple[Pin, Pin]]:
    """The pins that both boards have; of those that only pass on a level (of a resistor) what a
    change is about."""
    new = {pin.label: pin for pin in matching.new.pins()}
    for pin in matching.old.pins():
        other = new.get(matching.pins.get(pin.label, ""))
        wired = other is not None and pin.net is not None and other.net is not None
        passes = pin.kind.drives or pin.label in touched.pins
        if other is not None and (pin.kind.reads or (passes and wired)):
            yield pin, other


def _level(run: Walked, pin: Pin, levels: Sequence[int]) -> int | None:
    """What a pin reads, or the level on its net; None where it has none of its own."""
    reads = run.machine.pins.get(pin.label)
    if reads is not None:
        return levels[reads.level] if levels[reads.known] else None
    if pin.net is None:
        return None
    net = run.machine.nets[pin.net]
    return levels[net.level] if levels[net.known] else None


@dataclass(frozen=True, slots=True)
class _Touched:
    pins: frozenset[str]
    parts: frozenset[str]


def _touched(changes: Sequence[Change]) -> _Touched:
    pins = frozenset(label for change in changes for label in change.pins[0])
    parts = frozenset(
        name
        for change in changes
        if change.kind in ("part exchanged", "word")
        for name in change.parts[0]
    )
    return _Touched(pins, parts)


def _now(machine: Machine, roots: Sequence[int]) -> set[int]:
    """What decides about nodes within a round: through logic and loops, not through storage."""
    graph = machine.graph
    loops = {leaf: loop for loop in machine.loops for leaf in loop.leaves}
    seen: set[int] = set()
    stack = list(roots)
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            stack += graph.operands(node)
            if node in loops:
                stack += [*loops[node].externals, *loops[node].functions]
    return seen


Found = tuple[Pin, Pin, tuple[int | None, int | None]]


def _first(found: list[Found], pairs: list[tuple[Pin, Pin]], touched: _Touched) -> Found:
    """Of pins that begin to differ in one round the one that the others follow."""
    different = {a.label for a, _, _ in found}
    readers: dict[str, list[str]] = {}
    for a, _ in pairs:
        if a.kind.reads:
            readers.setdefault(a.part, []).append(a.label)

    def rank(one: Found) -> tuple[int, bool]:
        pin = one[0]
        same_inputs = not any(
            label in different for label in readers.get(pin.part, ()) if label != pin.label
        )
        if pin.label in touched.pins and pin.kind.reads:
            return 0, False
        if pin.part in touched.parts and pin.kind.drives and same_inputs:
            return 1, False
        if pin.label in touched.pins:
            return 2, not same_inputs
        return (3 if pin.kind.drives and same_inputs else 4), not same_inputs

    return min(found, key=rank)


def _change(matching: Matching, a: Pin, b: Pin, changes: Sequence[Change]) -> Change | None:
    """The change that names a pin, its part's kind or contents, its net, or the nearest."""
    for change in changes:
        if a.label in change.pins[0] or b.label in change.pins[1]:
            return change
    for change in changes:
        named = a.part in change.parts[0] or b.part in change.parts[1]
        if named and change.kind in ("part exchanged", "word"):
            return change
    for change in changes:
        if a.net in change.nets[0] or b.net in change.nets[1]:
            return change
    return _nearest(matching, a, b, changes)


def _nearest(matching: Matching, a: Pin, b: Pin, changes: Sequence[Change]) -> Change | None:
    best: tuple[int, int] | None = None
    for side, pin, netlist in ((0, a, matching.old), (1, b, matching.new)):
        far = nx.single_source_shortest_path_length(_graph(netlist), ("part", pin.part))
        for number, change in enumerate(changes):
            ends = [("part", name) for name in change.parts[side]]
            ends += [("net", net) for net in change.nets[side]]  # type: ignore[misc]
            for end in ends:
                if end in far and (best is None or (far[end], number) < best):
                    best = (far[end], number)
    return None if best is None else changes[best[1]]


def _graph(netlist: Netlist) -> nx.Graph[tuple[str, object]]:
    """Parts and nets but the supplies, which join everything."""
    graph: nx.Graph[tuple[str, object]] = nx.Graph()
    for pin in netlist.pins():
        graph.add_node(("part", pin.part))
        if pin.net is not None and netlist.nets[pin.net].rail is None:
            graph.add_edge(("part", pin.part), ("net", pin.net))
    return graph
