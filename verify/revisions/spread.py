"""How a difference spreads over the board: from the first pin that differs, net by net, to what is
seen.

It is looked for backwards on the old board, in both runs at once. Behind a net stand the outputs
that drive it otherwise on the two boards; behind an output those of its part's pins, and of what it
stores, that differ and that alone (or, if none does, together) make it another output when they are
as on the new board; behind a bit that is stored the pins that differed in the round before it did.
The shortest way is told.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from breadproof.specs.netlist.model import Link, Part, Pin, Resistor
from breadproof.verify.report.insides import Insides
from breadproof.verify.revisions.cause import Parting
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.walked import Walked

Moment = tuple[int, int]
"""Step and round, from 0."""
Levels = tuple[int | None, int | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """A net of the old board that differs from ``at`` on, with its levels on both boards then.

    ``into`` and ``out`` are the pins of the part that it comes through; "" at the beginning.
    """

    net: int
    at: Moment
    levels: Levels
    into: str = ""
    out: str = ""


def spread(
    matching: Matching, runs: tuple[Walked, Walked], where: Parting, seen: Iterable[int]
) -> tuple[Passed, ...]:
    """The way to one of the nets of the old board that are ``seen``; () if none is found."""
    return _Search(matching, runs, where).way(seen)


@dataclass(frozen=True, slots=True)
class _Place:
    """A net that differs since a moment, and the way on to what is seen."""

    net: int
    since: int
    via: tuple[str, str] = ("", "")
    behind: _Place | None = None


@dataclass(slots=True)
class _Search:
    matching: Matching
    runs: tuple[Walked, Walked]
    where: Parting
    moments: list[tuple[Moment, tuple[Sequence[int], Sequence[int]]]] = field(init=False)
    parts: dict[str, Part] = field(init=False)
    stores: tuple[dict[str, int], dict[str, int]] = field(init=False)
    insides: dict[str, Insides] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.moments = list(_moments(self.runs))
        self.parts = {part.name: part for part in self.matching.old.parts}
        one, two = ({store.label: store.leaf for store in run.machine.stores} for run in self.runs)
        self.stores = one, two

    def way(self, seen: Iterable[int]) -> tuple[Passed, ...]:
        last = self.moments[-1][0][0]
        end = [k for k, (at, _) in enumerate(self.moments) if at[0] == last]
        found = (
            (net, max((k for k in end if self.net_differs(net, k)), default=-1)) for net in seen
        )
        queue = deque(_Place(net, self.since(net, at)) for net, at in found if at >= 0)
        known = {(place.net, place.since) for place in queue}
        while queue:
            place = queue.popleft()
            if self.begins(place.net):
                return self.told(place)
            for into, out, source, at in self.sources(place):
                here = _Place(place.net, place.since, (into, out), place.behind)
                if source is not None and self.net_differs(source, at):
                    further = _Place(source, self.since(source, at), behind=here)
                    if (further.net, further.since) not in known:
                        known.add((further.net, further.since))
                        queue.append(further)
                elif into in self.starts():
                    return self.told(here)
        return ()

    def starts(self) -> set[str]:
        """The first pin that differs, and those that the change it comes from is about."""
        change = self.where.change
        return {self.where.pins[0], *(() if change is None else change.pins[0])}

    def begins(self, net: int) -> bool:
        """Whether the first pin that differs is on a net that differs with it."""
        pins = self.matching.old.nets[net].pins
        if all(pin.label != self.where.pins[0] for pin in pins):
            return False
        first = (self.where.step, self.where.round)
        at = next(k for k, (moment, _) in enumerate(self.moments) if moment == first)
        return self.net_differs(net, at)

    def told(self, place: _Place | None) -> tuple[Passed, ...]:
        found: list[Passed] = []
        while place is not None:
            at = self.moments[place.since][0]
            into, out = place.via
            levels = self.net_levels(place.net, place.since)
            found.append(Passed(net=place.net, at=at, levels=levels, into=into, out=out))
            place = place.behind
        return tuple(found)

    # levels -----------------------------------------------------------------------------------

    def net_levels(self, net: int, at: int) -> Levels:
        """The levels of a net of the old board, and of the same on the new one."""
        both: list[int | None] = []
        for run, own, known in zip(
            self.runs, (net, self.matching.nets[net]), self.moments[at][1], strict=True
        ):
            level = run.machine.nets[own]
            both.append(known[level.level] if known[level.known] else None)
        return both[0], both[1]

    def net_differs(self, net: int, at: int) -> bool:
        if net not in self.matching.nets or self.matching.old.nets[net].rail is not None:
            return False
        one, two = self.net_levels(net, at)
        return one != two

    def since(self, net: int, at: int) -> int:
        """The first moment of those up to ``at`` in all of which a net differs."""
        while at and self.net_differs(net, at - 1):
            at -= 1
        return at

    def pin_levels(self, label: str, at: int) -> tuple[int, int] | None:
        """What a pin reads on both boards; None where one of them does not have it."""
        one = self.runs[0].machine.pins.get(label)
        two = self.runs[1].machine.pins.get(self.matching.pins.get(label, ""))
        if one is None or two is None:
            return None
        levels = self.moments[at][1]
        return levels[0][one.level], levels[1][two.level]

    def store_levels(self, label: str, at: int) -> tuple[int, int] | None:
        part, _, rest = label.partition(".")
        other = f"{self.matching.parts.get(part, part)}.{rest}"
        if label not in self.stores[0] or other not in self.stores[1]:
            return None
        levels = self.moments[at][1]
        return levels[0][self.stores[0][label]], levels[1][self.stores[1][other]]

    def drives_otherwise(self, label: str, at: int) -> bool:
        """Whether an output drives on one board alone, or another level."""
        now = self.matching.pins.get(label, "")
        found: list[tuple[int, int]] = []
        for run, own, levels in zip(self.runs, (label, now), self.moments[at][1], strict=True):
            drive = run.machine.drives.get(own)
            if drive is None:
                return False
            when = levels[drive.when]
            found.append((when, levels[drive.level] if when else 0))
        return found[0] != found[1]

    # backwards --------------------------------------------------------------------------------

    def sources(self, place: _Place) -> Iterator[tuple[str, str, int | None, int]]:
        """What a difference may come from: pin into a part, pin out, net of the former, when."""
        for pin in self.matching.old.nets[place.net].pins:
            if pin.kind.drives and self.drives_otherwise(pin.label, place.since):
                for into, at in self.behind(self.parts[pin.part], pin, place.since):
                    yield into.label, pin.label, into.net, at
        for one, two, labels in self.joined(place.since):
            for net, other, pins in ((one, two, labels), (two, one, labels[::-1])):
                if net == place.net:
                    yield pins[1], pins[0], other, place.since

    def joined(self, at: int) -> Iterator[tuple[int, int, tuple[str, str]]]:
        """Nets that pass on levels to each other: through closed contacts, resistors, diodes."""
        board, machine, levels = self.matching.old, self.runs[0].machine, self.moments[at][1][0]
        for contact in board.contacts:
            if levels[machine.closed(contact.closing)]:
                yield contact.a, contact.b, contact.pins
        always: tuple[Resistor | Link, ...] = (*board.resistors, *board.links)
        for one in always:
            yield one.a, one.b, self.legs(one.part, one.a, one.b)
        for diode in board.diodes:
            ends = diode.anode, diode.cathode
            yield *ends, self.legs(diode.part, *ends)

    def legs(self, part: str, a: int, b: int) -> tuple[str, str]:
        """The pins of a part on two nets."""
        pins = self.parts[part].pins
        one, two = (next((pin.label for pin in pins if pin.net == net), part) for net in (a, b))
        return one, two

    def behind(self, part: Part, out: Pin, at: int) -> Iterator[tuple[Pin, int]]:
        """The pins of a part that make an output another one, and when."""
        if part.name not in self.insides:
            self.insides[part.name] = Insides(part)
        inside = self.insides[part.name]
        roots = inside.output(out.label)
        support = inside.support(roots)
        pins: dict[str, tuple[int, int]] = {}
        for pin in part.pins:
            both = self.pin_levels(pin.label, at)
            if both is not None:
                pins[pin.name] = both
        stores = {
            label: both
            for label in self.stores[0]
            if label.startswith(f"{part.name}.") and (both := self.store_levels(label, at))
        }
        every = {**pins, **stores}
        candidates = [
            name for name in (*support.pins, *support.stores)
            if name in every and every[name][0] != every[name][1]
        ]  # fmt: skip
        if not set(support.pins) <= set(pins) or not set(support.stores) <= set(stores):
            return
        now = {n: both[0] for n, both in pins.items()}, {n: both[0] for n, both in stores.items()}
        other = {name: both[1] for name, both in every.items()}
        for name in inside.deciding(roots, now, other, candidates):
            if name in pins:
                yield next(pin for pin in part.pins if pin.name == name), at
            else:
                yield from self.stored(part, inside, name, at)

    def stored(self, part: Part, inside: Insides, label: str, at: int) -> Iterator[tuple[Pin, int]]:
        """The pins that differed in the round before a bit came to differ."""
        while at and _apart(self.store_levels(label, at - 1)):
            at -= 1
        if not at:
            return
        names = {*inside.triggers((label,)).pins, *inside.taken((label,))}
        for pin in part.pins:
            if pin.name in names and _apart(self.pin_levels(pin.label, at - 1)):
                yield pin, at - 1


def _apart(both: tuple[int, int] | None) -> bool:
    return both is not None and both[0] != both[1]


def _moments(
    runs: tuple[Walked, Walked],
) -> Iterator[tuple[Moment, tuple[Sequence[int], Sequence[int]]]]:
    """All rounds of both runs; the board that is quiet sooner stays as it is."""
    for step, (one, two) in enumerate(zip(runs[0].steps, runs[1].steps, strict=True)):
        for number in range(max(len(one), len(two))):
            levels = (one[min(number, len(one) - 1)].levels, two[min(number, len(two) - 1)].levels)
            yield (step, number), levels
