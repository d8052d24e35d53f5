"""What the nets of a board are, given what its pins put on them (design.md section 4, Levels).

A net *is* one of three things: LOW, HIGH, or ANY (it floats, fights or is pulled both ways, so
that each reading pin reads a level of its own). While something is unknown, a net is a set of
these, written as a sum; so is what a pin drives. Where it is not known who drives a net, nothing
is known of it: a resolver is no gate that could keep a level while a bus changes hands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Netlist
from tests.support.second.words import X

LOW, HIGH, ANY = 1, 2, 4
_NONE, _FIGHT = 4, 8  # beside LOW and HIGH: what the drivers of some joined nets do

Driving = Mapping[str, tuple[int, int]]
"""Pin label, or port bit, -> (level, whether it drives); each 0, 1 or X."""


def as_set(level: int) -> int:
    return LOW | HIGH if level == X else LOW << level


@dataclass(slots=True)
class Joined:
    """Nets that closed contacts make one."""

    nets: list[int]
    drivers: list[tuple[str, str]] = field(default_factory=list)  # (how, pin label or port bit)
    rails: list[float] = field(default_factory=list)
    low_amperes: float = 0.0
    high_amperes: float = 0.0
    v_il: float = 1e9
    v_ih: float = -1e9
    resistors: list[tuple[int, float]] = field(default_factory=list)  # (the other group, ohms)


class Wires:
    """The nets of one board."""

    def __init__(self, netlist: Netlist) -> None:
        self.netlist = netlist
        self.layouts: dict[tuple[bool, ...], tuple[list[Joined], list[int]]] = {}

    def nets(self, driving: Driving, controls: Mapping[str, tuple[int, ...]]) -> list[int]:
        """A set for each net. A control bit that is X may be either, each bit for itself."""
        bits = [controls[c.control][c.bit] for c in self.netlist.contacts]
        names = sorted(
            {(c.control, c.bit) for c, b in zip(self.netlist.contacts, bits, strict=True) if b == X}
        )
        found = [0] * len(self.netlist.nets)
        for chosen in product((0, 1), repeat=len(names)):
            choice = dict(zip(names, chosen, strict=True))
            closed = tuple(
                bool(choice.get((c.control, c.bit), b))
                for c, b in zip(self.netlist.contacts, bits, strict=True)
            )
            groups, group_of = self.layout(closed)
            sets = [self.one(groups, index, driving) for index in range(len(groups))]
            for net, group in enumerate(group_of):
                found[net] |= sets[group]
        return found

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
            self.layouts[closed] = (groups, group_of)
        return self.layouts[closed]

    def flood(self, closed: tuple[bool, ...]) -> list[int]:
        next_to: list[list[int]] = [[] for _ in self.netlist.nets]
        for contact, shut in zip(self.netlist.contacts, closed, strict=True):
            if shut:
                next_to[contact.a].append(contact.b)
                next_to[contact.b].append(contact.a)
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
                    wired_and = pin.kind is PinKind.OPEN_COLLECTOR
                    group.drivers.append(("sinks" if wired_and else "drives", pin.label))
                family = parts[pin.part].family
                if pin.kind.reads and family is not None:
                    v_il, v_ih = family.inputs.thresholds(netlist.supply)
                    group.low_amperes += family.i_il
                    group.high_amperes += family.i_ih
                    group.v_il, group.v_ih = min(group.v_il, v_il), max(group.v_ih, v_ih)
        for port in netlist.ports:
            if port.direction != "out":
                for place, index in enumerate(port.nets):
                    if index in group.nets:
                        group.drivers.append(("drives", f"{port.name}:{place}"))

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

    def one(self, groups: Sequence[Joined], index: int, driving: Driving) -> int:
        """What the nets of one group are."""
        found = self.driven(groups[index], driving)
        result = found & (LOW | HIGH)
        if found & _FIGHT:
            result |= ANY
        if found & _NONE:
            result |= self.pulled(groups, index, driving)
        return result

    def pulled(self, groups: Sequence[Joined], index: int, driving: Driving) -> int:
        """What an undriven group is through its resistors."""
        group = groups[index]
        pulls = list(self.paths(groups, index, driving))
        if any(len(options) > 1 for options, _, _ in pulls):
            return LOW | HIGH | ANY
        result = 0
        for pull in product(*(options for options, _, _ in pulls)):
            acting = [
                (level, ohms, volts)
                for level, (_, ohms, volts) in zip(pull, pulls, strict=True)
                if level != _NONE
            ]
            levels = {level for level, _, _ in acting}
            if len(levels) != 1 or _FIGHT in levels:
                result |= ANY
                continue
            level = levels.pop()
            strong = any(self.strong(group, level, ohms, volts) for _, ohms, volts in acting)
            result |= level if strong else ANY
        return result

    def strong(self, group: Joined, level: int, ohms: float, volts: float) -> bool:
        if group.v_il > 1e6:  # nobody reads
            return True
        if level == HIGH:
            return volts - ohms * group.high_amperes >= group.v_ih
        return ohms * group.low_amperes <= group.v_il

    def paths(
        self, groups: Sequence[Joined], index: int, driving: Driving
    ) -> Iterator[tuple[list[int], float, float]]:
        """Each way through resistors to something that may drive: (what it may be, ohms, volts)."""
        stack: list[tuple[int, float, tuple[int, ...], bool]] = [(index, 0.0, (index,), True)]
        while stack:
            here, ohms, path, sure = stack.pop()
            for there, more in groups[here].resistors:
                if there in path:
                    continue
                found = self.driven(groups[there], driving)
                options = [part for part in (LOW, HIGH, _FIGHT, _NONE) if found & part]
                if not sure and _NONE not in options:
                    options.append(_NONE)
                if options != [_NONE]:
                    rails = groups[there].rails
                    volts = max(rails) if rails else self.netlist.supply
                    yield options, ohms + more, volts
                if found & _NONE:
                    certain = sure and found == _NONE
                    stack.append((there, ohms + more, (*path, there), certain))
