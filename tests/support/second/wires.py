"""What the nets of a board are, given what its pins put on them (design.md section 4, Levels).

A net *is* one of three things: LOW, HIGH, or ANY (it floats, fights or is pulled both ways, so
that each reading pin reads a level of its own). While something is unknown, a net is a set of
these, written as a sum; so is what a pin drives. Where it is not known who drives a net, nothing
is known of it: a resolver is no gate that could keep a level while a bus changes hands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.model import ChipSwitch, Closing, Netlist, Pin
from tests.support.second.diodes import UNSURE, Own, own_drive, through_diodes
from tests.support.second.words import X

LOW, HIGH, ANY = 1, 2, 4
_NONE, _FIGHT = 4, 8  # beside LOW and HIGH: what the drivers of some joined nets do
SINKS = (PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND)
MAX_OPEN = 6
"""Of more contacts than these that may be closed or not, not all cases are gone through."""

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

    def __init__(self, netlist: Netlist) -> None:
        self.netlist = netlist
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
        names = list(
            dict.fromkeys(c.closing for c, b in zip(contacts, bits, strict=True) if b == X)
        )
        if len(names) > MAX_OPEN:
            return self.murky(tuple(bit != 0 for bit in bits), bits, driving)
        found = [0] * len(self.netlist.nets)
        hands: list[set[frozenset[str]]] = [set() for _ in found]
        for chosen in product((0, 1), repeat=len(names)):
            choice: dict[Closing, int] = dict(zip(names, chosen, strict=True))
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
            group_of = self.flood(closed)
            groups = [Joined(nets=[]) for _ in range(max(group_of) + 1)]
            for net, place in enumerate(group_of):
                groups[place].nets.append(net)
            for group in groups:
                self.furnish(group)
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

    def flood(self, closed: tuple[bool, ...]) -> list[int]:
        next_to: list[list[int]] = [[] for _ in self.netlist.nets]
        for contact, shut in zip(self.netlist.contacts, closed, strict=True):
            if shut:
                next_to[contact.a].append(contact.b)
                next_to[contact.b].append(contact.a)
        for link in self.netlist.links:
            next_to[link.a].append(link.b)
            next_to[link.b].append(link.a)
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
        return group_of

    def furnish(self, group: Joined) -> None:
        """Who drives these nets, and what their inputs ask of a pull resistor."""
        netlist = self.netlist
        parts = {part.name: part for part in netlist.parts}
        for index in group.nets:
            net = netlist.nets[index]
            if net.rail is not None:
                group.rails.append(net.rail)
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
                    if index in group.nets:
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
        rails = frozenset(index for index, group in enumerate(groups) if group.rails)
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
            return lost <= max(0.1, min(end.v_oh, default=0.0) - v_ih)
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
