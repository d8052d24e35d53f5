"""Words of a memory that a proof keeps an eye on, as part of the state.

A step may begin with any content of a memory that is written. That leaves nothing out, so what is
never broken in it is never broken; but what was written is forgotten from step to step. A tracked
word mends this for one address (Bjesse, "Word-level sequential memory abstraction", 2008; told from
memory): its address A is any, and the same in all steps; its word V is what the memory holds there
(a write that hits A changes V, a read at A sees V).

Any A will not do to prove something of all addresses at once, but the one that matters will. So a
violation counts only if A is the address at a moment that `When` names, counted back from the
violation. Nothing is lost: take any run of the board that breaks the property. The moment is one
of the run, or it never was, and then any A counts. Choose that address for A and what the memory
holds there for V; this is a run of the board with the tracked word, and its violation counts. So
if no counted violation can be reached, no violation can be. With several tracked words each is
chosen by itself. What the moment is, is of no account for this, as long as the run decides it.

Only the first violation of a run counts: a bit of the state tells that there was one, and after it
nothing is asked. So the moment is that of the first one.

A run that is found this way need not be one of the board, and is shown to nobody.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.frames import Frames, Moment
from breadproof.verify.prove.memory import Word
from breadproof.verify.prove.relations import Supports

When = Literal["now", "edge", "before"]
"""The moment whose address is tracked: that of the violation; the round before the last edge at
which storage took in what it read; the moment one step before the violation."""

LEVELS: tuple[tuple[When, ...], ...] = ((), ("now",), ("now", "edge"), ("now", "edge", "before"))
"""What is tracked of each address: at first nothing, then more and more."""

VIOLATED = "violated"
"""The name of the bit that tells that there was a violation, at this moment or before."""

MAX_WORDS = 4
"""More words are not tracked at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracked:
    """A word of memory number ``memory`` (in `Machine.memories`).

    ``address`` are the nodes of an address (most significant first), ``edges`` the clock edges that
    matter to "edge" (nodes), ``name`` what the bits of the state are called after.
    """

    memory: int
    address: tuple[int, ...]
    when: When
    edges: tuple[int, ...]
    name: str


def tracked_words(machine: Machine, node: int, kinds: Sequence[When]) -> tuple[Tracked, ...]:
    """A word for each address at which the cone of ``node`` reads a written memory, and each kind.

    ``node`` FALSE stands for the whole board. At most `MAX_WORDS`; none if there are more. Left out
    are addresses that formulas alone know of (levels of earlier steps).
    """
    graph = machine.graph
    assumed = [one.bad for one in machine.logic.formulas if one.kind == "assume"]
    nodes = closure(machine, [node, *assumed])[0] if node else range(len(graph))
    known = {Graph.FALSE, Graph.TRUE, *machine.order}
    known |= {leaf for loop in machine.loops for leaf in loop.leaves}
    wanted: dict[tuple[int, tuple[int, ...]], None] = {}
    for one in sorted(nodes):
        if graph.kinds[one] is Kind.READ:
            memory, _, *address = graph.args[one]
            if machine.memories[memory].contents is None and {*address} <= known:
                wanted[memory, tuple(address)] = None
    found: list[Tracked] = []
    count: dict[int, int] = {}
    for memory, where in wanted:
        edges = _edges(machine, memory) if "edge" in kinds else ()
        for when in kinds:
            if when == "edge" and not edges:
                continue
            count[memory] = count.get(memory, 0) + 1
            name = f"{machine.memories[memory].label} word {count[memory]}"
            used = edges if when == "edge" else ()
            found.append(Tracked(memory=memory, address=where, when=when, edges=used, name=name))
    return tuple(found) if len(found) <= MAX_WORDS else ()


def _edges(machine: Machine, memory: int) -> tuple[int, ...]:
    """The edges at which storage takes in what a memory shows."""
    supports = Supports(machine)
    shown = supports.reads(memory)
    edges = {s.edge: None for s in machine.stores if s.edge and supports.masks[s.next] & shown}
    return tuple(sorted(edges))


@dataclass(frozen=True, slots=True)
class Literals:
    """A tracked word before and after a step; ``match`` is whether the address is the one counted.

    All of ``address`` and ``word`` are least significant first.
    """

    one: Tracked
    address: Word
    word: Word
    match: int
    word_then: Word
    match_then: int


class Tracker:
    """Adds tracked words to a step that is built: `begin` before its first moment, then `end`."""

    def __init__(self, frames: Frames, words: Sequence[Tracked]) -> None:
        """Nothing is built yet."""
        self.frames = frames
        self.words = words
        self.begun: list[tuple[Word, Word, int]] = []

    def begin(self) -> None:
        """Any address, any word, and whether it counted so far."""
        aig = self.frames.aig
        for one in self.words:
            place = tuple(aig.input() for _ in one.address)
            word = self.frames.memories[one.memory].first(place)
            self.begun.append((tuple(reversed(place)), word, aig.input()))

    def end(self, first: Moment, second: Moment) -> list[Literals]:
        """The words after the step."""
        found = []
        for one, (address, word, match) in zip(self.words, self.begun, strict=True):
            log = self.frames.memories[one.memory]
            place = tuple(reversed(address))
            found.append(
                Literals(
                    one=one,
                    address=address,
                    word=word,
                    match=match if one.when != "now" else self.at(first, one, place),
                    word_then=log.read(place, len(log.writes)),
                    match_then=self.match_then(one, place, match, first, second),
                )
            )
        return found

    def first_conditions(self) -> list[int]:
        """What holds at the first moment of a run: what never was, counts."""
        begun = zip(self.words, self.begun, strict=True)
        return [match for one, (_, _, match) in begun if one.when != "now"]

    def at(self, moment: Moment, one: Tracked, place: Sequence[int]) -> int:
        """Whether the address at a quiet moment is the tracked one."""
        levels = moment.rounds[-1].levels
        return self.frames.aig.equal(place, [levels[node] for node in one.address])

    def match_then(
        self, one: Tracked, place: Sequence[int], match: int, first: Moment, second: Moment
    ) -> int:
        """Whether the address counts after the step."""
        aig = self.frames.aig
        match one.when:
            case "now":
                return self.at(second, one, place)
            case "before":
                return self.at(first, one, place)
            case "edge":
                before = first.rounds[-1]
                for here in second.rounds:
                    edge = aig.or_([here.levels[node] for node in one.edges])
                    there = [before.levels[node] for node in one.address]
                    match = aig.mux(edge, aig.equal(place, there), match)
                    before = here
                return match
