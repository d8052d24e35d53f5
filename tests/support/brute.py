"""A board searched state by state: all quiet moments, all steps, all choices (design.md section 4).

The rounds are those of the second evaluator. Glitch, race and float are worked out here once more,
from section 4, on levels that are 0, 1 or "either" (X), straight from the part files' formulas.
Formulas go forward by `finite_traces.Progress`. The product's Machine is not used.

Small boards only: a few bits of storage and a few controls.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import product

from breadproof.specs.catalogue.part import Formula, Latch, Memory
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import Control, Netlist, Part
from tests.support.finite_traces import Progress, Read, State, Violated, boolean
from tests.support.second.chip import Inside
from tests.support.second.wires import _FIGHT, ANY, Wires
from tests.support.second.words import Reader, Word, X, both, either, inverted, to_word
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


# the checks ---------------------------------------------------------------------------------------


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
    pin_moves: dict[str, bool]
    pin_floats: dict[str, bool]
    captured: dict[str, Word]  # place of a clock -> what it captures while the pins move
    content: dict[str, Word]
    after: dict[str, Word]
    sources_move: dict[str, bool]  # place -> its data (and address) may move
    fights: frozenset[str]
    floats: frozenset[str]


@dataclass(slots=True)
class Seen:
    """One round: what it showed, and what formulas can see of it."""

    nets: dict[str, int]
    look: Look
    writes: frozenset[str]


@dataclass(slots=True)
class Recorder(Wires):
    driving: dict[str, tuple[int, int]] = field(default_factory=dict)

    def __init__(self, netlist: Netlist) -> None:
        Wires.__init__(self, netlist)
        self.driving = {}

    def nets(
        self, driving: Mapping[str, tuple[int, int]], controls: Mapping[str, tuple[int, ...]]
    ) -> list[int]:
        self.driving = dict(driving)
        return Wires.nets(self, driving, controls)


Script = list[int]


class Bench(SecondBoard):
    """A `SecondBoard` whose choices follow a script, and that looks closely at every round."""

    def __init__(self, netlist: Netlist) -> None:
        SecondBoard.__init__(self, netlist, {}, {}, {})
        self.recorder = Recorder(netlist)
        self.wires = self.recorder
        self.places = [place for part in self.chips for place in places(part)]
        self.by_name = {part.name: part for part in self.chips}
        self.script: Script = []
        self.widths: list[int] = []
        self.passing: list[int] | None = None
        self.procedure_b: Inputs | None = None

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
        self.last, self.last_reads = None, {}
        self.sets = [sum(_SINGLE)] * len(self.netlist.nets)

    def run(self, free: Mapping[str, int]) -> list[Seen]:
        """Rounds until one more would change nothing. Raises `NeverQuiet`."""
        names = [label for pins in self.pins.values() for _, label in pins]
        names += [net.name for net in self.netlist.nets]
        levels = {name: free.get(name, 0) for name in names}
        found: list[Seen] = []
        while len(found) < MAX_ROUNDS:
            now = Inputs(
                dict(self.controls),
                {part: dict(units) for part, units in self.stored.items()},
                levels,
            )
            moving = now if self.last is None else self.moving(self.last, now)
            self.passing, self.procedure_b = None, now
            self.settle(now, None)
            self.once(self.sets, now)
            look = self.look(now, moving, self.passed())
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

    def passed(self) -> list[int]:
        return self.sets if self.passing is None else self.passing

    def look(self, now: Inputs, moving: Inputs, passing: list[int]) -> Look:
        found = Look({}, {}, {}, {}, {}, {}, {}, {}, frozenset(), frozenset())
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
        closed = tuple(bool(now.controls[c.control][c.bit]) for c in self.netlist.contacts)
        groups, group_of = self.wires.layout(closed)
        bad = [self.wires.driven(group, self.recorder.driving) & _FIGHT for group in groups]
        fighting = frozenset(n.name for n in self.netlist.nets if bad[group_of[n.index]])
        floating = frozenset(n.name for n in self.netlist.nets if self.sets[n.index] == ANY)
        return fighting, floating - fighting


class Checks:
    """Which standing checks a step breaks, by name."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.netlist = bench.netlist
        self.upstream = {
            place.main: self.registers_before(place)
            for place in bench.places
            if place.kind == "clock"
        }
        self.clock_nets = {
            f"{place.part}.{place.unit}": self.nets_of(place.pins)
            for place in bench.places
            if place.kind == "clock"
        }

    def nets_of(self, pins: Sequence[str]) -> tuple[int | None, ...]:
        return tuple(self.bench.all_pins[pin].net for pin in pins)

    def registers_before(self, place: Place) -> set[tuple[str, int]]:
        """Registers' bits whose content reaches what this clock captures, through gates alone."""
        part = self.bench.by_name[place.part]
        unit = next(u for u in part.type.storage if u.name == place.unit)
        found: set[tuple[str, int]] = set()
        stack = list(pins_of(part, unit.next.expr))  # type: ignore[union-attr]  # a clock's unit is a register
        seen: set[str] = set()
        while stack:
            pin = stack.pop()
            net = self.bench.all_pins[pin].net
            if pin in seen or net is None or self.netlist.nets[net].rail is not None:
                continue
            seen.add(pin)
            for index in self.joined(net):
                for end in self.netlist.nets[index].pins:
                    chip = self.bench.by_name.get(end.part)
                    if chip is not None and end.kind.drives:
                        bits, pins = self.behind(chip, end.name)
                        found |= bits
                        stack += pins
        return found

    def joined(self, net: int) -> set[int]:
        """Nets that contacts and resistors may make one; the rails lead nowhere."""
        seen, stack = {net}, [net]
        pairs = [(c.a, c.b) for c in self.netlist.contacts]
        pairs += [(r.a, r.b) for r in self.netlist.resistors]
        while stack:
            here = stack.pop()
            for a, b in [*pairs, *((b, a) for a, b in pairs)]:
                if a == here and b not in seen and self.netlist.nets[b].rail is None:
                    seen.add(b)
                    stack.append(b)
        return seen

    def behind(self, chip: Part, name: str) -> tuple[set[tuple[str, int]], list[str]]:
        """The storage bits and pins that an output pin depends on at once."""
        output = next(o for o in chip.type.logic if name in o.names)
        units = {unit.name: unit for unit in chip.type.storage}
        bits: set[tuple[str, int]] = set()
        pins: list[str] = []
        stack = [output.level.expr] + ([output.when.expr] if output.when else [])
        whole = output.level.expr
        if isinstance(whole, s.Name) and whole.path in units and len(output.names) > 1:
            place = len(output.names) - 1 - output.names.index(name)
            bits.add((f"{chip.name}.{whole.path}", place))
            stack = [output.when.expr] if output.when else []
        inner = {n: o for o in chip.type.inner for n in o.names}
        while stack:
            here = stack.pop()
            if (
                isinstance(here, s.Index)
                and isinstance(here.base, s.Name)
                and here.base.path in units
                and isinstance(here.at, s.Number)
            ):
                bits.add((f"{chip.name}.{here.base.path}", here.at.value))
                continue
            if isinstance(here, s.Name) and here.path in units:
                width = units[here.path].width
                bits |= {(f"{chip.name}.{here.path}", k) for k in range(width)}
            if isinstance(here, s.Name) and here.path in inner:
                stack.append(inner[here.path].level.expr)
            pins += pins_of(chip, here) if isinstance(here, s.Name | s.Index | s.Part) else []
            stack += s.children(here)
        registers = {f"{chip.name}.{u.name}" for u in chip.type.storage if not isinstance(u, Latch)}
        return {bit for bit in bits if bit[0] in registers}, pins

    def broken(self, before: Look | None, rounds: Sequence[Seen]) -> frozenset[str]:
        """Names as ``glitch:U1.3``; races go by the place, as ``race:U1.R.clock``.

        With a ``>`` behind it, if it matters only where open storage passes a pulse on.
        """
        found: set[str] = set()
        for seen in rounds:
            now = seen.look
            for place in self.bench.places:
                mark = ">" if place.source is not None else ""
                found |= {f"float:{pin}{mark}" for pin in place.pins if now.pin_floats[pin]}
                if before is None:
                    continue
                pulses = now.may_move[place.main] and before.on[place.main] == now.on[place.main]
                found |= {f"glitch:{p}{mark}" for p in place.pins if pulses and now.pin_moves[p]}
                if not mark and self.races(place, before, now):
                    found.add(f"race:{place.main}")
            before = now
        found |= {f"fights:{net}" for net in rounds[-1].look.fights}
        return frozenset(found)

    def races(self, place: Place, before: Look, now: Look) -> bool:
        unit = f"{place.part}.{place.unit}"

        def was(kind: str) -> int:
            return before.on.get(f"{unit}.{kind}", 0)

        def on(kind: str) -> int:
            return now.on.get(f"{unit}.{kind}", 0)

        ends = bool(before.on[place.main]) and not now.on[place.main]
        edge = unit in now.captured and self.edge(unit, before, now)
        match place.kind:
            case "clock":
                if not edge:
                    return False
                held = on("clear") or on("preset")
                moving = X in now.captured[unit] and not held
                return moving or self.skewed(place, before, now)
            case "clear" | "preset" | "load":
                other = any(
                    level != bit
                    for level, bit in zip(
                        now.captured.get(unit, ()), now.content[unit], strict=False
                    )
                )
                pair = was("clear") and was("preset") and not on("clear") and not on("preset")
                data = place.kind == "load" and now.sources_move[place.main]
                return ends and bool((edge and other) or pair or data)
            case "latch":
                return ends and now.sources_move[place.main]
            case "write":
                writes = before.on[place.main] or now.on[place.main]
                return bool(writes) and now.sources_move[place.main]
        raise AssertionError(place.kind)

    def edge(self, unit: str, before: Look, now: Look) -> bool:
        part, _, name = unit.partition(".")
        register = next(u for u in self.bench.by_name[part].type.storage if u.name == name)
        levels = (before.on[f"{unit}.clock"], now.on[f"{unit}.clock"])
        return levels == ((0, 1) if register.rising else (1, 0))  # type: ignore[union-attr]  # a register

    def skewed(self, place: Place, before: Look, now: Look) -> bool:
        """A register before this one, on another clock net, changes in this very round."""
        own = self.clock_nets[f"{place.part}.{place.unit}"]
        return any(
            self.clock_nets[unit] != own
            and self.edge(unit, before, now)
            and now.content[unit][bit] != now.after[unit][bit]
            for unit, bit in self.upstream[place.main]
        )


