"""A board in motion by the second evaluator: rounds and steps of design.md section 4.

Within a round the whole combinational network settles by three-valued simulation (Eichelberger
1965): procedure A with everything that changed unknown, procedure B with the new levels. What is
unknown after that may be any stable value. Which one is somebody else's choice: the levels that
the other witness reports for just these nets are taken, and checked to be stable.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from random import Random

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Netlist, Part
from tests.support.second.chip import Inside, after, driven, reading_pins, write
from tests.support.second.wires import ANY, HIGH, LOW, Wires, as_set
from tests.support.second.words import Reader, Word, X, to_word

MAX_ROUNDS = 200
MAX_STABLE = 16
"""One of so many stable values is chosen at random."""
MAX_SPLITS = 20
"""Looking for a stable value is given up after so many cases."""
_SINGLE = (LOW, HIGH, ANY)
_LEVEL = {LOW: 0, HIGH: 1}

Levels = Mapping[str, int]


class NeverQuiet(Exception):
    """The board does not get quiet."""


class TooTangled(Exception):
    """Whether there is a stable value was not found out."""


class NotStable(Exception):
    """The levels that were chosen for a loop are no stable value, though there is one."""


@dataclass(slots=True)
class Inputs:
    """What holds during a round; X where it is about to change."""

    controls: dict[str, tuple[int, ...]]
    stored: dict[str, dict[str, Word]]  # part -> storage -> bits
    free: dict[str, int]
    moving_words: dict[tuple[str, str, int], int] = field(default_factory=dict)
    """(part, memory, address) -> the bits of the word that changed."""


@dataclass(slots=True)
class SecondRound:
    """One round: the nets' levels, then the storage and the memories as they are after it."""

    nets: dict[str, int]
    stored: dict[str, int]
    written: tuple[str, ...]
    open_nets: tuple[str, ...]
    """Nets that three-valued settling left unknown."""
    sets: tuple[int, ...] = ()
    """What each net is: LOW, HIGH or ANY."""


