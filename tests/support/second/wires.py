"""What the nets of a board are, given what its pins put on them (design.md section 4, Levels).

A net *is* one of three things: LOW, HIGH, or ANY (it floats, fights or is pulled both ways, so
that each reading pin reads a level of its own). While something is unknown, a net is a set of
these, written as a sum; so is what a pin drives. Where it is not known who drives a net, nothing
is known of it: a resolver is no gate that could keep a level while a bus changes hands. That is the
widest reading; with ``narrow`` a net is only what it may be for some level of what is unknown,
which is the narrowest. What the Machine leaves open lies between the two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product

import networkx as nx

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.model import ChipSwitch, Closing, ControlBit, Netlist, Pin
from tests.support.second.diodes import UNSURE, Own, own_drive, through_diodes
from tests.support.second.words import X

LOW, HIGH, ANY = 1, 2, 4
_NONE, _FIGHT = 4, 8  # beside LOW and HIGH: what the drivers of some joined nets do
SINKS = (PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND)
MAX_OPEN = 6
"""Of more contacts than these that may be closed or not, not all cases are gone through."""
MAX_LOOSE = 6
"""Of more levels in a region than these that are unknown, neither are those."""

TOLERANCE = 0.95
"""The lowest a supply may be, as a part of what it should be (5 %, data books)."""

State = Callable[[Closing], int]
"""Whether a contact is closed: 0, 1 or X."""

Driving = Mapping[str, tuple[int, int]]
"""Pin label, or port bit, -> (level, whether it drives); each 0, 1 or X."""


def as_set(level: int) -> int:
    return LOW | HIGH if level == X else LOW << level


@dataclass(frozen=True, slots=True)
class Tug:
    """A way through resistors: the groups on it, and which levels it may bring (``may``).

    ``drives`` is the level at its end, 0 if that has none of its own; ``one_way`` is the level that
    diodes let through, 0 without diodes.
    """

    path: tuple[int, ...]
    ohms: float
    may: int
    certain: bool
    drives: int
    resists: bool
    one_way: int = 0

    @property
    def over(self) -> tuple[int, ...]:
        """The groups between, where diodes make them matter."""
        return self.path[1:-1] if self.one_way else ()


@dataclass(slots=True)
class Joined:
    """Nets that closed contacts make one."""

    nets: list[int]
    members: list[int] = field(default_factory=list)
    """The nets whose pins count: a supply has those of what contacts join to it besides."""
    drivers: list[tuple[str, str]] = field(default_factory=list)  # (how, pin label or port bit)
    rails: list[float] = field(default_factory=list)
    v_ol: list[float] = field(default_factory=list)  # what its outputs promise, by output
    v_oh: list[float] = field(default_factory=list)
    low_amperes: float = 0.0
    high_amperes: float = 0.0
    v_il: float = 1e9
    v_ih: float = -1e9
    resistors: list[tuple[int, float]] = field(default_factory=list)  # (the other group, ohms)
    diodes: list[tuple[int, int]] = field(default_factory=list)  # (the other group, what comes)


class Wires:
    """The nets of one board."""

    def __init__(self, netlist: Netlist, *, narrow: bool = False) -> None:
        self.netlist = netlist
        self.narrow = narrow
        self.gave_up = False
        """Whether too much was unknown at once for the narrowest reading."""
        self.remembered: dict[object, list[int]] = {}
        self.drivers_of: dict[int, list[str]] = {}
        self.layouts: dict[tuple[bool, ...], tuple[list[Joined], list[int]]] = {}

    @staticmethod
    def state(
        controls: Mapping[str, tuple[int, ...]], switches: Mapping[tuple[str, int], int]
    ) -> State:
        """Whether a contact is closed."""

        def closed(closing: Closing) -> int:
            if isinstance(closing, ChipSwitch):
                return switches[closing.part, closing.number]
            return controls[closing.control][closing.bit]

        return closed

    def nets(
        self,
        driving: Driving,
        controls: Mapping[str, tuple[int, ...]],
        switches: Mapping[tuple[str, int], int],
    ) -> list[int]:
        """A set for each net. A contact that is X may be either, each for itself.

        ``switches`` tells of a chip's analogue switches, by part and number, whether closed.
        """

        state = self.state(controls, switches)
        contacts = self.netlist.contacts
        bits = [state(contact.closing) for contact in contacts]
        if self.narrow:
            return self.narrowest(driving, bits)
        names = list(
            dict.fromkeys(c.closing for c, b in zip(contacts, bits, strict=True) if b == X)
        )
        if len(names) > MAX_OPEN:
            return self.murky(tuple(bit != 0 for bit in bits), bits, driving)
        found = [0] * len(self.netlist.nets)
        hands: list[set[frozenset[str]]] = [set() for _ in found]
        for choice in self.ways(names):
            closed = tuple(
                bool(choice.get(c.closing, b)) for c, b in zip(contacts, bits, strict=True)
            )
            groups, group_of = self.layout(closed)
            sets = self.all(groups, driving)
            for net, group in enumerate(group_of):
                found[net] |= sets[group]
            if any(isinstance(name, ChipSwitch) for name in names):
                at_work = [self.at_work(group, driving) for group in groups]
                for net, group in enumerate(group_of):
                    hands[net].add(at_work[group])
        # What a chip's switch passes on from one driver to the next, or lets go, is not known.
        return [
            LOW | HIGH | ANY if len(who) > 1 else one for one, who in zip(found, hands, strict=True)
        ]

    def narrowest(self, driving: Driving, bits: Sequence[int]) -> list[int]:
        """The union over all levels of what is unknown, region by region."""
        contacts = self.netlist.contacts
        found = [0] * len(self.netlist.nets)
        names = list(
            dict.fromkeys(c.closing for c, b in zip(contacts, bits, strict=True) if b == X)
        )
        for number, nets in enumerate(self.regions):
            told_of = {pin: driving[pin] for pin in self.pins_of(number)}
            key = (number, tuple(bits), tuple(sorted(told_of.items())))
            known = self.remembered.get(key)
            if known is not None:
                for net, one in zip(nets, known, strict=True):
                    found[net] = one
                continue
            pins = [(pin, k) for pin in self.pins_on(set(nets)) for k in (0, 1)]
            loose = [(pin, k) for pin, k in pins if driving[pin][k] == X and driving[pin][1] != 0]
            if len(names) + len(loose) > MAX_LOOSE:
                self.gave_up = True
                for net in nets:
                    found[net] = LOW | HIGH | ANY
                continue
            for choice, levels in product(self.ways(names), product((0, 1), repeat=len(loose))):
                told = {pin: list(driving[pin]) for pin, _ in loose}
                for (pin, k), level in zip(loose, levels, strict=True):
                    told[pin][k] = level
                closed = tuple(
                    bool(choice.get(c.closing, b)) for c, b in zip(contacts, bits, strict=True)
                )
                groups, group_of = self.layout(closed)
                sure = {**driving, **{pin: (both[0], both[1]) for pin, both in told.items()}}
                wanted = {group_of[net] for net in nets}
                drives = self.driven_all(groups, sure)
                sets = {group: self.one(groups, group, drives) for group in wanted}
                for net in nets:
                    found[net] |= sets[group_of[net]]
            self.remembered[key] = [found[net] for net in nets]
        return found

    def pins_of(self, number: int) -> list[str]:
        """What may drive a region, or a supply that it may hang at."""
        if number not in self.drivers_of:
            rails = {net.index for net in self.netlist.nets if net.rail is not None}
            ends = [{contact.a, contact.b} for contact in self.netlist.contacts]
            ends += [{link.a, link.b} for link in self.netlist.links]
            at_rails = set().union(*(end for end in ends if end & rails)) | rails
            near = [net for part in self.regions if at_rails & set(part) for net in part]
            self.drivers_of[number] = self.pins_on({*self.regions[number], *near})
        return self.drivers_of[number]

    def ways(self, names: Sequence[Closing]) -> Iterator[dict[Closing, int]]:
        """All that contacts may be that are closed or not. Of those of a control that breaks before
        it makes no two are closed at once."""
        alone = {control.name for control in self.netlist.controls if control.exclusive}
        for chosen in product((0, 1), repeat=len(names)):
            closed = [name for name, shut in zip(names, chosen, strict=True) if shut]
            moving = [one.control for one in closed if isinstance(one, ControlBit)]
            if not any(moving.count(control) > 1 for control in alone):
                yield dict(zip(names, chosen, strict=True))

    @cached_property
    def regions(self) -> list[list[int]]:
        """Nets that contacts, wires, resistors and diodes may bring together; nothing comes through
        a supply, so that it is in a region of its own, with all that may be joined to it."""
        netlist = self.netlist
        rails = {net.index for net in netlist.nets if net.rail is not None}
        pairs = [(contact.a, contact.b) for contact in netlist.contacts]
        pairs += [(link.a, link.b) for link in netlist.links]
        pairs += [(resistor.a, resistor.b) for resistor in netlist.resistors]
        pairs += [(diode.anode, diode.cathode) for diode in netlist.diodes]
        nets: nx.Graph[int] = nx.Graph()
        nets.add_nodes_from(net.index for net in netlist.nets)
        nets.add_edges_from(pair for pair in pairs if not rails & set(pair))
        return [sorted(part) for part in nx.connected_components(nets)]

    def pins_on(self, nets: set[int]) -> list[str]:
        """What may drive these nets."""
        found = [
            pin.label
            for index in sorted(nets)
            for pin in self.netlist.nets[index].pins
            if pin.kind.drives
        ]
        for port in self.netlist.ports:
            if port.direction != "out":
                found += [f"{port.name}:{k}" for k, index in enumerate(port.nets) if index in nets]
        return found

    @staticmethod
    def at_work(group: Joined, driving: Driving) -> frozenset[str]:
        """Who drives a group, or may; of those that only sink it does not matter which."""
        who = {f"{rail} V" for rail in group.rails if rail > 0}
        sinks = [1 for rail in group.rails if rail == 0.0]
        for how, pin in group.drivers:
            level, when = driving[pin]
            if how == "sinks":
                sinks.append(X if level == X else 1 - level)
            elif when != 0:
                who.add(pin)
        return frozenset(who | {"sinks"} if 1 in sinks or X in sinks else who)

    def murky(self, closed: tuple[bool, ...], bits: Sequence[int], driving: Driving) -> list[int]:
        """Too many contacts may be closed or not: what any of them touches may be anything."""
        groups, group_of = self.layout(closed)
        contacts = zip(self.netlist.contacts, bits, strict=True)
        touched = {group_of[contact.a] for contact, bit in contacts if bit == X}
        stack = list(touched)
        while stack:
            here = stack.pop()
            beside = [there for there, _ in (*groups[here].resistors, *groups[here].diodes)]
            for there in beside:
                if there not in touched:
                    touched.add(there)
                    stack.append(there)
        sets = self.all(groups, driving)
        return [LOW | HIGH | ANY if group in touched else sets[group] for group in group_of]

    def pairs(self, group_of: Sequence[int]) -> list[tuple[int, int]]:
        """The diodes as (anode, cathode) of groups."""
        ends = [(group_of[d.anode], group_of[d.cathode]) for d in self.netlist.diodes]
        return [(anode, cathode) for anode, cathode in ends if anode != cathode]

    def layout(self, closed: tuple[bool, ...]) -> tuple[list[Joined], list[int]]:
        """The groups of nets while just these contacts are closed, by flood fill."""
        if closed not in self.layouts:
            group_of, beside = self.flood(closed)
            groups = [Joined(nets=[]) for _ in range(max(group_of) + 1)]
            for net, place in enumerate(group_of):
                groups[place].nets.append(net)
            for group in groups:
                group.members = list(group.nets)
                supplies = [net for net in group.nets if self.netlist.nets[net].rail is not None]
                for net in supplies:  # one at most: a supply is a group of its own
                    joined = {group_of[other] for other in beside[net]}
                    group.members += [n for place in joined for n in groups[place].nets]
                near = {net for member in group.members for net in beside[member]}
                self.furnish(group, sorted({*supplies, *near}))
            for resistor in self.netlist.resistors:
                a, b = group_of[resistor.a], group_of[resistor.b]
                if a != b:
                    groups[a].resistors.append((b, resistor.ohms or 0.0))
                    groups[b].resistors.append((a, resistor.ohms or 0.0))
            for anode, cathode in self.pairs(group_of):
                groups[cathode].diodes.append((anode, HIGH))
                groups[anode].diodes.append((cathode, LOW))
            self.layouts[closed] = (groups, group_of)
        return self.layouts[closed]

    def flood(self, closed: tuple[bool, ...]) -> tuple[list[int], list[list[int]]]:
        """The group of each net, and what is right beside each by a join with a supply at one end.

        A supply carries nothing on (see `specs.netlist.drive`): it ends a flood.
        """
        nets = self.netlist.nets
        next_to: list[list[int]] = [[] for _ in nets]
        beside: list[list[int]] = [[] for _ in nets]
        joins = [(c.a, c.b) for c, shut in zip(self.netlist.contacts, closed, strict=True) if shut]
        for a, b in (*joins, *((link.a, link.b) for link in self.netlist.links)):
            supply = nets[a].rail is not None or nets[b].rail is not None
            (beside if supply else next_to)[a].append(b)
            (beside if supply else next_to)[b].append(a)
        group_of = [-1] * len(next_to)
        count = 0
        for start in range(len(next_to)):
            if group_of[start] >= 0:
                continue
            wet = [start]
            while wet:
                here = wet.pop()
                if group_of[here] < 0:
                    group_of[here] = count
                    wet.extend(next_to[here])
            count += 1
        return group_of, beside

    def furnish(self, group: Joined, near: Sequence[int]) -> None:
        """Who drives these nets, and what their inputs ask of a pull resistor; ``near`` are the
        nets on them and beside them of which some are supplies."""
        netlist = self.netlist
        parts = {part.name: part for part in netlist.parts}
        rails = [netlist.nets[index].rail for index in near]
        group.rails += [rail for rail in rails if rail is not None]
        for index in group.members:
            net = netlist.nets[index]
            for pin in net.pins:
                if pin.kind.drives:
                    wired_and = pin.kind in SINKS
                    group.drivers.append(("sinks" if wired_and else "drives", pin.label))
                limits = parts[pin.part].limits
                if limits is None:
                    continue
                self.promise(group, pin, limits)
                gives = takes = 0.0
                if pin.kind.drives and pin.kind is not PinKind.OUT:  # I_OZ, or I_OH of what sinks
                    takes = limits.off(pin.name)
                    gives = 0.0 if pin.kind in SINKS else takes
                if pin.kind.reads:
                    asked = limits.inputs(pin.name)
                    v_il, v_ih = asked.thresholds(netlist.volts(parts[pin.part]))
                    gives, takes = max(gives, asked.i_il), max(takes, asked.i_ih)
                    group.v_il, group.v_ih = min(group.v_il, v_il), max(group.v_ih, v_ih)
                group.low_amperes += gives
                group.high_amperes += takes
        for port in netlist.ports:
            if port.direction != "out":
                for place, index in enumerate(port.nets):
                    if index in group.members:
                        group.drivers.append(("drives", f"{port.name}:{place}"))

    def promise(self, group: Joined, pin: Pin, limits: Limits) -> None:
        """Note what an output promises."""
        if pin.kind in SINKS:
            group.v_ol.append(limits.sink(pin.name).v_ol)
        elif pin.kind.drives:
            part = next(part for part in self.netlist.parts if part.name == pin.part)
            output = limits.drive(pin.name)
            group.v_ol.append(output.v_ol)
            group.v_oh.append(output.high(TOLERANCE * self.netlist.volts(part)))

    def driven(self, group: Joined, driving: Driving) -> int:
        """LOW, HIGH, _FIGHT, _NONE, or a sum of them: what the drivers may amount to."""
        sure = [0, 0, 0]  # hard drivers, grounds, open-collector lows
        unsure_lows = levels = 0
        for rail in group.rails:
            if rail == 0.0:
                sure[1] += 1
            else:
                sure[0] += 1
                levels |= HIGH
        for how, pin in group.drivers:
            level, when = driving[pin]
            if how == "sinks":
                sure[2] += level == 0
                unsure_lows += level == X
            elif when == 1:
                sure[0] += 1
                levels |= as_set(level)
            elif when == X:
                return LOW | HIGH | _FIGHT | _NONE
        hard, grounds, sinks = sure
        found = 0
        for more in (0, 1) if unsure_lows else (0,):
            if hard > 1 or grounds > 1 or (hard and grounds + sinks + more):
                found |= _FIGHT
            elif hard:
                found |= levels
            else:
                found |= LOW if grounds + sinks + more else _NONE
        return found

    def driven_all(self, groups: Sequence[Joined], driving: Driving) -> list[int]:
        """`driven` for each group; what comes in through diodes counts as well."""
        found = [self.driven(group, driving) for group in groups]
        pairs = [
            (anode, index)
            for index, group in enumerate(groups)
            for anode, comes in group.diodes
            if comes == HIGH
        ]
        if not pairs:
            return found
        nets = self.netlist.nets
        supplies = {
            index: group
            for index, group in enumerate(groups)
            if any(nets[net].rail is not None for net in group.nets)
        }
        # What comes to a net through a diode comes to the supply that a contact joins to it, too.
        for index, supply in supplies.items():
            beside = {n for n, group in enumerate(groups) if set(group.nets) & set(supply.members)}
            pairs += [(a, index) for a, k in pairs if k in beside - {index} and a != index]
            pairs += [(index, k) for a, k in pairs if a in beside - {index} and k != index]
        rails = frozenset(supplies)
        told = through_diodes([self.own(group, driving) for group in groups], pairs, rails)
        behind = {index for pair in pairs for index in pair}
        return [told[n] if n in behind else found[n] for n in range(len(groups))]

    def own(self, group: Joined, driving: Driving) -> Own:
        """What a group's own drivers do."""
        hard = [(1, 1) for rail in group.rails if rail > 0]
        sinks = [1 for rail in group.rails if rail == 0.0]
        for how, pin in group.drivers:
            level, when = driving[pin]
            if how == "sinks":
                sinks.append(X if level == X else 1 - level)
            else:
                hard.append((level, when))
        return own_drive(hard, sinks)

    def all(self, groups: Sequence[Joined], driving: Driving) -> list[int]:
        """What the nets of each group are."""
        drives = self.driven_all(groups, driving)
        return [self.one(groups, index, drives) for index in range(len(groups))]

    def one(self, groups: Sequence[Joined], index: int, drives: Sequence[int]) -> int:
        """What the nets of one group are."""
        found = drives[index]
        result = found & (LOW | HIGH)
        if found & (_FIGHT | UNSURE):
            result |= ANY
        if found & _NONE:
            result |= self.pulled(groups, index, drives)
        return result

    def pulled(self, groups: Sequence[Joined], index: int, drives: Sequence[int]) -> int:
        """What an undriven group is through its resistors."""
        ways = list(self.paths(groups, index, drives))
        if any(not way.certain for way in ways):
            return LOW | HIGH | ANY
        up, down = self.tugs(ways)
        if up == down:  # both ways, or not at all
            return ANY
        level = HIGH if up else LOW
        for way in ways:
            if way.may != level or way.drives != level:
                continue
            beside = [list(self.paths(groups, other, drives)) for other in way.over]
            if any(not tug.certain for tugs in beside for tug in tugs):
                return LOW | HIGH | ANY
            if any(all(self.tugs(tugs)) for tugs in beside):
                continue  # a group on the way is pulled both ways
            pins = [groups[index], *(groups[other] for other in way.over)]
            if self.strong(pins, level, way.ohms, groups[way.path[-1]]):
                return level
        return ANY

    @staticmethod
    def tugs(ways: Sequence[Tug]) -> tuple[bool, bool]:
        """Whether ways through resistors may pull up, and whether they may pull down."""
        return any(way.may & HIGH for way in ways), any(way.may & LOW for way in ways)

    def strong(self, joined: Sequence[Joined], level: int, ohms: float, end: Joined) -> bool:
        """Whether a resistor from ``end`` makes a level for all inputs of these groups together.

        Of an output it takes what that promises; one that promises too little already is another
        fault, and a tenth of a volt may still be lost.
        """
        v_il = min(group.v_il for group in joined)
        v_ih = max(group.v_ih for group in joined)
        if v_il > 1e6:  # nobody reads
            return True
        if level == HIGH:
            lost = ohms * sum(group.high_amperes for group in joined)
            if end.rails or not end.v_ol:
                volts = max(end.rails, default=self.netlist.supply)
                return lost <= TOLERANCE * volts - v_ih
            # An output that only sinks brings no high: that is the supply's, or comes from outside.
            highest = TOLERANCE * self.netlist.supply
            return lost <= max(0.1, min(end.v_oh, default=highest) - v_ih)
        lost = ohms * sum(group.low_amperes for group in joined)
        if end.rails or not end.v_ol:
            return lost <= v_il
        return lost <= max(0.1, v_il - max(end.v_ol))

    def paths(self, groups: Sequence[Joined], index: int, drives: Sequence[int]) -> Iterator[Tug]:
        """Each way through resistors (and diodes) to something that may drive."""
        stack = [Tug((index,), 0.0, LOW | HIGH, True, 0, False)]
        while stack:
            way = stack.pop()
            here = groups[way.path[-1]]
            edges = [(there, ohms, LOW | HIGH, True) for there, ohms in here.resistors]
            edges += [(there, 0.0, comes, False) for there, comes in here.diodes]
            for there, ohms, comes, resists in edges:
                may = way.may & comes
                if there in way.path or not may:
                    continue
                found = drives[there]
                further = replace(
                    way,
                    path=(*way.path, there),
                    ohms=way.ohms + ohms,
                    may=may,
                    resists=way.resists or resists,
                )
                if found != _NONE and further.resists:
                    loose = bool(found & (_FIGHT | UNSURE))
                    brings = may if loose else may & found
                    sure = found in (LOW, HIGH, _FIGHT, UNSURE)
                    if brings or not sure:
                        yield replace(
                            further,
                            may=brings,
                            drives=0 if loose else found,
                            one_way=may if may != LOW | HIGH else 0,
                            certain=way.certain and sure,
                        )
                if found & _NONE:
                    stack.append(replace(further, certain=way.certain and found == _NONE))