# the graph of quiet moments -----------------------------------------------------------------------

Key = tuple[object, ...]
Controls = dict[str, tuple[int, ...]]
Stored = dict[str, dict[str, Word]]
Words = dict[tuple[str, str], dict[int, int]]
Start = tuple[Controls, Stored, Words, dict[str, int]]
"""Controls, storage, memories, levels of floating nets by reader."""


@dataclass(slots=True)
class Snapshot:
    """A quiet moment, to go on from."""

    controls: dict[str, tuple[int, ...]]
    stored: dict[str, dict[str, Word]]
    memories: dict[tuple[str, str], dict[int, int]]
    sets: list[int]
    last: Inputs
    last_reads: dict[str, dict[str, int]]
    look: Look


@dataclass(slots=True)
class Step:
    """A step (or the first moment): where it leads and what it showed."""

    to: Key
    rounds: list[Seen]
    broken: frozenset[str]


@dataclass(slots=True)
class Space:
    """All quiet moments and steps of a board; ``never_quiet`` if some step does not end."""

    first: list[Step]
    steps: dict[Key, list[Step]]
    rounds: int
    rounds_at_power_up: int
    never_quiet: str


def positions(control: Control) -> Iterator[tuple[int, ...]]:
    for bits in product((0, 1), repeat=len(control.bits)):
        if not control.exclusive or sum(bits) <= 1:
            yield bits


