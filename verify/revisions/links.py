"""What two revisions share in a run: controls, content at power-up, levels that nobody decides.

Sharing a level that the world chooses is fair whatever is paired: for each run of one board there
is a run of the other in which the same was chosen, so that boards which behave alike under shared
choices have the same runs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Control
from breadproof.verify.revisions.matching import Matching, given
from breadproof.verify.revisions.naming import Renaming

Leaves = dict[int, int]
"""Leaves of the new machine, each with the leaf of the old one that it is the same as."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Links:
    """``leaves`` by kind (`Graph.leaf`); ``memories`` are numbers (old, new) of memories that are
    written. ``controls`` maps names of shared controls, old to new; ``alone`` are the others.

    ``reads``: controls of the new machine that follow the old one, by leaf: each has at a quiet
    moment the level that a node of the old machine has then, or the other.
    """

    leaves: Mapping[str, Leaves] = field(default_factory=dict)
    memories: tuple[tuple[int, int], ...] = ()
    controls: Mapping[str, str] = field(default_factory=dict)
    alone: tuple[str, ...] = ()
    reads: Mapping[int, tuple[int, bool]] = field(default_factory=dict)

    def of(self, kind: str) -> Leaves:
        """The leaves of a kind."""
        return self.leaves.get(kind, {})

    def followed(self, new: Machine, levels: Sequence[int]) -> dict[str, tuple[int, ...]]:
        """How controls of the new machine that follow the old one stand, by its levels."""
        return {
            name: tuple(levels[self.reads[leaf][0]] ^ int(self.reads[leaf][1]) for leaf in leaves)
            for name, leaves in new.controls.items()
        }


def link(old: Machine, new: Machine, matching: Matching) -> Links:
    """All that the two machines can share."""
    return _Linker(old, new, matching).links()


