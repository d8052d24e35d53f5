"""What is compared: lamps, ports, memory contents and nets of one name, each as one item."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.verify.revisions.links import Links, named_alike
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.twin import Twin

ItemKind = Literal["lamp", "port", "memory", "net"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """``old`` and ``new`` are what it is on the two boards: a lamp's name, net numbers, or the
    number of a memory. ``driven``: it is also compared whether anybody drives it."""

    name: str
    kind: ItemKind
    old: tuple[str | int, ...]
    new: tuple[str | int, ...]
    driven: bool = False
    inverted: bool = False
    """It is compared with its opposite."""
    when: tuple[tuple[int, bool], ...] = ()
    """It is compared only while each of these nodes of the old machine has that level."""

    @property
    def outside(self) -> bool:
        """Whether somebody beyond the board sees it, or finds it there later."""
        return self.kind != "net"

    def differs(self, twin: Twin, step: int) -> int:
        """The literal that the two boards differ in it at a quiet moment."""
        levels = twin.old.moments[step].rounds[-1].levels
        wanted = [levels[node] ^ int(not level) for node, level in self.when]
        return twin.aig.and_([*wanted, self.different(twin, step)])

    def different(self, twin: Twin, step: int) -> int:
        """The same, whether it is compared then or not."""
        aig, machines = twin.aig, (twin.old.machine, twin.new.machine)
        if self.kind == "lamp":
            lamps = [
                m.lamps[str(names[0])]
                for m, names in zip(machines, (self.old, self.new), strict=True)
            ]
            return twin.differ(lamps[:1], lamps[1:], step)
        if self.kind == "memory":
            return self.words_differ(twin, step)
        found: list[int] = []
        levels = [moment.rounds[-1].levels for moment in twin.moments(step)]
        for one, two in zip(self.old, self.new, strict=True):
            a, b = machines[0].nets[int(one)], machines[1].nets[int(two)]
            known = (levels[0][a.known], levels[1][b.known])
            level = aig.xor(levels[0][a.level], levels[1][b.level]) ^ int(self.inverted)
            found += [aig.xor(*known), aig.and_([*known, level])]
            found.append(aig.xor(levels[0][a.fights], levels[1][b.fights]))
            if self.driven:
                found.append(aig.xor(levels[0][a.driven], levels[1][b.driven]))
        return aig.or_(found)

    def words_differ(self, twin: Twin, step: int) -> int:
        """Whether some word differs: that at an address which is free to be any."""
        moments = twin.moments(step)
        numbers = (int(self.old[0]), int(self.new[0]))
        logs = (twin.old.memories[numbers[0]], twin.new.memories[numbers[1]])
        address = [twin.aig.input() for _ in logs[0].unit.address]
        words = [
            log.read(address, moment.until[number])
            for log, moment, number in zip(logs, moments, numbers, strict=True)
        ]
        return twin.aig.equal(*words) ^ 1


def items_of(old: Machine, new: Machine, matching: Matching, links: Links) -> tuple[Item, ...]:
    """All that both boards have: lamps, ports and memories first, then named nets."""
    outside = [*_lamps(old, new, matching), *_ports(matching), *_memories(old, links)]
    names = {item.name for item in outside}
    return (*outside, *(item for item in nets_of(matching) if item.name not in names))


def _lamps(old: Machine, new: Machine, matching: Matching) -> Iterator[Item]:
    for name in old.lamps:
        other = name
        if name not in new.lamps:
            head, bracket, rest = name.partition("[")
            other = matching.parts.get(head, head) + bracket + rest
        if other in new.lamps:
            yield Item(name=name, kind="lamp", old=(name,), new=(other,))


def _ports(matching: Matching) -> Iterator[Item]:
    new = {port.name: port for port in matching.new.ports}
    for port in matching.old.ports:
        other = new.get(port.name)
        if port.direction == "in" or port.moment or other is None or other.direction == "in":
            continue
        if len(other.nets) == len(port.nets):
            both = port.direction == "both"
            yield Item(name=port.name, kind="port", old=port.nets, new=other.nets, driven=both)


def _memories(old: Machine, links: Links) -> Iterator[Item]:
    for one, two in links.memories:
        yield Item(name=old.memories[one].label, kind="memory", old=(one,), new=(two,))


def nets_of(matching: Matching) -> Iterator[Item]:
    """Nets of one name on both boards; bits of a vector that both have as one item."""
    single = {name: (a, b) for name, a, b in named_alike(matching)}
    new = {vector.name: vector for vector in matching.new.vectors}
    for vector in matching.old.vectors:
        other = new.get(vector.name)
        if other is not None and len(other.nets) == len(vector.nets):
            nets = (vector.nets, other.nets)
            for number in vector.nets:
                single.pop(matching.old.nets[number].name, None)
            yield Item(name=vector.name, kind="net", old=nets[0], new=nets[1])
    for name, (a, b) in single.items():
        yield Item(name=name, kind="net", old=(a,), new=(b,))


def unshared(old: Sequence[str], new: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What only the old, and what only the new board has."""
    return (
        tuple(name for name in old if name not in new),
        tuple(name for name in new if name not in old),
    )
