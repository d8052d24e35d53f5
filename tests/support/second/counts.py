"""How often levels may change within a round, written from design.md section 4 ("glitch").

Every control and storage bit that changed does it once; a ROM or memory with an unknown address bit
may show anything. What is on the way to a new level is a word in which levels alternate, and a gate
makes of its inputs' words the longest word that any order of their changes gives: found here by
going through all orders, as Brzozowski and Esik define it for any Boolean function. A part's
equations are gates as they are drawn; a net is one function of all that drives it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import ChipSwitch, ControlBit, Netlist, Part
from tests.support.second.chip import Inside, reading_pins
from tests.support.second.wires import ANY, HIGH, LOW, Wires
from tests.support.second.words import Reader, X

Word = tuple[int, ...]
"""Levels one after the other, no two neighbours equal: what a wire may show, at most."""

LONG = 7
"""Longer words are cut by whole pulses: only whether there is a pulse is asked."""
MAX_ORDERS = 3000


def cut(word: Word) -> Word:
    """A word of at most `LONG` levels with the same ends."""
    return word if len(word) <= LONG else word[: LONG - 1 - (len(word) - LONG) % 2] + word[-1:]


def settled(word: Word) -> Word:
    """Without repetitions."""
    return tuple(b for place, b in enumerate(word) if not place or word[place - 1] != b)


def longest(words: Sequence[Word], level: Callable[[tuple[int, ...]], int]) -> Word:
    """The longest word of a function whose inputs go through these words in any order."""
    best: dict[tuple[int, ...], Word] = {}
    for place in product(*(range(len(word)) for word in words)):
        here = level(tuple(word[k] for word, k in zip(words, place, strict=True)))
        ways = [best[(*place[:n], k - 1, *place[n + 1 :])] for n, k in enumerate(place) if k] or [
            ()
        ]
        best[place] = max((settled((*way, here)) for way in ways), key=len)
    return cut(best[tuple(len(word) - 1 for word in words)])


def both(words: Sequence[Word]) -> Word:
    found: Word = (1,)
    for word in words:
        found = longest((found, word), lambda bits: bits[0] & bits[1])
    return found


def inverted(word: Word) -> Word:
    return tuple(1 - bit for bit in word)


def either(words: Sequence[Word]) -> Word:
    return inverted(both([inverted(word) for word in words]))


def odd(words: Sequence[Word]) -> Word:
    found: Word = (0,)
    for word in words:
        found = longest((found, word), lambda bits: bits[0] ^ bits[1])
    return found


def murky(before: int, now: int) -> Word:
    """Anything between two levels."""
    return (before, 1 - before, before) if before == now else (before, now, before, now)


@dataclass(slots=True)
class Drawn:
    """A part's formulas on words: rows of them, least significant first."""

    pins: Mapping[str, Word]
    before: Inside
    now: Inside
    moving: Inside
    inner: dict[str, Word] = field(default_factory=dict)

    def truth(self, expr: s.Expr) -> Word:
        return either(self.row(expr))

    def row(self, expr: s.Expr, width: int = 0) -> tuple[Word, ...]:
        wide = max(width, Reader(self.now).size(expr)[0])
        found = self.gates(expr, wide)
        if found is None:
            found = self.other(expr, wide)
        return (*found, *([(0,)] * wide))[:wide]

    def gates(self, expr: s.Expr, width: int) -> tuple[Word, ...] | None:
        """What is drawn as gates; None for all else."""
        match expr:
            case s.Number():
                return tuple(((expr.value >> k) & 1,) for k in range(width))
            case s.Name():
                return self.named(expr.path)
            case s.Index(base=s.Name(path=path), at=s.Number(value=number)):
                if path in self.now.stored or self.now.is_memory(path):
                    return (self.named(path)[number],) if path in self.now.stored else None
                return self.named(f"{path}{number}")
            case s.Unary(op="~", operand=operand):
                return tuple(map(inverted, self.row(operand, width)))
            case s.Unary(op="!", operand=operand):
                return (inverted(self.truth(operand)),)
            case s.Binary(op="&&" | "||" as op, left=left, right=right):
                return ((both if op == "&&" else either)([self.truth(left), self.truth(right)]),)
            case s.Binary(op="&" | "|" | "^" as op, left=left, right=right):
                gate = {"&": both, "|": either, "^": odd}[op]
                rows = zip(self.row(left, width), self.row(right, width), strict=True)
                return tuple(gate(pair) for pair in rows)
            case s.Conditional(test=test, then=then, other=other):
                chosen = self.truth(test)
                rows = zip(self.row(then, width), self.row(other, width), strict=True)
                return tuple(
                    either([both([chosen, a]), both([inverted(chosen), b])]) for a, b in rows
                )
            case _:
                return None

    def named(self, name: str) -> tuple[Word, ...]:
        if name in self.now.stored:
            pairs = zip(self.before.stored[name], self.now.stored[name], strict=True)
            return tuple(settled(pair) for pair in pairs)
        if name in self.pins:
            return (self.pins[name],)
        if name not in self.inner:
            output = next(output for output in self.now.type.inner if name in output.names)
            row = self.row(output.level.expr, len(output.names))[: len(output.names)]
            self.inner.update(zip(output.names, row[::-1], strict=True))
        return (self.inner[name],)

    def other(self, expr: s.Expr, width: int) -> tuple[Word, ...]:
        """Sums, comparisons, memories: steady where three-valued settling knows the level, else
        anything."""
        was, now, moving = (
            Reader(inside).sized(expr, width, False)
            for inside in (self.before, self.now, self.moving)
        )
        return tuple(
            murky(a, b) if c == X else (b,) for a, b, c in zip(was, now, moving, strict=True)
        )


