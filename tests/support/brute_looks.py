"""What the search of `tests.support.brute` sees of one round, with the second evaluator.

Levels are 0, 1 or "either" (X), straight from the part files' formulas; see design.md section 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from breadproof.specs.catalogue.part import Formula, Latch, Memory
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import Netlist, Part
from tests.support.brute_floats import Survey
from tests.support.second.chip import Inside
from tests.support.second.counts import Counts, Moment
from tests.support.second.counts import both as in_step
from tests.support.second.wires import _FIGHT, ANY, Wires
from tests.support.second.words import Reader, Word, X, both, either, inverted
from tests.support.second_evaluator import _SINGLE, Inputs, Levels, NeverQuiet, SecondBoard

MAX_ROUNDS = 40


class DrawnReader(Reader):
    """A selector is drawn as ``test & then | !test & other`` (section 4, glitch)."""

    def sized(self, expr: s.Expr, width: int, signed: bool) -> Word:
        if not isinstance(expr, s.Conditional):
            return Reader.sized(self, expr, width, signed)
        test = self.truth(expr.test)
        then = self.sized(expr.then, width, signed)
        other = self.sized(expr.other, width, signed)
        return tuple(
            either((both((test, a)), both((inverted(test), b))))
            for a, b in zip(then, other, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Place:
    """A condition at which storage changes; ``unit`` names the storage or memory."""

    part: str
    kind: str
    unit: str
    condition: Formula
    pins: tuple[str, ...]
    source: Formula | None = None
    """Of a kind "through": what open storage of one bit shows, so that a pulse would pass."""

    @property
    def main(self) -> str:
        return f"{self.part}.{self.unit}.{self.kind}"


def places(part: Part) -> list[Place]:
    """All clocks, clears, presets, loads, latch and write conditions of a chip."""
    found: list[tuple[str, str, Formula | None]] = []
    for unit in part.type.storage:
        if isinstance(unit, Latch):
            found.append(("latch", unit.name, unit.open))
        else:
            found.append(("clock", unit.name, unit.clock))
            if unit.load is not None:
                found.append(("load", unit.name, unit.load.when))
        found += [("clear", unit.name, unit.clear), ("preset", unit.name, unit.preset)]
    found += [("write", memory.name, memory.write) for memory in part.type.memories]
    through = [
        Place(part.name, "through", unit, opened, pins_of(part, source.expr), source)
        for unit, opened, source in open_storage(part)
    ]
    return through + [
        Place(part.name, kind, unit, formula, pins_of(part, formula.expr))
        for kind, unit, formula in found
        if formula is not None
    ]


def open_storage(part: Part) -> Iterator[tuple[str, Formula, Formula]]:
    """Storage that can be open: its name, when it is, and what it then shows."""
    for unit in part.type.storage:
        if isinstance(unit, Latch):
            yield unit.name, unit.open, unit.source
        elif unit.load is not None:
            yield unit.name, unit.load.when, unit.load.source


def pins_of(part: Part, expr: s.Expr) -> tuple[str, ...]:
    """The labels of the reading pins in a formula, through inner names."""
    labels = {pin.name: pin.label for pin in part.pins}
    inner = {name: output for output in part.type.inner for name in output.names}
    found: set[str] = set()
    stack = [expr]
    while stack:
        here = stack.pop()
        if isinstance(here, s.Name):
            found |= {labels[name] for name in labels if name == here.path}
            if here.path in inner:
                stack.append(inner[here.path].level.expr)
        if isinstance(here, s.Index | s.Part) and isinstance(here.base, s.Name):
            stem = here.base.path
            found |= {
                label
                for name, label in labels.items()
                if name.startswith(stem) and name[len(stem) :].isdigit()
            }
        stack += s.children(here)
    return tuple(sorted(found))


@dataclass(slots=True)
class Look:
    """What the checks want to know of one round."""

    on: dict[str, int]  # place -> its condition
    may_move: dict[str, bool]  # place -> its condition passes through "either"
    may_pulse: dict[str, bool]  # place -> its condition may change more often than it must
    pin_moves: dict[str, bool]
    pin_floats: dict[str, bool]
    captured: dict[str, Word]  # place of a clock -> what it captures while the pins move
    content: dict[str, Word]
    after: dict[str, Word]
    sources_move: dict[str, bool]  # place -> its data (and address) may move
    fights: frozenset[str]
    floats: frozenset[str]
    read: frozenset[str] = frozenset()  # floating nets that are read if the board is quiet now
    taken: frozenset[str] = frozenset()  # floating before this round, and taken in by storage in it


@dataclass(slots=True)
class Seen:
    """One round: what it showed, and what formulas can see of it."""

    nets: dict[str, int]
    look: Look
    writes: frozenset[str]


@dataclass(slots=True)
class Recorder(Wires):
    driving: dict[str, tuple[int, int]] = field(default_factory=dict)
    switches: dict[tuple[str, int], int] = field(default_factory=dict)

    def __init__(self, netlist: Netlist) -> None:
        Wires.__init__(self, netlist)
        self.driving = {}
        self.switches = {}

    def nets(
        self,
        driving: Mapping[str, tuple[int, int]],
        controls: Mapping[str, tuple[int, ...]],
        switches: Mapping[tuple[str, int], int],
    ) -> list[int]:
        self.driving = dict(driving)
        self.switches = dict(switches)
        return Wires.nets(self, driving, controls, switches)


Script = list[int]


class Bench(SecondBoard):
    """A `SecondBoard` whose choices follow a script, and that looks closely at every round."""

    def __init__(self, netlist: Netlist) -> None:
        SecondBoard.__init__(self, netlist, {}, {}, {})
        self.recorder = Recorder(netlist)
        self.wires = self.recorder
        digital = [part for part in self.chips if not part.type.analogue]
        self.places = [place for part in digital for place in places(part)]
        self.by_name = {part.name: part for part in self.chips}
        self.script: Script = []
        self.widths: list[int] = []
        self.passing: list[int] | None = None
        self.surveyed: Survey | None = None
        self.procedure_b: Inputs | None = None
        self.look_before: Look | None = None

    # choices ----------------------------------------------------------------------------------

    def choose(self, now: Inputs, chosen: Levels | None) -> list[int]:
        options: list[list[int]] = []
        for one in self.stable(self.sets, now):
            if one not in options:
                options.append(one)
        if not options:
            raise NeverQuiet("a loop has no stable value")
        place = len(self.widths)
        self.widths.append(len(options))
        return sorted(options)[self.script[place] if place < len(self.script) else 0]

    def once(self, sets: list[int], now: Inputs) -> list[int]:
        if self.procedure_b is now and self.passing is None:
            self.passing = list(sets)  # the end of procedure A
        return SecondBoard.once(self, sets, now)

    # steps ------------------------------------------------------------------------------------

    def set_out(
        self, controls: Mapping[str, tuple[int, ...]], stored: Mapping[str, Mapping[str, Word]],
        memories: Mapping[tuple[str, str], Mapping[int, int]],
    ) -> None:  # fmt: skip
        """Power is on; nothing has settled yet."""
        self.controls = dict(controls)
        self.stored = {part: dict(units) for part, units in stored.items()}
        self.memories = {key: dict(words) for key, words in memories.items()}
        self.rewritten = {}
        self.last, self.last_reads, self.look_before = None, {}, None
        self.sets = [sum(_SINGLE)] * len(self.netlist.nets)

    def run(self, free: Mapping[str, int]) -> list[Seen]:
        """Rounds until one more would change nothing. Raises `NeverQuiet`."""
        names = [label for pins in self.pins.values() for _, label in pins]
        names += [net.name for net in self.netlist.nets]
        levels = {name: free.get(name, 0) for name in names}
        found: list[Seen] = []
        before = None
        if self.last is not None:  # often the same quiet moment as in the run before
            if self.surveyed is None or self.surveyed.now is not self.last:
                self.once(self.sets, self.last)  # who drives what then
                self.surveyed = Survey(self, self.last, self.fights(self.last)[1])
            before = self.surveyed
        while len(found) < MAX_ROUNDS:
            now = Inputs(
                dict(self.controls),
                {part: dict(units) for part, units in self.stored.items()},
                levels,
            )
            moving = now if self.last is None else self.moving(self.last, now)
            old = None if self.last is None else self.moment(self.last, self.sets)
            self.passing, self.procedure_b = None, now
            self.settle(now, None)
            self.once(self.sets, now)
            look = self.look(now, moving, self.passed())
            survey = Survey(self, now, look.floats)
            look.read = survey.at_rest()
            if before is not None:
                look.taken = before.taken(survey)
            before = survey
            if old is not None and self.look_before is not None:
                self.count(old, look, self.look_before, now, moving)
            self.look_before = look
            changed, written = self.advance(now)
            look.after = {
                f"{part}.{unit}": word
                for part, units in self.stored.items()
                for unit, word in units.items()
            }
            self.last = now
            found.append(Seen(self.levels(self.sets, now), look, frozenset(written)))
            if not changed:
                return found
        raise NeverQuiet(f"{MAX_ROUNDS} rounds")

    def moment(self, inputs: Inputs, sets: list[int]) -> Moment:
        chips = {
            part.name: self.inside(part, self.reads(part, sets, inputs), inputs)
            for part in self.chips
        }
        return Moment(inputs.controls, chips, inputs.free)

    def count(self, old: Moment, look: Look, before: Look, now: Inputs, moving: Inputs) -> None:
        """What may pulse: what moves though its level stays, and what counting shows besides."""
        changes = []
        for place in self.places:
            stays = before.on[place.main] == look.on[place.main]
            look.may_pulse[place.main] = stays and look.may_move[place.main]
            if not stays:
                changes.append(place)
        if not changes:
            return
        chips = self.moment(moving, self.passed()).inside
        counts = Counts(
            self.netlist, self.chips, self.wires, old, self.moment(now, self.sets), chips
        )
        for place in changes:
            drawn = counts.drawn(self.by_name[place.part])
            word = drawn.truth(place.condition.expr)
            if place.source is not None:
                word = in_step((word, drawn.truth(place.source.expr)))
            look.may_pulse[place.main] = len(word) > 2

    def passed(self) -> list[int]:
        return self.sets if self.passing is None else self.passing

    def look(self, now: Inputs, moving: Inputs, passing: list[int]) -> Look:
        found = Look({}, {}, {}, {}, {}, {}, {}, {}, {}, frozenset(), frozenset())
        for part in self.chips:
            reads = self.reads(part, self.sets, now)
            swings = self.reads(part, passing, moving)
            still = self.inside(part, reads, now)
            while_moving = self.inside(part, swings, moving)
            pins_only = self.inside(part, swings, now)
            for name, label in self.pins[part.name]:
                found.pin_moves[label] = swings[name] == X
                net = self.all_pins[label].net
                bipolar = part.family is not None and part.family.bipolar
                found.pin_floats[label] = not bipolar if net is None else self.sets[net] == ANY
            for unit in part.type.storage:
                found.content[f"{part.name}.{unit.name}"] = now.stored[part.name][unit.name]
            for place in self.places:
                if place.part == part.name:
                    self.look_at(place, part, found, still, while_moving, pins_only)
        found.fights, found.floats = self.fights(now)
        return found

    def look_at(
        self, place: Place, part: Part, found: Look, still: Inside, moving: Inside, pins: Inside
    ) -> None:  # fmt: skip
        if place.source is not None:
            formulas = (place.condition.expr, place.source.expr)
            found.on[place.main] = both([DrawnReader(still).truth(f) for f in formulas])
            found.may_move[place.main] = both([DrawnReader(moving).truth(f) for f in formulas]) == X
            return
        found.on[place.main] = DrawnReader(still).truth(place.condition.expr)
        found.may_move[place.main] = DrawnReader(moving).truth(place.condition.expr) == X
        unit = next(u for u in (*part.type.storage, *part.type.memories) if u.name == place.unit)
        source: list[Word] = []
        if isinstance(unit, Memory):
            assert unit.source is not None
            source = [
                DrawnReader(moving).word(unit.address.expr),
                DrawnReader(moving).assigned(unit.source.expr, unit.bits),
            ]
        elif isinstance(unit, Latch):
            source = [DrawnReader(moving).assigned(unit.source.expr, unit.width)]
        else:
            found.captured[f"{place.part}.{unit.name}"] = DrawnReader(pins).assigned(
                unit.next.expr, unit.width
            )
            if unit.load is not None:
                source = [DrawnReader(moving).assigned(unit.load.source.expr, unit.width)]
        found.sources_move[place.main] = any(X in word for word in source)

    def fights(self, now: Inputs) -> tuple[frozenset[str], frozenset[str]]:
        """Nets on which two drive, and nets that float (or are pulled both ways)."""
        state = self.wires.state(now.controls, self.recorder.switches)
        closed = tuple(bool(state(contact.closing)) for contact in self.netlist.contacts)
        groups, group_of = self.wires.layout(closed)
        drives = self.wires.driven_all(groups, self.recorder.driving)
        bad = [one & _FIGHT for one in drives]
        fighting = frozenset(n.name for n in self.netlist.nets if bad[group_of[n.index]])
        floating = frozenset(n.name for n in self.netlist.nets if self.sets[n.index] == ANY)
        return fighting, floating - fighting
