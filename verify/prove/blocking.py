"""Why something never happens: pins that always stand at one level, and what holds them there."""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.catalogue.part import Role
from breadproof.specs.netlist.model import Part, Pin
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.ends import constant, plain
from breadproof.verify.prove.engine import Engine
from breadproof.verify.prove.solver import Deadline

MAX_NAMED = 6
"""More pins than this are not named."""
HOLDING = (
    Role.CLOCK, Role.CLEAR, Role.PRESET, Role.LOAD, Role.LATCH, Role.ENABLE, Role.WRITE,
)  # fmt: skip
"""Pins that can keep a chip from doing anything."""


class Blocking:
    """Finds constant pins on one board; ``seconds`` for all questions together."""

    def __init__(self, engine: Engine, seconds: float) -> None:
        """``engine`` has its first moment and a step."""
        self.engine = engine
        self.machine = engine.machine
        self.deadline = Deadline(seconds)
        self.known: dict[str, int | None] = {}

    def level(self, label: str) -> int | None:
        """The level that a reading pin always has, if it has one and that is proved."""
        if label not in self.known:
            self.known[label] = self._level(label)
        return self.known[label]

    def _level(self, label: str) -> int | None:
        pin = self.machine.pins.get(label)
        if pin is None:
            return None
        if constant(pin.level):
            return pin.level
        rounds = [now for moment in self.engine.frames.moments[:2] for now in moment.rounds]
        levels = [now.levels[pin.level] for now in rounds]
        aig, ask = self.engine.frames.aig, self.engine.solver.check
        if ask([aig.or_(levels)], self.deadline.left) == "unsat":
            return 0
        if ask([aig.or_([level ^ 1 for level in levels])], self.deadline.left) == "unsat":
            return 1
        return None

    def told(self, pins: Sequence[str]) -> str:
        """``U7.21 (WE_n) is always high, ...``, from ``pins`` back to what holds them; or ""."""
        named: dict[str, int] = {}
        waiting = list(pins)
        seen: set[str] = set()
        while waiting and len(named) < MAX_NAMED:
            label = waiting.pop(0)
            level = None if label in seen else self.level(label)
            seen.add(label)
            if level is not None and self.holds_back(label, level):
                named[label] = level
                waiting += self.behind(label)
        texts = [
            f"{self._called(label)} is always {'high' if level == Aig.true else 'low'}"
            for label, level in named.items()
        ]
        return ", ".join(texts)

    def holds_back(self, label: str, level: int) -> bool:
        """Whether a pin at this level can keep anything from happening.

        Of enables and their like only the level at which they are off can, of clears and presets
        the one at which they are on; a name that ends in ``_n`` is that of a low active pin.
        """
        pin = self._pin(label)
        if pin is None or pin.role not in HOLDING or pin.role is Role.CLOCK:
            return True
        active = level == (0 if pin.name.endswith("_n") else 1)
        return active == (pin.role in (Role.CLEAR, Role.PRESET))

    def _called(self, label: str) -> str:
        pin = self._pin(label)
        return f"{label} ({pin.name})" if pin else label

    def _pin(self, label: str) -> Pin | None:
        part = self.machine.netlist.part(label.partition(".")[0])
        return part.pin(label.partition(".")[2]) if part else None

    def behind(self, label: str) -> list[str]:
        """Pins of the chips that drive a pin's net, which may hold it."""
        pin, netlist = self._pin(label), self.machine.netlist
        if pin is None or pin.net is None or netlist.nets[pin.net].rail is not None:
            return []
        drivers = [other for other in netlist.nets[pin.net].pins if other.kind.drives]
        found: list[str] = []
        for driver in drivers:
            part = netlist.part(driver.part)
            if part is not None and driver.label != label:
                found += self.holding(part, driver)
        return found

    def holding(self, part: Part, output: Pin) -> list[str]:
        """What can hold an output of a chip: of a gate its inputs, of storage its controls."""
        if part.type.storage or part.type.memories:
            return side_pins(part)
        drive = self.machine.drives.get(output.label)
        cone = set(self.machine.graph.cone([] if drive is None else [drive.level, drive.when]))
        return [
            pin.label
            for pin in part.pins
            if pin.kind.reads
            and pin.label in self.machine.pins
            and (
                plain(self.machine, self.machine.pins[pin.label].level) in cone
                or same_number(pin, output)
            )
        ]


def side_pins(part: Part) -> list[str]:
    """The pins that can keep a chip from doing anything."""
    return [pin.label for pin in part.pins if pin.kind.reads and pin.role in HOLDING]


def same_number(pin: Pin, output: Pin) -> bool:
    """Whether two pins' names end in the same number, as A3 and Y3 of one gate do."""
    digits = [name[len(name.rstrip("0123456789")) :] for name in (pin.name, output.name)]
    return digits[0] != "" and digits[0] == digits[1]
