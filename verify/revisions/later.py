"""``--latency N``: the new board shows later what the old one showed: N periods of a clock.

What is claimed. A clock is a net of the old board, and a period ends with its rise. At every quiet
moment at which the clock is low and has risen N times or more since the run began, each lamp and
port of the new board is as it was on the old one just before the N-th last rise: as a row of N
flip-flops on that clock would show it, whose first takes in the old board's output. What is shown
before the N-th rise is left out, and so are contents of memories and nets inside, of which some are
later and others are not.

Periods are counted, not steps: in a step in which nothing moves nothing changes, so that no board
is a number of steps later than another.

Here the row of flip-flops is built onto the old board's machine, behind each of its nets: those of
outputs are compared, and those of the others help with the proof, for a register in the middle of a
path is a net inside that is later. They come up holding anything, as all storage does, and a row
beside them, that comes up low and takes in a high, tells how many periods are over.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from breadproof.specs.catalogue.part import Role
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine, NetLevel, StoreBit
from breadproof.specs.machine.order import evaluation_order
from breadproof.specs.machine.trace import Trace, TraceStep
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.specs.netlist.model import Net, Netlist
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.revisions.guesses import somewhere
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.start import Start, moves
from breadproof.verify.revisions.walked import Walked

HIDDEN = "/later"
"""What the row of flip-flops is called as a part; no part of a board has such a name."""
SECONDS = 5.0
"""Longer no run is looked for by walking."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Latency:
    """So many ``periods`` of ``clock``, a net of the old board."""

    periods: int
    clock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """The ``old`` board, and with what was: ``machine``; ``items`` of it, which stand for those
    that were asked for, and ``helpers``.

    ``told`` maps each of its further nets to the leaf that tells whether it was filled already.
    ``controls`` move the clock.
    """

    latency: Latency
    clock: int
    old: Machine
    machine: Machine
    items: tuple[Item, ...]
    helpers: tuple[Item, ...]
    told: Mapping[int, int]
    controls: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """Where two runs show the difference: after step ``old`` on the old board (just before its
    clock rose in the next one), and after step ``new`` on the new one."""

    old: int
    new: int


def clocks_of(netlist: Netlist) -> tuple[str, ...]:
    """The nets that chips are clocked from."""
    pins = [p for p in netlist.pins() if p.role is Role.CLOCK and p.net is not None]
    nets = dict.fromkeys(p.net for p in pins if p.net is not None)
    return tuple(netlist.nets[net].name for net in nets if netlist.nets[net].rail is None)


def later(old: Machine, latency: Latency, items: Sequence[Item], pairs: Mapping[int, int]) -> Later:
    """The old board with a row of flip-flops behind each net.

    ``items`` are lamps, ports and nets; ``pairs`` maps nets of the old board to those of the new.
    """
    return _Row(old, latency, pairs).done(items)