class Explorer:
    """Finds the whole `Space` of a board. ``free`` names the readers that may read a floating net.

    ``memories`` are the contents to start from; all of them if it is None.
    """

    def __init__(self, netlist: Netlist, free: Sequence[str]) -> None:
        self.netlist = netlist
        self.bench = Bench(netlist)
        self.checks = Checks(self.bench)
        self.free = list(free)
        self.snapshots: dict[Key, Snapshot] = {}
        self.space = Space([], {}, 0, 0, "")

    def explore(self) -> Space:
        for controls, stored, memories, free in self.starts():
            prepare = partial(self.bench.set_out, controls, stored, memories)
            for rounds in self.branches(prepare, free):
                if rounds is None:
                    continue
                count = len(rounds)
                self.space.rounds_at_power_up = max(self.space.rounds_at_power_up, count)
                if count == 1:
                    self.space.first.append(
                        Step(self.keep(rounds), rounds, self.checks.broken(None, rounds))
                    )
        waiting = deque(self.snapshots)
        while waiting:
            key = waiting.popleft()
            if key in self.space.steps:
                continue
            self.space.steps[key] = self.follow(key)
            waiting.extend(step.to for step in self.space.steps[key])
        return self.space

    def starts(self) -> Iterator[Start]:
        """Everything that there may be when power comes on."""
        controls = [list(positions(control)) for control in self.netlist.controls]
        units = [(p.name, u.name, u.width) for p in self.bench.chips for u in p.type.storage]
        words = [
            ((part.name, memory.name), list(self.contents(part, memory)))
            for part in self.bench.chips
            for memory in part.type.memories
        ]
        names = [control.name for control in self.netlist.controls]
        for chosen in product(*controls):
            for stored in product(*(range(1 << width) for _, _, width in units)):
                for contents in product(*(options for _, options in words)):
                    for free in product((0, 1), repeat=len(self.free)):
                        store: dict[str, dict[str, Word]] = {p.name: {} for p in self.bench.chips}
                        for (part, unit, width), value in zip(units, stored, strict=True):
                            store[part][unit] = to_word(value, width)
                        yield (
                            dict(zip(names, chosen, strict=True)),
                            store,
                            {key: dict(c) for (key, _), c in zip(words, contents, strict=True)},
                            dict(zip(self.free, free, strict=True)),
                        )

    def contents(self, part: Part, memory: Memory) -> Iterator[dict[int, int]]:
        if memory.write is None:
            yield dict(enumerate(part.contents))
            return
        for words in product(range(1 << memory.bits), repeat=memory.words):
            yield dict(enumerate(words))

    def branches(
        self, prepare: Callable[[], None], free: Mapping[str, int]
    ) -> Iterator[list[Seen] | None]:
        """Runs for all choices of loops; None for one that does not end."""
        script: Script = []
        while True:
            prepare()
            self.bench.script, self.bench.widths = script, []
            try:
                yield self.bench.run(free)
            except NeverQuiet as error:
                self.space.never_quiet = str(error)
                yield None
            taken = [*script, *([0] * (len(self.bench.widths) - len(script)))]
            while taken and taken[-1] + 1 >= self.bench.widths[len(taken) - 1]:
                taken.pop()
            if not taken:
                return
            script = [*taken[:-1], taken[-1] + 1]

    def keep(self, rounds: list[Seen]) -> Key:
        bench = self.bench
        assert bench.last is not None
        key: Key = (
            tuple(sorted(bench.controls.items())),
            tuple(sorted((p, tuple(sorted(u.items()))) for p, u in bench.stored.items())),
            tuple(sorted((k, tuple(sorted(w.items()))) for k, w in bench.memories.items())),
            tuple(bench.sets),
            tuple(bench.last.free[name] for name in self.free),
        )
        if key not in self.snapshots:
            self.snapshots[key] = Snapshot(
                dict(bench.controls),
                {part: dict(units) for part, units in bench.stored.items()},
                {name: dict(words) for name, words in bench.memories.items()},
                list(bench.sets),
                bench.last,
                bench.last_reads,
                rounds[-1].look,
            )
        return key

    def restore(self, here: Snapshot, controls: Mapping[str, tuple[int, ...]]) -> None:
        bench = self.bench
        bench.set_out({**here.controls, **controls}, here.stored, here.memories)
        bench.sets, bench.last, bench.last_reads = list(here.sets), here.last, here.last_reads

    def follow(self, key: Key) -> list[Step]:
        here = self.snapshots[key]
        found: dict[object, Step] = {}
        changes: list[dict[str, tuple[int, ...]]] = [{}]
        for control in self.netlist.controls:
            changes += [
                {control.name: bits}
                for bits in positions(control)
                if bits != here.controls[control.name]
            ]
        for change in changes:
            for levels in product((0, 1), repeat=len(self.free)):
                free = dict(zip(self.free, levels, strict=True))
                for rounds in self.branches(partial(self.restore, here, change), free):
                    if rounds is None:
                        continue
                    self.space.rounds = max(self.space.rounds, len(rounds))
                    step = Step(self.keep(rounds), rounds, self.checks.broken(here.look, rounds))
                    shown = tuple(tuple(sorted(seen.nets.items())) for seen in rounds)
                    found[step.to, shown, step.broken] = step
        return list(found.values())


