"""What is read of floating nets, worked out once more: by trying all levels, and with X.

A floating net is read if its level makes a difference to what storage holds after the round, or
after the next one. `Survey.sure` tries both levels at each of its readers: what differs is surely
read. `Survey.maybe` lets each reader read "either" (X) and asks only whether X gets to a condition
or a source of storage; that takes more for read than is. The product's answer lies between.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

from breadproof.specs.catalogue.part import Formula, Latch, Register
from breadproof.specs.netlist.model import Part
from tests.support.second.chip import after, write
from tests.support.second.wires import ANY
from tests.support.second.words import X
from tests.support.second_evaluator import _SINGLE, Inputs

if TYPE_CHECKING:
    from tests.support.brute_looks import Bench

Reads = dict[str, dict[str, int]]
"""By part and pin name: the level that is read."""


def levelled(part: Part) -> Iterator[tuple[Formula, Formula, int]]:
    """What storage takes in by level: when, what, and how wide it is."""
    for unit in part.type.storage:
        if isinstance(unit, Latch):
            yield unit.open, unit.source, unit.width
        elif unit.load is not None:
            yield unit.load.when, unit.load.source, unit.width


class Survey:
    """One round's floating nets: ``tried`` has all that may be read, ``unknown`` X where it may."""

    def __init__(self, bench: Bench, now: Inputs, floats: frozenset[str]) -> None:
        self.bench = bench
        self.now = now
        self.plain = self.reads(bench.sets, now)
        self.tried: dict[str, list[Reads]] = {}
        self.unknown: dict[str, Reads] = {}
        for net in bench.netlist.nets:
            labels = [pin.label for pin in net.pins if pin.label in now.free]
            if net.name not in floats or bench.sets[net.index] != ANY or not labels:
                continue
            readers = [net.name, *labels]
            loose = self.with_free(dict.fromkeys(readers, X))
            wide = self.widened(loose)
            self.unknown[net.name] = self.reads(self.narrowed(wide, loose), loose)
            found = []
            for levels in product((0, 1), repeat=len(readers)):
                inputs = self.with_free(dict(zip(readers, levels, strict=True)))
                sets = self.narrowed(wide, inputs)
                if all(one in _SINGLE for one in sets):
                    found.append(self.reads(sets, inputs))
            self.tried[net.name] = found

    def with_free(self, levels: Mapping[str, int]) -> Inputs:
        return replace(self.now, free={**self.now.free, **levels})

    def widened(self, loose: Inputs) -> list[int]:
        sets = self.bench.sets
        while True:
            wider = [a | b for a, b in zip(sets, self.bench.once(sets, loose), strict=True)]
            if wider == sets:
                return sets
            sets = wider

    def narrowed(self, sets: list[int], inputs: Inputs) -> list[int]:
        while True:
            closer = self.bench.once(sets, inputs)
            if closer == sets:
                return sets
            sets = closer

    def reads(self, sets: list[int], now: Inputs) -> Reads:
        return {part.name: self.bench.reads(part, sets, now) for part in self.bench.chips}

    # what is read -----------------------------------------------------------------------------

    def at_rest(self) -> frozenset[str]:
        """The nets that are read if this round is a quiet one; with a ``~``, if maybe."""
        return frozenset([
            *(net for net, tried in self.tried.items() if self.differs(tried)),
            *(f"{net}~" for net in self.unknown if any(self.unsure(net))),
        ])  # fmt: skip

    def differs(self, tried: list[Reads]) -> bool:
        """Whether storage looks at it at a quiet moment, when no clock moves."""
        bench = self.bench
        for part in bench.chips:
            before = bench.inside(part, self.plain[part.name], self.now)
            insides = [bench.inside(part, reads[part.name], self.now) for reads in tried]
            outcomes = [
                (after(one, before), [write(one, memory) for memory in part.type.memories])
                for one in insides
            ]
            if any(one != outcomes[0] for one in outcomes):
                return True
        return False

    def unsure(self, net: str) -> Iterator[bool]:
        """For each place whether X gets there at a quiet moment."""
        from tests.support.brute_looks import DrawnReader

        for part in self.bench.chips:
            inside = self.bench.inside(part, self.unknown[net][part.name], self.now)
            reader = DrawnReader(inside)
            for unit in part.type.storage:
                conditions = [unit.clear, unit.preset]
                if isinstance(unit, Latch):
                    conditions.append(unit.open)
                    opened = reader.truth(unit.open.expr)
                    yield bool(opened) and X in reader.assigned(unit.source.expr, unit.width)
                else:
                    conditions.append(unit.clock)
                    if unit.load is not None:
                        conditions.append(unit.load.when)
                        yield bool(reader.truth(unit.load.when.expr)) and X in reader.assigned(
                            unit.load.source.expr, unit.width
                        )
                yield any(one is not None and reader.truth(one.expr) == X for one in conditions)
            for memory in part.type.memories:
                if memory.write is not None and memory.source is not None:
                    yield reader.truth(memory.write.expr) == X
                    word = reader.assigned(memory.source.expr, memory.bits)
                    address = reader.word(memory.address.expr)
                    yield bool(reader.truth(memory.write.expr)) and X in (*word, *address)

    def taken(self, now: Survey) -> frozenset[str]:
        """The nets that storage takes in by the round ``now`` that follows this one."""
        found = []
        for net, tried in self.tried.items():
            if any(self.takes(part, tried, now) for part in self.bench.chips):
                found.append(net)
            if any(self.may_take(part, net, now) for part in self.bench.chips):
                found.append(f"{net}~")
        return frozenset(found)

    def takes(self, part: Part, tried: list[Reads], now: Survey) -> bool:
        bench = self.bench
        here = bench.inside(part, now.plain[part.name], now.now)
        before = [bench.inside(part, reads[part.name], now.now) for reads in tried]
        outcomes = [after(here, one) for one in before]
        if any(one != outcomes[0] for one in outcomes):
            return True
        return self.kept(part, tried, now)

    def kept(self, part: Part, tried: list[Reads], now: Survey) -> bool:
        """Whether a latch keeps it as it closes, or a memory as its writing ends."""
        from tests.support.brute_looks import DrawnReader

        bench = self.bench
        here = DrawnReader(bench.inside(part, now.plain[part.name], now.now))
        was = DrawnReader(bench.inside(part, self.plain[part.name], self.now))
        readers = [DrawnReader(bench.inside(part, r[part.name], self.now)) for r in tried]
        for when, source, width in levelled(part):
            if was.truth(when.expr) and not here.truth(when.expr):
                words = [reader.assigned(source.expr, width) for reader in readers]
                if any(word != words[0] for word in words):
                    return True
        for memory in part.type.memories:
            if memory.write is None or memory.source is None or not was.truth(memory.write.expr):
                continue
            places = [reader.word(memory.address.expr) for reader in readers]
            words = [reader.assigned(memory.source.expr, memory.bits) for reader in readers]
            ends = not here.truth(memory.write.expr)
            if any(one != places[0] for one in places):
                return True
            if ends and any(one != words[0] for one in words):
                return True
        return False

    def may_take(self, part: Part, net: str, now: Survey) -> bool:
        from tests.support.brute_looks import DrawnReader

        bench = self.bench
        here = DrawnReader(bench.inside(part, now.plain[part.name], now.now))
        was = DrawnReader(bench.inside(part, self.unknown[net][part.name], now.now))
        for unit in part.type.storage:
            if isinstance(unit, Register):
                levels = (was.truth(unit.clock.expr), here.truth(unit.clock.expr))
                if X in levels and levels[0] != levels[1]:
                    return True
                edge = levels == ((0, 1) if unit.rising else (1, 0))
                if edge and X in was.assigned(unit.next.expr, unit.width):
                    return True
        return self.kept(part, [self.plain, self.unknown[net]], now)
