"""Keys of what was proved: a digest of all that the answer depends on, and of nothing else.

Why a key may look at a part of the board alone. Let C be all that decides about a property, now and
in all steps (`influence.closure`: logic, loops, storage, memories, what formulas remember), and
about every assumption; C is closed, so nothing outside of it moves anything in it. Take two boards
that have C in common and are both proved to get quiet.

- A run of one board, looked at in C alone, is a run of C: at most one control of C moves in a step,
  and rounds in which C rests change nothing in it. How many rounds a step takes does not matter.
- Each run of C is one of the other board, too. Its first moment extends to a quiet moment of the
  whole board: power that board up with C at rest and the rest anyhow; C stays (it is closed and at
  rest), and all gets quiet (proved at power-up). A step of C is a step of the board in which the
  controls outside of C stay: they stay where switches can stand, the assumptions are all about C,
  and the board gets quiet again (proved for every step).

So both boards have the same runs in C, and the property is violated in both or in neither, by
shortest runs of the same length; and a strong formula, too, since an endless run is as good. That
the board gets quiet is proved anew, or keyed by all storage; that assumptions leave a next step is
proved anew.

What a key holds: the property's own nodes as they are drawn (glitches depend on that); each bit of
storage, memory, loop and formula's memory in C with all it is made of; the names of these, since
invariants and runs name them; controls in C, their kinds, which of them may move together and how
they can stand; all assumptions; how parts come up; the number of rounds; the edition of this tool.
Formulas' memories have no names in it but what they are made of, so that a formula more in the file
changes nothing. Standing checks at pins look at all storage and at which clocks share a net, so
they are keyed by all of these, and by all that memories take in, those too that nobody reads;
checks of what floats, and what is dead, by the whole board.

Everything that a Machine is made of is named in `HANDLED`; if it has a part that is not, there are
no keys, and nothing is kept.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import Enum
from functools import cached_property

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.influence import assumed
from breadproof.specs.machine.machine import (
    Loop,
    Machine,
    MemoryUnit,
    NetLevel,
    PinLevel,
    StoreBit,
    Strobe,
)
from breadproof.specs.machine.steplogic import (
    Antecedent,
    Awaited,
    CompiledFormula,
    Gathered,
    MonitorBit,
    StepLogic,
)
from breadproof.specs.netlist.model import Control, Netlist
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Text
from breadproof.verify.prove.checks import Check
from breadproof.verify.prove.digests import NodeDigests, Unkeyed, digest
from breadproof.verify.prove.edition import edition

HANDLED: dict[type, str] = {
    Machine: "netlist wired graph order controls legal stores memories loops nets pins drives lamps"
    " strobes free logic first switches counted",
    StoreBit: "part storage bit leaf next clock edge captured clear preset load open source",
    MemoryUnit: "part storage words bits address write data contents",
    Loop: "name variables leaves functions cut schedule externals choices holds",
    NetLevel: "level known driven fights drivers reached",
    PinLevel: "level known open_high",
    Strobe: "part kind condition rising pins stores memory",
    StepLogic: "monitors gathered formulas",
    MonitorBit: "leaf next initial",
    Gathered: "leaf node pulses",
    CompiledFormula: "formula kind bad antecedents liveness awaited nested wide",
    Awaited: "text node",
    Antecedent: "text node",
    Check: "name kind pin strobes nets",
    Netlist: "file board title supply parts nets vectors ports controls contacts resistors lamps"
    " formulas together reset bounces diodes links layout aliases accepts rails supply_current"
    " supply_span joined",
    Control: "name kind bits part exclusive",
}
"""The fields that keys take care of, or that follow from others or only name things in reports."""

PIN_CHECKS = ("glitch", "race", "float", "program")


UNTOLD = ("file", "title", "says", "accepts")
"""Fields of a netlist and its parts that decide about nothing."""


def handled() -> bool:
    """Whether all fields are known of all that a Machine is made of."""
    return all(
        {one.name for one in dataclasses.fields(kind)} <= set(names.split())
        for kind, names in HANDLED.items()
    )


@dataclasses.dataclass(frozen=True, slots=True)
class Key:
    """``text`` is the digest, ``seen`` are the nodes that the answer looks at.

    ``monitors`` are the leaves of the formulas' memories among these, in an order that depends on
    what they are made of alone.
    """

    text: str
    seen: frozenset[int]
    monitors: tuple[int, ...]


class Keys:
    """The keys of one board. ``rounds`` is to be set to what a step takes once that is known."""

    def __init__(self, machine: Machine) -> None:
        """Tell all nodes apart.

        Raises:
            Unkeyed: the machine has parts that are not known here.
        """
        if not handled():
            raise Unkeyed
        self.machine = machine
        self.rounds = 0
        self.nodes = NodeDigests(machine)
        self.edges = _edges(machine)
        self.assumed = assumed(machine)
        self.stores = {one.leaf: (one.label, self.of(_nodes(one))) for one in machine.stores}
        self.sure = dict(machine.first)
        self.net_of = {pin.label: pin.net for pin in machine.netlist.pins()}
        self.limits = self._limits()

    def of(self, nodes: Iterable[int]) -> tuple[str, ...]:
        """Digests of nodes, in order."""
        return tuple(self.nodes.found[node] for node in nodes)

    def _limits(self) -> list[tuple[int, set[int]]]:
        """How controls can stand, as conditions that must all hold, each with its leaves."""
        graph, legal = self.machine.graph, self.machine.legal
        parts = list(graph.operands(legal)) if graph.kinds[legal] is Kind.AND else [legal]
        return [
            (node, {one for one in graph.cone([node]) if graph.kinds[one] is Kind.LEAF})
            for node in parts
        ]

    # the part of the board --------------------------------------------------------------------

    def closed(self, roots: Iterable[int]) -> set[int]:
        """All nodes that decide about the roots and the assumptions."""
        wanted = list(roots)
        for one in self.assumed:
            wanted += [one.bad, *(awaited.node for awaited in one.awaited)]
        seen: set[int] = set()
        while wanted:
            while wanted:
                node = wanted.pop()
                if node not in seen:
                    seen.add(node)
                    wanted += self.edges[node]
            for node, leaves in self.limits:
                if node not in seen and not leaves.isdisjoint(seen):
                    wanted.append(node)
        return seen

    def part(self, seen: set[int]) -> str:
        """All that the nodes of a part do, and how its controls may move."""
        machine, found = self.machine, self.nodes.found
        stores = [told for leaf, told in self.stores.items() if leaf in seen]
        up = [(self.stores[leaf][0], x) for leaf, x in self.sure.items() if leaf in seen]
        loops = [self.loop(one) for one in machine.loops if not seen.isdisjoint(one.leaves)]
        remembered = [found[leaf] for leaf in self.nodes.monitor_of if leaf in seen]
        drawn = [(found[n], found[other]) for n, other in machine.counted.items() if n in seen]
        assumed = [
            (found[one.bad], self.of(awaited.node for awaited in one.awaited))
            for one in self.assumed
        ]
        many = (stores, up, loops, remembered, drawn, assumed, self.memories(seen))
        return digest(*(sorted(one) for one in many), self.controls(seen))

    def loop(self, one: Loop) -> tuple[object, ...]:
        """All of a loop but the order in which it is evaluated."""
        outside = sorted(self.of(one.externals))
        return (one.name, one.variables, one.cut, one.holds, self.of(one.functions), outside)

    def memories(self, seen: set[int]) -> list[tuple[object, ...]]:
        """The memories of a part."""
        graph, machine = self.machine.graph, self.machine
        read = {graph.args[node][0] for node in seen if graph.kinds[node] is Kind.READ}
        told: list[tuple[object, ...]] = []
        for index in read:
            unit = machine.memories[index]
            what = digest(self.of((unit.write, *unit.address, *unit.data)))
            if unit.contents is not None:
                what = digest(unit.contents)
            told.append((unit.label, unit.words, unit.bits, unit.contents is None, what))
        return told

    def controls(self, seen: set[int]) -> tuple[object, ...]:
        """The controls of a part, and how they may stand and move."""
        machine, netlist = self.machine, self.machine.netlist
        names = {name for name, leaves in machine.controls.items() if not seen.isdisjoint(leaves)}
        together: object = netlist.together
        if netlist.together != "all":
            pairs = {(a, b) for group in netlist.together for a in group for b in group if a < b}
            together = sorted((a, b) for a, b in pairs if a in names and b in names)
        kinds = [
            (one.name, one.kind, one.exclusive, len(one.bits))
            for one in netlist.controls
            if one.name in names
        ]
        stand = self.of(node for node, _ in self.limits if node in seen)
        return (sorted(kinds), sorted(stand), together)

    # keys -------------------------------------------------------------------------------------

    def formula(self, one: CompiledFormula) -> Key:
        """The key of a formula."""
        awaited = [awaited.node for awaited in one.awaited]
        texts = tuple(awaited.text for awaited in one.awaited)
        conditions = tuple(condition.text for condition in one.antecedents)
        what = ("formula", one.kind, texts, one.liveness, one.nested, conditions)
        wanted = [condition.node for condition in one.antecedents]
        return self.levels(what, [one.bad, *awaited, *wanted])

    def levels(self, what: object, nodes: Sequence[int]) -> Key:
        """The key of an answer about the levels of nodes at quiet moments."""
        seen = self.closed(nodes)
        found = self.nodes.found
        monitors = sorted(
            (leaf for leaf in self.nodes.monitor_of if leaf in seen), key=found.__getitem__
        )
        text = digest(edition(), self.rounds, what, self.of(nodes), self.part(seen))
        return Key(text, frozenset(seen), tuple(monitors))

    def check(self, check: Check) -> Key:
        """The key of a standing check.

        Raises:
            Unkeyed: it is of a kind that is not known here.
        """
        if check.kind == "fights":
            return self.levels("fights", [self.machine.nets[index].fights for index in check.nets])
        if check.kind == "floats":
            names = sorted(self.machine.netlist.nets[index].name for index in check.nets)
            told = digest(edition(), self.rounds, "floats", names, self.whole)
            return Key(told, self.storage[0], ())
        if check.kind not in PIN_CHECKS:
            raise Unkeyed
        strobes = [self.strobe(number) for number in check.strobes]
        seen, told = self.storage
        return Key(digest(edition(), self.rounds, check.kind, check.pin, strobes, told), seen, ())

    @property
    def quiet(self) -> Key:
        """The key of the number of rounds that a step takes."""
        seen, told = self.storage
        return Key(digest(edition(), "quiet", told), seen, ())

    @property
    def lively(self) -> Key:
        """The key of what is dead."""
        return Key(digest(edition(), self.rounds, "lively", self.whole), self.storage[0], ())

    @cached_property
    def whole(self) -> str:
        """A digest of all levels of the board, and of its netlist but for places and titles."""
        machine = self.machine
        levels = [
            [(one, self.of(_fields(level))) for one, level in sorted(told.items())]
            for told in (machine.pins, machine.drives)
        ]
        nets = [self.of((*_fields(one), *one.drivers)) for one in machine.nets]
        lamps = [(name, self.of((node,))) for name, node in sorted(machine.lamps.items())]
        closed = [(repr(key), self.of((node,))) for key, node in machine.switches.items()]
        wired = structure(replace(machine.netlist, formulas=()))
        told = (levels, nets, lamps, closed, sorted(machine.free), wired)
        return digest(*told, self.storage[1])

    @cached_property
    def storage(self) -> tuple[frozenset[int], str]:
        """A part with all storage of the board and all that it changes at, and its digest."""
        seen = self.closed(self._storage_roots())
        strobes = sorted(self.strobe(number) for number in range(len(self.machine.strobes)))
        # a memory that nobody reads is in no part, and yet its address and data are looked at
        memories = sorted(
            (unit.label, unit.words, unit.bits, unit.contents is None, self.of(nodes))
            for unit in self.machine.memories
            for nodes in [(unit.write, *unit.address, *unit.data)]
        )
        return frozenset(seen), digest(self.part(seen), strobes, memories)

    def _storage_roots(self) -> Iterable[int]:
        machine = self.machine
        for store in machine.stores:
            yield from _nodes(store)
        for unit in machine.memories:
            yield from (unit.write, *unit.address, *unit.data)
        for loop in machine.loops:
            yield from loop.leaves
        for strobe in machine.strobes:
            yield strobe.condition
            for label in strobe.pins:
                if label in machine.pins:
                    yield from (machine.pins[label].level, machine.pins[label].known)
        yield from (node for node, _ in self.limits)

    def strobe(self, number: int) -> tuple[object, ...]:
        """All of a strobe: its pins, which strobes' pins share their nets, what it moves."""
        machine, strobe = self.machine, self.machine.strobes[number]
        other = sorted({label for one in machine.strobes for label in one.pins})
        shared = [
            [label for label in other if self.net_of[label] == self.net_of[pin]]
            for pin in strobe.pins
        ]
        pins = [
            (label, *self.of((machine.pins[label].level, machine.pins[label].known)))
            for label in strobe.pins
            if label in machine.pins
        ]
        memory = "" if strobe.memory is None else machine.memories[strobe.memory].label
        stores = [machine.stores[index].label for index in strobe.stores]
        condition = self.of((strobe.condition,))
        return (strobe.part, strobe.kind, condition, strobe.rising, pins, shared, stores, memory)