@dataclass(slots=True)
class _Row:
    old: Machine
    latency: Latency
    pairs: Mapping[int, int]
    clock: int = field(init=False)
    low: int = field(init=False)
    edge: int = field(init=False)
    stores: list[StoreBit] = field(default_factory=list)
    nets: list[Net] = field(default_factory=list)
    levels: list[NetLevel] = field(default_factory=list)
    lamps: dict[str, int] = field(default_factory=dict)
    filled: list[int] = field(default_factory=list)
    told: dict[int, int] = field(default_factory=dict)
    rows: dict[int, list[int]] = field(default_factory=dict)
    """The leaves of a node's row, by node."""
    place: dict[tuple[int, int], int] = field(default_factory=dict)
    """The number of a net's level so many periods ago."""

    def __post_init__(self) -> None:
        names = {net.name: net.index for net in self.old.netlist.nets}
        self.clock = names[self.latency.clock]
        self.low = self.old.nets[self.clock].level
        graph = self.old.graph
        self.edge = graph.and_(graph.not_(graph.was(self.low)), self.low)
        for number in range(1, self.latency.periods + 1):
            before = self.filled[-1] if self.filled else Graph.TRUE
            self.filled.append(self.flipflop(f"filled{number}", before, before))

    def done(self, items: Sequence[Item]) -> Later:
        for net in self.old.netlist.nets:
            level = self.old.nets[net.index]
            if max(level.level, level.known, level.driven, level.fights) > Graph.TRUE:
                self.net(net)
        moved = tuple(self.item(item) for item in items)
        filled = ((self.filled[-1], True),)  # also while the clock is high, which comes before
        helpers = (*(replace(item, when=filled) for item in moved), *self.helpers())
        netlist = self.old.netlist
        machine = replace(
            self.old,
            netlist=replace(netlist, nets=(*netlist.nets, *self.nets)),
            nets=(*self.old.nets, *self.levels),
            stores=(*self.old.stores, *self.stores),
            lamps={**self.old.lamps, **self.lamps},
            first=(*self.old.first, *((leaf, 0) for leaf in self.filled)),
        )
        seen = closure(self.old, [self.low])[0]
        return Later(
            latency=self.latency,
            clock=self.clock,
            old=self.old,
            machine=replace(machine, order=evaluation_order(machine)),
            items=moved,
            helpers=helpers,
            told=self.told,
            controls=tuple(
                name for name, leaves in self.old.controls.items() if seen.intersection(leaves)
            ),
        )

    def flipflop(self, name: str, source: int, captured: int) -> int:
        """One more flip-flop on the clock; its leaf."""
        graph = self.old.graph
        leaf = graph.leaf("store", f"{HIDDEN}.{name}")
        no = Graph.FALSE
        self.stores.append(
            StoreBit(
                part=HIDDEN,
                storage=name,
                bit=0,
                leaf=leaf,
                next=graph.mux(self.edge, captured, leaf),
                clock=self.low,
                edge=self.edge,
                captured=captured,
                clear=no,
                preset=no,
                load=no,
                open=no,
                source=source,
            )
        )
        return leaf

    def row(self, node: int) -> list[int]:
        """What a node was, 1 to N periods ago."""
        if node <= Graph.TRUE:
            return [node] * self.latency.periods
        found = self.rows.get(node)
        if found is None:
            found = []
            for number in range(1, self.latency.periods + 1):
                captured = found[-1] if found else self.old.graph.was(node)
                source = found[-1] if found else node
                found.append(self.flipflop(f"n{node}.{number}", source, captured))
            self.rows[node] = found
        return found

    def net(self, net: Net) -> None:
        """The net as it was."""
        level = self.old.nets[net.index]
        nodes = (level.level, level.known, level.driven, level.fights)
        for number, was in enumerate(zip(*map(self.row, nodes), strict=True), start=1):
            index = len(self.old.nets) + len(self.levels)
            self.place[net.index, number] = index
            self.told[index] = self.filled[number - 1]
            self.nets.append(replace(net, index=index, name=f"{net.name}{HIDDEN}{number}", pins=()))
            value, known, driven, fights = was
            self.levels.append(
                NetLevel(level=value, known=known, driven=driven, fights=fights, drivers=(),
                         reached=Graph.TRUE)
            )  # fmt: skip

    def item(self, item: Item) -> Item:
        """What is compared in place of an item."""
        periods = self.latency.periods
        when = ((self.filled[-1], True), (self.low, False))
        if item.kind == "lamp":
            name = str(item.old[0])
            self.lamps[f"{name}{HIDDEN}"] = self.row(self.old.lamps[name])[-1]
            return replace(item, old=(f"{name}{HIDDEN}",), when=when)
        if item.kind == "memory":
            raise AssertionError("what memories hold is not compared")
        was = tuple(self.place.get((int(net), periods), int(net)) for net in item.old)
        return replace(item, old=was, when=when)

    def helpers(self) -> Iterator[Item]:
        """Nets of both boards as they were."""
        for (net, _), index in self.place.items():
            other = self.pairs.get(net)
            if other is not None:
                yield Item(
                    name=self.nets[index - len(self.old.nets)].name, kind="net", old=(index,),
                    new=(other,), when=((self.told[index], True),),
                )  # fmt: skip