# formulas -----------------------------------------------------------------------------------------


class Formulas:
    """Searches the space for the shortest run that breaks a formula, or reaches a cover."""

    def __init__(self, space: Space, assumes: Sequence[s.Expr]) -> None:
        self.space = space
        self.assumes = [Progress(expr) for expr in assumes]

    def read(self, step: Step, first: bool) -> Read:
        """What names and our own functions are in a step; in the first only its quiet moment."""
        rounds = step.rounds[-1:] if first else step.rounds
        controls = dict(step.to[0])  # type: ignore[call-overload]  # the first entry of a key

        def one(expr: s.Expr) -> int:
            if isinstance(expr, s.Name):
                if expr.path in controls:
                    return int(controls[expr.path][0])
                return rounds[-1].nets[expr.path]
            assert isinstance(expr, s.Call)
            inner = expr.arguments[0]
            match expr.function:
                case "ever":
                    return int(any(self.in_round(inner, seen) for seen in rounds))
                case "writes":
                    assert isinstance(inner, s.Name)
                    return int(any(inner.path in seen.writes for seen in rounds))
                case "fights":
                    assert isinstance(inner, s.Name)
                    return int(inner.path in rounds[-1].look.fights)
                case "floats":
                    assert isinstance(inner, s.Name)
                    return int(inner.path in rounds[-1].look.floats)
            raise AssertionError(expr.function)

        return one

    def in_round(self, expr: s.Expr, seen: Seen) -> int:
        def one(name: s.Expr) -> int:
            assert isinstance(name, s.Name)
            return seen.nets[name.path]

        def past(call: s.Call) -> int:
            raise AssertionError("no past within a round")

        return boolean(expr, one, past)

    def shortest(self, formula: s.Expr, cover: bool) -> int | None:
        """Steps after the first to the violation (or to what is covered); None if there is none."""
        target = (
            s.Always(operand=formula, never=True, stretch=formula.stretch) if cover else formula
        )
        work = [Progress(target), *self.assumes]
        start = tuple(one.start() for one in work)
        level = [(step, start) for step in self.space.first]
        seen: set[tuple[Key, tuple[State, ...]]] = set()
        depth = 0
        while level:
            following: list[tuple[Step, tuple[State, ...]]] = []
            for step, states in level:
                read = self.read(step, depth == 0)
                try:
                    rest = tuple(
                        one.step(state, read)
                        for one, state in zip(work[1:], states[1:], strict=True)
                    )
                except Violated:
                    continue
                try:
                    mine = work[0].step(states[0], read)
                except Violated:
                    return depth
                state = (step.to, (mine, *rest))
                if state not in seen:
                    seen.add(state)
                    following += [(after, (mine, *rest)) for after in self.space.steps[step.to]]
            level, depth = following, depth + 1
        return None

    def shortest_broken(self, names: frozenset[str]) -> int | None:
        """Steps after the first to a step that breaks one of these checks."""
        work = self.assumes
        level = [(step, tuple(one.start() for one in work)) for step in self.space.first]
        seen: set[tuple[Key, tuple[State, ...]]] = set()
        depth = 0
        while level:
            following: list[tuple[Step, tuple[State, ...]]] = []
            for step, states in level:
                read = self.read(step, depth == 0)
                try:
                    rest = tuple(
                        one.step(state, read) for one, state in zip(work, states, strict=True)
                    )
                except Violated:
                    continue
                if names & step.broken:
                    return depth
                if (step.to, rest) not in seen:
                    seen.add((step.to, rest))
                    following += [(after, rest) for after in self.space.steps[step.to]]
            level, depth = following, depth + 1
        return None