def _fields(level: object) -> list[int]:
    """The nodes of a level of a net or pin, in order."""
    assert dataclasses.is_dataclass(level), "levels are"
    values = (getattr(level, one.name) for one in dataclasses.fields(level))
    return [value for value in values if isinstance(value, int) and not isinstance(value, bool)]


def structure(value: object) -> object:
    """A value as tuples of texts and numbers, without the places, titles and reasons in it."""
    match value:
        case Span():
            return ()
        case Text():
            return value.value
        case Enum():
            return value.name
        case str() | int() | float() | None:
            return value
        case dict():
            return tuple((structure(one), structure(other)) for one, other in value.items())
        case list() | tuple():
            return tuple(structure(one) for one in value)
        case set() | frozenset():
            return tuple(sorted(repr(structure(one)) for one in value))
    if not dataclasses.is_dataclass(value) or isinstance(value, type):
        raise Unkeyed
    return (
        type(value).__name__,
        tuple(
            structure(getattr(value, one.name))
            for one in dataclasses.fields(value)
            if one.name not in UNTOLD
        ),
    )


def _edges(machine: Machine) -> list[list[int]]:
    """By node: those that decide about it, in this round, before it, or on the way."""
    graph = machine.graph
    edges = [list(graph.operands(node)) for node in range(len(graph))]
    for store in machine.stores:
        edges[store.leaf] += _nodes(store)
    for loop in machine.loops:
        for leaf in (*loop.leaves, *loop.choices):
            edges[leaf] += [*loop.leaves, *loop.choices, *loop.functions, *loop.externals]
    for monitor in machine.logic.monitors:
        edges[monitor.leaf].append(monitor.next)
    for gathered in machine.logic.gathered:
        edges[gathered.leaf].append(gathered.node)
    for node, other in machine.counted.items():
        edges[node].append(other)
    for node in range(len(graph)):
        if graph.kinds[node] is Kind.READ:
            unit = machine.memories[graph.args[node][0]]
            if unit.contents is None:
                edges[node] += [unit.write, *unit.address, *unit.data]
    return edges


def _nodes(store: StoreBit) -> tuple[int, ...]:
    levels = (store.clock, store.edge, store.captured, store.clear, store.preset)
    return (store.leaf, store.next, *levels, store.load, store.open, store.source)