@dataclass(slots=True)
class _Linker:
    old: Machine
    new: Machine
    matching: Matching
    renaming: Renaming = field(init=False)
    wired: set[str] = field(init=False)
    places: tuple[dict[tuple[str, str, int], int], dict[tuple[str, str, int], int]] = field(
        init=False
    )

    def __post_init__(self) -> None:
        self.renaming = Renaming(self.matching)
        self.wired = {part.name for part in self.matching.old.parts}
        self.places = (_leaves(self.old), _leaves(self.new))

    def links(self) -> Links:
        controls = dict(self.controls())
        new_names = set(controls.values())
        alone = [c.name for c in self.old.netlist.controls if c.name not in controls]
        alone += [c.name for c in self.new.netlist.controls if c.name not in new_names]
        return Links(
            leaves={
                "control": self.control_leaves(controls),
                "store": self.coming_up(self.pairs("store", self.storage)),
                "free": self.pairs("free", self.reader),
                "loop": self.held(self.pairs("loop", self.variable)),
                "choice": dict(self.choices()),
            },
            memories=tuple(self.memories()),
            controls=controls,
            alone=tuple(alone),
        )

    def pairs(self, kind: str, called: object) -> Leaves:
        found: Leaves = {}
        old, new = self.places
        assert callable(called)
        for (one, name, bit), leaf in old.items():
            if one != kind:
                continue
            other = new.get((kind, called(name), bit))
            if other is not None:
                found[other] = leaf
        return found

    def coming_up(self, pairs: Leaves) -> Leaves:
        """Those that power-up leaves open on both boards, or sets alike."""
        one, two = dict(self.old.first), dict(self.new.first)
        return {b: a for b, a in pairs.items() if one.get(a) == two.get(b)}

    def held(self, pairs: Leaves) -> Leaves:
        """Those of loops that keep a level, on both boards: only they are storage."""
        one, two = (
            {leaf for loop in machine.loops if loop.holds for leaf in loop.leaves}
            for machine in (self.old, self.new)
        )
        return {b: a for b, a in pairs.items() if a in one and b in two}

    # names ------------------------------------------------------------------------------------

    def storage(self, name: str) -> str:
        """``U3.R`` of the old board; "" where the new one has no such part."""
        part, _, inside = name.partition(".")
        if part in self.matching.parts and part not in self.matching.anew:
            return self.renaming(name)
        owner, sign, hidden = part.rpartition("/")  # what stands for a contact, or for a charge
        if part not in self.wired and owner in self.matching.parts:
            return f"{self.matching.parts[owner]}{sign}{hidden}.{inside}"
        return ""

    def reader(self, name: str) -> str:
        """A pin, or a net, that may read any level."""
        return self.matching.pins.get(name, self.net(name))

    def net(self, name: str) -> str:
        old = {net.name: net.index for net in self.old.netlist.nets}
        number = self.matching.nets.get(old.get(name, -1), -1)
        return self.new.netlist.nets[number].name if number >= 0 else ""

    def variable(self, name: str) -> str:
        """A loop's net, or ``known(net)``."""
        inner = name.removeprefix("known(").removesuffix(")")
        now = self.net(inner)
        return f"known({now})" if now and name != inner else now

    # the rest ---------------------------------------------------------------------------------

    def controls(self) -> Iterator[tuple[str, str]]:
        """Controls of one name, or of parts that were renamed, if they are alike."""
        new = {control.name: control for control in self.new.netlist.controls}
        old = {control.name for control in self.old.netlist.controls}
        for control in self.old.netlist.controls:
            name = control.name
            if name not in new and control.part is not None:
                part = self.matching.parts.get(control.part, control.part)
                name = part + control.name.removeprefix(control.part)
                if name in old:
                    continue
            other = new.get(name)
            if other is not None and _alike(control, other):
                yield control.name, name

    def control_leaves(self, controls: Mapping[str, str]) -> Leaves:
        found: Leaves = {}
        one = {control.name: control for control in self.old.netlist.controls}
        two = {control.name: control for control in self.new.netlist.controls}
        for before, after in controls.items():
            leaves, others = self.old.controls[before], self.new.controls[after]
            for place, leaf in enumerate(leaves):
                found[others[_bit(one[before], two[after], place)]] = leaf
        return found

    def choices(self) -> Iterator[tuple[int, int]]:
        """Choices of loops over the same nets, cut alike."""
        new = {loop.variables: loop for loop in self.new.loops}
        for loop in self.old.loops:
            other = new.get(tuple(self.variable(name) for name in loop.variables))
            if other is not None and other.cut == loop.cut:
                yield from zip(other.choices, loop.choices, strict=True)

    def memories(self) -> Iterator[tuple[int, int]]:
        new = {unit.label: number for number, unit in enumerate(self.new.memories)}
        for number, unit in enumerate(self.old.memories):
            place = new.get(self.storage(unit.label))
            if place is None or unit.contents is not None:
                continue
            other = self.new.memories[place]
            same = (unit.words, unit.bits) == (other.words, other.bits)
            if other.contents is None and same:
                yield number, place


def _leaves(machine: Machine) -> dict[tuple[str, str, int], int]:
    graph = machine.graph
    found: dict[tuple[str, str, int], int] = {}
    for node in range(len(graph)):
        if graph.kinds[node] is Kind.LEAF:
            leaf = graph.leaves[graph.args[node][0]]
            found[leaf.kind, leaf.name, leaf.bit] = node
    return found


def _alike(one: Control, two: Control) -> bool:
    return one.kind == two.kind and len(one.bits) == len(two.bits)


def _bit(one: Control, two: Control, place: int) -> int:
    """The bit of the other control that is bit ``place``: positions by name, others by place."""
    if one.kind != "changeover":
        return place
    names = [bit.rpartition(".")[2] for bit in two.bits]
    wanted = one.bits[place].rpartition(".")[2]
    mine = sorted(bit.rpartition(".")[2] for bit in one.bits)
    return names.index(wanted) if sorted(names) == mine else place


def named_alike(matching: Matching) -> Iterator[tuple[str, int, int]]:
    """Nets that somebody gave one name on both boards; supplies are none."""
    new = {net.name: net for net in matching.new.nets if given(net.name)}
    for net in matching.old.nets:
        other = new.get(net.name)
        if other is not None and net.rail is None and other.rail is None:
            yield net.name, net.index, other.index