class SecondBoard:
    """A board; ``storage`` (``U3.R[2]`` -> bit) and ``memories`` may be set before `power_up`."""

    def __init__(
        self,
        netlist: Netlist,
        controls: Mapping[str, tuple[int, ...]],
        storage: Mapping[str, int],
        memories: Mapping[str, Sequence[int]],
    ) -> None:
        self.netlist = netlist
        self.wires = Wires(netlist)
        self.chips = [part for part in netlist.parts if part.device == "chip"]
        self.pins = {part.name: reading_pins(part) for part in self.chips}
        self.all_pins = {pin.label: pin for pin in netlist.pins()}
        self.parts = {part.name: part for part in netlist.parts}
        self.from_ports = {port.name for port in netlist.ports if port.direction == "in"}
        self.controls = {
            control.name: controls.get(control.name, (0,) * len(control.bits))
            for control in netlist.controls
        }
        self.stored = {
            part.name: {
                unit.name: tuple(
                    storage.get(f"{part.name}.{unit.name}[{n}]", 0) for n in range(unit.width)
                )
                for unit in part.type.storage
            }
            for part in self.chips
        }
        self.memories = {
            (part.name, memory.name): dict(
                enumerate(memories.get(f"{part.name}.{memory.name}", part.contents))
            )
            for part in self.chips
            for memory in part.type.memories
        }
        self.rewritten: dict[tuple[str, str, int], int] = {}
        self.sets: list[int] = []
        self.last: Inputs | None = None
        self.last_reads: dict[str, dict[str, int]] = {}
        self.random: Random | None = None
        """What chooses a stable value for a loop where nobody else does; None: it is the first."""
        self.ambiguous = False
        """Whether the levels that were chosen once fitted two stable values: one of them drives a
        net to the level that the other, which leaves it floating, gives it by chance."""

    # steps ------------------------------------------------------------------------------------

    def power_up(
        self, free: Callable[[str], int], chosen: Callable[[int], Levels | None]
    ) -> list[SecondRound]:
        """Rounds from power-on; ``chosen`` gives the levels of the nets by round, for the loops."""
        self.last = None
        self.sets = [LOW | HIGH | ANY] * len(self.netlist.nets)
        return self.rounds(free, chosen)

    def step(
        self,
        controls: Mapping[str, tuple[int, ...]],
        free: Callable[[str], int],
        chosen: Callable[[int], Levels | None],
    ) -> list[SecondRound]:
        """Controls change, then rounds until one more would change nothing."""
        self.controls = {**self.controls, **controls}
        return self.rounds(free, chosen)

    def rounds(
        self, free: Callable[[str], int], chosen: Callable[[int], Levels | None]
    ) -> list[SecondRound]:
        readers = [label for pins in self.pins.values() for _, label in pins]
        free_now = {name: free(name) for name in readers}
        free_now |= {net.name: free(net.name) for net in self.netlist.nets}
        found: list[SecondRound] = []
        while len(found) < MAX_ROUNDS:
            now = Inputs(
                dict(self.controls),
                {part: dict(units) for part, units in self.stored.items()},
                free_now,
            )
            unknown = self.settle(now, chosen(len(found)))
            levels = self.levels(self.sets, now)
            changed, written = self.advance(now)
            self.last = now
            found.append(SecondRound(levels, self.storage(), written, unknown, tuple(self.sets)))
            if not changed:
                return found
        raise NeverQuiet(f"{MAX_ROUNDS} rounds")

    def storage(self) -> dict[str, int]:
        """All bits of registers and latches, ``U3.R[2]`` -> bit."""
        return {
            f"{part}.{name}[{place}]": bit
            for part, units in self.stored.items()
            for name, word in units.items()
            for place, bit in enumerate(word)
        }

    def advance(self, now: Inputs) -> tuple[bool, tuple[str, ...]]:
        """All storage looks at the settled levels; whether any changed, and who was written."""
        reads = {part.name: self.reads(part, self.sets, now) for part in self.chips}
        changed, written = False, []
        self.rewritten = {}
        for part in self.chips:
            inside = self.inside(part, reads[part.name], now)
            before = None
            if self.last is not None:
                before = self.inside(part, self.last_reads[part.name], now)
            new = after(inside, before)
            changed |= new != self.stored[part.name]
            self.stored[part.name] = new
            for memory in part.type.memories:
                event = write(inside, memory)
                if event is not None:
                    written.append(part.name)
                    words = self.memories[(part.name, memory.name)]
                    address, word = event
                    change = words.get(address, 0) ^ word
                    if address < memory.words and change:
                        self.rewritten[(part.name, memory.name, address)] = change
                        words[address] = word
        self.last_reads = reads
        return changed or bool(self.rewritten), tuple(written)

    # a round ----------------------------------------------------------------------------------

    def settle(self, now: Inputs, chosen: Levels | None) -> tuple[str, ...]:
        """Find all nets' levels into ``sets``; returns the nets that were open to choice."""
        if self.last is not None:
            moving = self.moving(self.last, now)
            while True:  # procedure A
                next_sets = self.once(self.sets, moving)
                wider = [a | b for a, b in zip(self.sets, next_sets, strict=True)]
                if wider == self.sets:
                    break
                self.sets = wider
        while True:  # procedure B
            narrower = self.once(self.sets, now)
            if narrower == self.sets:
                break
            self.sets = narrower
        if all(one in _SINGLE for one in self.sets):
            return ()
        names = [net.name for net in self.netlist.nets]
        unknown = tuple(n for n, one in zip(names, self.sets, strict=True) if one not in _SINGLE)
        self.sets = self.choose(now, chosen)
        return unknown

    def choose(self, now: Inputs, chosen: Levels | None) -> list[int]:
        """A stable value of what is unknown: the chosen one, if one is given."""
        narrowed = self.sets if chosen is None else self.agreeing(self.sets, now, chosen)
        stable = self.stable(narrowed, now)
        if chosen is None and self.random is not None:
            every = list(islice(stable, MAX_STABLE))
            stable = iter(self.random.sample(every, len(every)))
        first = next(stable, None)
        if first is not None:
            self.ambiguous |= chosen is not None and next(stable, None) is not None
            return first
        if next(self.stable(self.sets, now), None) is None:
            raise NeverQuiet("a loop has no stable value")
        raise NotStable("the chosen levels of a loop are not stable")

    def agreeing(self, sets: list[int], now: Inputs, chosen: Levels) -> list[int]:
        """What is left of the sets if the nets have these levels."""
        return [
            sum(
                part
                for part in _SINGLE
                if one & part and self.level(part, now.free[net.name]) == chosen[net.name]
            )
            if one not in _SINGLE
            else one
            for one, net in zip(sets, self.netlist.nets, strict=True)
        ]

    def stable(self, sets: list[int], now: Inputs) -> Iterator[list[int]]:
        """All stable values within the sets. Raises `TooTangled` after many splits."""
        stack, splits = [sets], 0
        while stack:
            here = self.closed(stack.pop(), now)
            if here is None:
                continue
            if all(one in _SINGLE for one in here):
                yield here
                continue
            splits += 1
            if splits > MAX_SPLITS:
                raise TooTangled(f"more than {MAX_SPLITS} cases")
            stack.extend(self.split(here, now))

    def closed(self, here: list[int], now: Inputs) -> list[int] | None:
        """Less and less until nothing more follows; None if some net has nothing left."""
        while 0 not in here:
            closer = [a & b for a, b in zip(here, self.once(here, now), strict=True)]
            if closer == here:
                return here
            here = closer
        return None

    def split(self, here: list[int], now: Inputs) -> list[list[int]]:
        """Cases by the net that settles most of the others, so that few splits are needed."""
        best: list[list[int]] = []
        fewest = None
        for place, one in enumerate(here):
            if one in _SINGLE:
                continue
            cases = []
            for part in _SINGLE:
                if one & part:
                    case = self.closed([*here[:place], part, *here[place + 1 :]], now)
                    if case is not None:
                        cases.append(case)
            left = sum(1 for case in cases for found in case if found not in _SINGLE)
            if len(cases) < 2:
                return cases
            if fewest is None or left < fewest:
                best, fewest = cases, left
        return best

    def once(self, sets: list[int], now: Inputs) -> list[int]:
        """The nets once all gates have looked at these."""
        driving: dict[str, tuple[int, int]] = {}
        switches: dict[tuple[str, int], int] = {}
        for part in self.chips:
            inside = self.inside(part, self.reads(part, sets, now), now)
            outputs = driven(inside)
            for number, switch in enumerate(part.type.switches):
                switches[part.name, number] = Reader(inside).truth(switch.when.expr)
            for pin in part.pins:
                if pin.name in outputs:
                    driving[pin.label] = outputs[pin.name]
        for control in self.netlist.controls:
            bits = now.controls[control.name]
            if control.kind == "oscillator":
                for pin in self.parts[control.name].pins:
                    if pin.kind is PinKind.OUT:
                        driving[pin.label] = (bits[0], 1)
            elif control.name in self.from_ports:
                driving |= {f"{control.name}:{n}": (bit, 1) for n, bit in enumerate(bits)}
            elif control.kind == "both":
                driving |= {f"{control.name}:{n}": (b, bits[0]) for n, b in enumerate(bits[1:])}
        return self.wires.nets(driving, now.controls, switches)

    def inside(self, part: Part, levels: Mapping[str, int], now: Inputs) -> Inside:
        def fetch(memory: str, address: int) -> Word:
            unit = next(unit for unit in part.type.memories if unit.name == memory)
            word = to_word(self.memories[(part.name, memory)].get(address, 0), unit.bits)
            mask = now.moving_words.get((part.name, memory, address), 0)
            return tuple(X if mask >> place & 1 else bit for place, bit in enumerate(word))

        return Inside(part.type, levels, now.stored[part.name], fetch)

    def reads(self, part: Part, sets: list[int], now: Inputs) -> dict[str, int]:
        """The level at each pin that the part looks at, by pin name; X if it is not known."""
        found = {}
        for name, label in self.pins[part.name]:
            net = self.all_pins[label].net
            if net is not None:
                found[name] = self.level(sets[net], now.free[label])
            elif part.family is not None and part.family.bipolar:
                found[name] = 1  # connected to nothing
            elif any(pin.pulled_up for pin in part.type.pins if pin.name == name):
                found[name] = 1  # a resistor inside
            else:
                found[name] = now.free[label]
        return found

    def level(self, one: int, free: int) -> int:
        """What somebody reads whose free level is given."""
        if one == ANY or (one & ANY and self.wires.narrow):
            one = one & ~ANY | as_set(free)
        return _LEVEL.get(one, X)

    def levels(self, sets: list[int], now: Inputs) -> dict[str, int]:
        return {
            net.name: self.level(one, now.free[net.name])
            for net, one in zip(self.netlist.nets, sets, strict=True)
        }

    def moving(self, old: Inputs, new: Inputs) -> Inputs:
        """The inputs of procedure A: what changed is unknown."""

        def mixed(a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
            return tuple(x if x == y else X for x, y in zip(a, b, strict=True))

        return Inputs(
            {name: mixed(bits, new.controls[name]) for name, bits in old.controls.items()},
            {
                part: {name: mixed(word, new.stored[part][name]) for name, word in units.items()}
                for part, units in old.stored.items()
            },
            {name: (b if b == new.free[name] else X) for name, b in old.free.items()},
            self.rewritten,
        )
