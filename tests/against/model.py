"""What a chip with storage does, as a small Python model, and the run that compares the two.

In a run one input changes at a time, in every lane another one, so that no order of events is left
open: what the data book says of it, and nothing else, decides. A model starts knowing nothing of
its content; what it does not know is not compared, and what it never knew makes the run fail.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random
from typing import ClassVar

from tests.against.chips import Board, Judge, Shown, driving, machine, part_of, reading

Bit = int | None
"""A level, or None: not known."""


class Pins:
    """Levels of a chip's inputs in one lane, now and before the last change. An input that nobody
    drives reads None."""

    def __init__(self, levels: dict[str, Bit]) -> None:
        self.now = levels
        self.before = dict(levels)

    def __getitem__(self, pin: str) -> Bit:
        return self.now[pin]

    def __str__(self) -> str:
        return f"{self.now}, before {self.before}"

    def high(self, *pins: str) -> bool:
        """All are high."""
        return all(self.now[pin] == 1 for pin in pins)

    def low(self, *pins: str) -> bool:
        """All are low."""
        return all(self.now[pin] == 0 for pin in pins)

    def rose(self, pin: str) -> bool:
        """The last change was this pin's, to high."""
        return self.before[pin] == 0 and self.now[pin] == 1

    def fell(self, pin: str) -> bool:
        """The last change was this pin's, to low."""
        return self.before[pin] == 1 and self.now[pin] == 0

    def bits(self, names: Iterable[str]) -> list[Bit]:
        """The levels of pins."""
        return [self.now[name] for name in names]


class Model:
    """A chip. `step` is called after every change (first when nothing has changed yet)."""

    seldom: ClassVar[dict[str, int]] = {}
    """Inputs that would stop everything else at this level; they are seldom there."""
    clocks: ClassVar[tuple[str, ...]] = ("CLK",)
    """Inputs that change often."""
    never: ClassVar[tuple[tuple[str, Shown], ...]] = ()
    """What a run cannot show."""
    few: ClassVar[tuple[str, ...]] = ()
    """Address pins, of which a lane moves three only, so that it comes back to its words."""

    def may_begin(self, p: Pins) -> bool:
        """Whether the data book says what the chip does at first, with these pins."""
        return True

    def may_move(self, p: Pins, pin: str) -> bool:
        """Whether the data book allows a change now."""
        return True

    def step(self, p: Pins) -> None:
        """Take note of a change."""

    def shows(self, p: Pins) -> dict[str, Shown]:
        """What each output shows."""
        raise AssertionError("every model shows something")


def number(bits: Sequence[Bit]) -> int | None:
    """The number of bits, the first one least significant; None if any is unknown."""
    found = 0
    for place, bit in enumerate(bits):
        if bit is None:
            return None
        found |= bit << place
    return found


def bits(value: int | None, count: int) -> list[Bit]:
    """A number's bits, least significant first."""
    return [None if value is None else value >> place & 1 for place in range(count)]


def flip(level: Bit) -> Bit:
    """The other level."""
    return None if level is None else 1 - level


def shown(names: Iterable[str], levels: Iterable[Bit], *, on: bool = True) -> dict[str, Shown]:
    """Levels on pins; nothing on them unless ``on``."""
    return {name: level if on else "Z" for name, level in zip(names, levels, strict=True)}


class Lane:
    """One lane of a run: its model, its pins, and what is put on pins that work both ways."""

    def __init__(self, model: Model, inputs: Sequence[str], both: set[str], dice: Random) -> None:
        self.model = model
        self.dice = dice
        self.both = both
        self.wish: dict[str, Bit] = {name: dice.getrandbits(1) for name in inputs}
        while not model.may_begin(Pins(self.wish)):
            self.wish = {name: dice.getrandbits(1) for name in inputs}
        moving = dice.sample(model.few, 3) if model.few else ()
        still = {name for name in model.few if name not in moving}
        self.moving = [name for name in inputs if name not in still]
        self.pins = Pins(dict(self.wish))

    def weight(self, name: str) -> float:
        """How often an input is to move from where it is."""
        if not self.model.may_move(self.pins, name):
            return 0
        if name in self.model.seldom:
            return 0.15 if self.wish[name] != self.model.seldom[name] else 8
        return max(2, len(self.moving) / 4) if name in self.model.clocks else 1

    def move(self) -> None:
        """Change one input."""
        weights = [self.weight(name) for name in self.moving]
        name = self.dice.choices(self.moving, weights)[0] if any(weights) else ""
        self.pins.before = dict(self.pins.now)
        if name in self.both:
            self.wish[name] = self.dice.choice((0, 0, 0, 0, 1, 1, 1, 1, None))
        elif name:
            self.wish[name] = flip(self.wish[name])
        self.pins.now = dict(self.wish)

    def settle(self) -> dict[str, Shown]:
        """Let the model follow; nobody drives against the chip."""
        self.model.step(self.pins)
        levels = self.model.shows(self.pins)
        for name in self.both:
            if levels[name] != "Z":
                self.pins.now[name] = None
        return levels


def follow(part_number: str, make: type[Model], lanes: int, steps: int, seed: int) -> None:
    """Run a chip and its model side by side.

    Raises:
        AssertionError: an output shows something else, or was never seen at one of its levels.
    """
    part = part_of(part_number)
    inputs = reading(part)
    both = {pin.name for pin in part.pins if pin.kind.both_ways}
    dice = Random(f"{part_number} {seed}")
    board = Board(machine({"U1": part_number}), lanes, f"{part_number} {seed}")
    copies = [Lane(make(), inputs, both, dice) for _ in range(lanes)]
    judge = Judge(board, part)
    outputs = driving(part)
    for step in range(steps):
        wanted = []
        for lane in copies:
            if step:
                lane.move()
            wanted.append(lane.settle())
        for name in inputs:
            level = drives = 0
            for place, lane in enumerate(copies):
                here = lane.pins.now[name]
                if here is not None:
                    drives |= 1 << place
                    level |= here << place
            board.put(name, level, drives)
        board.run()
        assert all(set(levels) == set(outputs) for levels in wanted)
        judge.compare(wanted, [f"step {step}: {lane.pins}" for lane in copies])
    judge.everything(make.never)