def comes(later: Later, start: Start) -> bool:
    """Whether a run of the old board is found in which all periods are over, by walking: the clock
    may be a slow one. None is looked for where assumptions say which runs there are."""
    machine = later.machine
    if any(one.kind == "assume" for one in machine.logic.formulas):
        return False
    random, end = Random(0), time.monotonic() + SECONDS
    sure = dict(machine.first)
    content = {s.label: sure.get(s.leaf, random.getrandbits(1)) for s in machine.stores}
    walker = Walker(machine, storage=content)
    movers = [c for c in machine.netlist.controls if c.name in later.controls]
    try:
        walker.power_up()
        for name, level in moves(machine) if start == "reset" else ():
            now = 1 - walker.controls[name][0] if level is None else int(level)
            walker.step({name: (now,)})
        while movers and time.monotonic() < end:
            assert walker.before is not None, "it was walked"
            levels = walker.before.levels
            if all(bool(levels[n]) is wanted for n, wanted in later.items[0].when):
                return True
            control = random.choice(movers)
            walker.step({control.name: somewhere(control, walker.controls, random)})
    except NotQuiet:
        return False
    return False


# a difference, from the two runs alone ------------------------------------------------------------


def shown(later: Later, asked: Item, old: Walked, new: Walked) -> Shown:
    """Where a difference in what was asked for is seen, counted from the rounds that were walked
    and the old board's own nets; the rows have no part in it.

    Raises:
        TraceMismatch: it is not seen.
    """
    level = old.machine.nets[later.clock].level
    rises: list[tuple[int, int]] = []
    """(step, round) of each rise."""
    before: int | None = None
    for step, rounds in enumerate(old.steps):
        for number, one in enumerate(rounds):
            if before == 0 and one.levels[level]:
                rises.append((step, number))
            before = one.levels[level]
    periods = later.latency.periods
    if before or len(rises) < periods:
        raise TraceMismatch(f"{asked.name} is not to be compared yet in the run that was found")
    step, number = rises[-periods]
    was = old.steps[step][number - 1] if number else old.steps[step - 1][-1]
    now = new.steps[-1][-1]
    if not _differ(asked, old.machine, was.levels, new.machine, now.levels):
        raise TraceMismatch(f"the runs that were found do not show that {asked.name} differs")
    return Shown(step if number else step - 1, len(new.steps) - 1)


def _differ(item: Item, one: Machine, was: Sequence[int], two: Machine, now: Sequence[int]) -> bool:
    if item.kind == "lamp":
        return was[one.lamps[str(item.old[0])]] != now[two.lamps[str(item.new[0])]]
    for a, b in zip(item.old, item.new, strict=True):
        x, y = one.nets[int(a)], two.nets[int(b)]
        known = was[x.known], now[y.known]
        level = all(known) and was[x.level] != now[y.level]
        fights = was[x.fights] != now[y.fights]
        driven = item.driven and was[x.driven] != now[y.driven]
        if known[0] != known[1] or level or fights or driven:
            return True
    return False


def without_rows(trace: Trace, old: Machine) -> Trace:
    """The run of the old board itself, walked anew: the rows take a round more to get quiet."""
    place = 0

    def choice(loop: str, cut: int) -> int:
        rounds = trace.steps[place].rounds
        number = walker.round_number
        return rounds[number].choices.get(f"{loop}.{cut}", 0) if number < len(rounds) else 0

    own = {k: v for k, v in trace.storage.items() if not k.startswith(f"{HIDDEN}.")}
    walker = Walker(
        old,
        lambda reader: trace.steps[place].free.get(reader, 0),
        choice,
        dict(own),
        dict(trace.steps[0].controls),
    )
    for unit, words in zip(old.memories, walker.memories, strict=True):
        for address, word in trace.words.get(unit.label, {}).items():
            words[address] = word
    steps: list[TraceStep] = []
    for number, wanted in enumerate(trace.steps):
        place = number
        steps.append(walker.step(wanted.controls) if number else walker.power_up())
    return replace(trace, storage=own, steps=tuple(steps))