@dataclass(slots=True)
class Moment:
    """A round as it settled: controls, what each chip reads and holds, floating levels."""

    controls: Mapping[str, tuple[int, ...]]
    inside: Mapping[str, Inside]
    free: Mapping[str, int]


class Counts:
    """The words of all pins of a board between two rounds.

    ``moving`` are the chips in three-valued settling: a pin that is not X cannot move, one that is
    X and keeps its level pulses.
    """

    def __init__(
        self,
        netlist: Netlist,
        chips: Sequence[Part],
        wires: Wires,
        before: Moment,
        now: Moment,
        moving: Mapping[str, Inside],
    ) -> None:
        self.netlist, self.chips, self.wires = netlist, chips, wires
        self.before, self.now, self.inside = before, now, moving
        self.read = {part.name: reading_pins(part) for part in chips}
        self.net_of = {pin.label: pin.net for pin in netlist.pins()}
        self.near = self.neighbours()
        self.moving = {
            label: moving[part.name].levels[name]
            for part in chips
            for name, label in self.read[part.name]
        }
        self.words: dict[str, Word] = {
            label: (self.before.inside[part.name].levels[name],)
            for part in chips
            for name, label in self.read[part.name]
        }
        while self.grow():
            pass
        for part in chips:
            for name, label in self.read[part.name]:
                self.words[label] = self.ended(
                    self.words[label],
                    self.before.inside[part.name].levels[name],
                    self.now.inside[part.name].levels[name],
                    self.moving[label],
                )

    def neighbours(self) -> list[int]:
        """The island of nets that each net belongs to, by what may join or pull."""
        group = list(range(len(self.netlist.nets)))
        netlist = self.netlist
        pairs = [(c.a, c.b) for c in netlist.contacts]
        pairs += [(c.a, c.b) for c in netlist.links]
        pairs += [(c.a, c.b) for c in netlist.resistors]
        pairs += [(d.anode, d.cathode) for d in netlist.diodes]
        for _ in group:
            for a, b in pairs:
                if netlist.nets[a].rail is None and netlist.nets[b].rail is None:
                    group[a] = group[b] = min(group[a], group[b])
        return group

    def ended(self, word: Word, before: int, now: int, moving: int) -> Word:
        """A pin's word with what is known of it: it settles at its level."""
        if moving != X:
            return (now,)
        if len(word) > 1 and word[-1] == now and word[0] == before:
            return word
        return murky(before, now)

    def grow(self) -> bool:
        """Once all chips and nets more; whether any word became longer."""
        longer = False
        driving, switches = self.outputs()
        for part in self.chips:
            for name, label in self.read[part.name]:
                net = self.net_of[label]
                old = self.words[label]
                if self.moving[label] != X or len(old) >= LONG - 1:
                    continue
                was = self.before.inside[part.name].levels[name]
                new = settled((was, self.now.inside[part.name].levels[name]))
                if net is not None:
                    new = self.net(net, label, driving, switches)
                if len(new) > len(old):
                    self.words[label] = new
                    longer = True
        return longer

    def drawn(self, part: Part) -> Drawn:
        pins = {name: self.words[label] for name, label in self.read[part.name]}
        name = part.name
        return Drawn(pins, self.before.inside[name], self.now.inside[name], self.inside[name])

    def outputs(
        self,
    ) -> tuple[dict[str, tuple[Word, Word]], dict[tuple[str, int], Word]]:
        """What pins and ports put on nets, (level, when), and when chips' switches are closed."""
        driving: dict[str, tuple[Word, Word]] = {}
        switches: dict[tuple[str, int], Word] = {}
        for part in self.chips:
            drawn = self.drawn(part)
            for number, switch in enumerate(part.type.switches):
                switches[part.name, number] = drawn.truth(switch.when.expr)
            labels = {pin.name: pin.label for pin in part.pins}
            for output in part.type.logic:
                when = (1,) if output.when is None else drawn.truth(output.when.expr)
                width = len(output.names)
                row = drawn.row(output.level.expr, width)[:width][::-1]
                for name, word in zip(output.names, row, strict=True):
                    driving[labels[name]] = (word, when)
        from_ports = {port.name for port in self.netlist.ports if port.direction == "in"}
        for control in self.netlist.controls:
            pairs = zip(self.before.controls[control.name], self.now.controls[control.name],
                        strict=True)  # fmt: skip
            bits = [settled(pair) for pair in pairs]
            if control.kind == "oscillator":
                part = next(p for p in self.netlist.parts if p.name == control.name)
                for pin in part.pins:
                    if pin.kind is PinKind.OUT:
                        driving[pin.label] = (bits[0], (1,))
            elif control.name in from_ports:
                driving |= {f"{control.name}:{n}": (bit, (1,)) for n, bit in enumerate(bits)}
            elif control.kind == "both":
                driving |= {f"{control.name}:{n}": (b, bits[0]) for n, b in enumerate(bits[1:])}
        return driving, switches

    def net(
        self,
        net: int,
        reader: str,
        driving: Mapping[str, tuple[Word, Word]],
        switches: Mapping[tuple[str, int], Word],
    ) -> Word:
        """What a reader of a net may see while all that drives it changes in any order."""
        names, words = self.inputs(net, driving, switches)
        free = settled((self.before.free[reader], self.now.free[reader]))
        orders = len(free)
        for word in words:
            orders *= len(word)
        if orders > MAX_ORDERS:
            return (0, 1, 0, 1, 0, 1)
        states: dict[tuple[int, ...], int] = {}

        def state(bits: tuple[int, ...]) -> int:
            if bits not in states:
                states[bits] = self.resolved(net, dict(zip(names, bits, strict=True)), driving,
                                             switches)  # fmt: skip
            return states[bits]

        known = longest(words, lambda bits: int(state(bits) != ANY))
        if len(known) > 2:
            return (0, 1, 0, 1, 0, 1)
        return longest(
            (*words, free),
            lambda bits: {LOW: 0, HIGH: 1, ANY: bits[-1]}[state(bits[:-1])],
        )

    def inputs(
        self,
        net: int,
        driving: Mapping[str, tuple[Word, Word]],
        switches: Mapping[tuple[str, int], Word],
    ) -> tuple[list[tuple[str, object]], list[Word]]:
        """All that moves on a net's island: names of levels, whens and contacts, their words."""
        near = {n for n, group in enumerate(self.near) if group == self.near[net]}
        found: dict[tuple[str, object], Word] = {}
        for index in near:
            ends = [pin.label for pin in self.netlist.nets[index].pins]
            for port in self.netlist.ports:
                ends += [f"{port.name}:{k}" for k, n in enumerate(port.nets) if n == index]
            for end in ends:
                if end in driving:
                    found["level", end], found["when", end] = driving[end]
        for contact in self.netlist.contacts:
            if contact.a in near or contact.b in near:
                closing = contact.closing
                if isinstance(closing, ControlBit):
                    was = self.before.controls[closing.control][closing.bit]
                    now = self.now.controls[closing.control][closing.bit]
                    found["contact", (closing.control, closing.bit)] = settled((was, now))
                elif isinstance(closing, ChipSwitch):
                    found["switch", (closing.part, closing.number)] = switches[
                        closing.part, closing.number
                    ]
        names = [name for name, word in found.items() if len(word) > 1]
        return names, [found[name] for name in names]

    def resolved(
        self,
        net: int,
        at: Mapping[tuple[str, object], int],
        driving: Mapping[str, tuple[Word, Word]],
        switches: Mapping[tuple[str, int], Word],
    ) -> int:
        """What a net is while each input has one of its levels."""
        levels = {
            end: (at.get(("level", end), level[0]), at.get(("when", end), when[0]))
            for end, (level, when) in driving.items()
        }
        controls = {
            name: tuple(at.get(("contact", (name, k)), bit) for k, bit in enumerate(bits))
            for name, bits in self.before.controls.items()
        }
        closed = {key: at.get(("switch", key), word[0]) for key, word in switches.items()}
        return Wires.nets(self.wires, levels, controls, closed)[net]
