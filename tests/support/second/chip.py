"""One chip: what it drives, and what its storage does, straight from its part file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from breadproof.specs.catalogue.part import (
    Latch,
    Memory,
    Output,
    PartType,
    PinKind,
    Register,
)
from breadproof.specs.netlist.model import Part
from tests.support.second.words import Reader, Word, X, to_int, to_word

READS = (PinKind.IN, PinKind.BIDIRECTIONAL, PinKind.WIRED_AND, PinKind.MOMENT)

Fetch = Callable[[str, int], Word]
"""(memory name, address) -> its word."""


@dataclass(slots=True)
class Inside:
    """A chip's pins and storage at one moment: the meaning of the names in its formulas.

    ``levels`` are those that its pins read, by pin name.
    """

    type: PartType
    levels: Mapping[str, int]
    stored: Mapping[str, Word]
    fetch: Fetch
    inner_found: dict[str, int] = field(default_factory=dict)

    def whole(self, name: str) -> Word:
        if name in self.stored:
            return self.stored[name]
        return (self.single(name),)

    def bit(self, name: str, number: int) -> int:
        if name in self.stored:
            return self.stored[name][number]
        return self.single(f"{name}{number}")

    def single(self, name: str) -> int:
        if name in self.levels:
            return self.levels[name]
        if name not in self.inner_found:
            output = next(output for output in self.type.inner if name in output.names)
            self.inner_found.update(zip(output.names, self.row(output), strict=True))
        return self.inner_found[name]

    def row(self, output: Output) -> Word:
        """The levels of an output's names, in their order (most significant first)."""
        width = len(output.names)
        return Reader(self).assigned(output.level.expr, width)[::-1]

    def is_memory(self, name: str) -> bool:
        return any(memory.name == name for memory in self.type.memories)

    def word(self, name: str, address: Word) -> Word:
        memory = next(memory for memory in self.type.memories if memory.name == name)
        if X in address:
            return (X,) * memory.bits
        place = to_int(address)
        return self.fetch(name, place) if place < memory.words else (0,) * memory.bits


_DRIVEN: dict[tuple[str, tuple[int, ...], tuple[Word, ...]], dict[str, tuple[int, int]]] = {}


def driven(inside: Inside) -> dict[str, tuple[int, int]]:
    """What each output pin puts on its net, by pin name: (level, when)."""
    chip = inside.type
    if chip.memories:
        return _work_out(inside)
    key = (chip.key, tuple(inside.levels.values()), tuple(inside.stored.values()))
    if key not in _DRIVEN:
        if len(_DRIVEN) > 200_000:
            _DRIVEN.clear()
        _DRIVEN[key] = _work_out(inside)
    return _DRIVEN[key]


def _work_out(inside: Inside) -> dict[str, tuple[int, int]]:
    found = {}
    for output in inside.type.logic:
        when = 1 if output.when is None else Reader(inside).truth(output.when.expr)
        for name, level in zip(output.names, inside.row(output), strict=True):
            found[name] = (level, when)
    return found


def reading_pins(part: Part) -> list[tuple[str, str]]:
    """(name, label) of the pins that a chip looks at."""
    return [(pin.name, pin.label) for pin in part.pins if pin.kind in READS]


def after(now: Inside, before: Inside | None) -> dict[str, Word]:
    """The storage after a round: clear over preset over load over edge; a latch while it is open.

    ``before`` has the pins of the round before and the storage of now.
    """
    found: dict[str, Word] = {}
    reader = Reader(now)
    for unit in now.type.storage:
        content = now.stored[unit.name]
        load = unit.load if isinstance(unit, Register) else None
        if unit.clear is not None and reader.truth(unit.clear.expr):
            content = to_word(0, unit.width)
        elif unit.preset is not None and reader.truth(unit.preset.expr):
            content = (1,) * unit.width
        elif load is not None and reader.truth(load.when.expr):
            content = reader.assigned(load.source.expr, unit.width)
        elif isinstance(unit, Latch):
            if reader.truth(unit.open.expr):
                content = reader.assigned(unit.source.expr, unit.width)
        elif before is not None:
            was = Reader(before).truth(unit.clock.expr)
            level = reader.truth(unit.clock.expr)
            if (was, level) == ((0, 1) if unit.rising else (1, 0)):
                content = Reader(before).assigned(unit.next.expr, unit.width)
        found[unit.name] = content
    return found


def write(now: Inside, memory: Memory) -> tuple[int, int] | None:
    """(address, word) if the memory is written in this round."""
    if memory.write is None or memory.source is None:
        return None
    reader = Reader(now)
    if not reader.truth(memory.write.expr):
        return None
    address = to_int(reader.word(memory.address.expr))
    return address, to_int(reader.assigned(memory.source.expr, memory.bits))
