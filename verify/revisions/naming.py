"""What a name in a formula of the old board is called on the new one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from breadproof.specs.netlist.model import NetlistNames, Part
from breadproof.verify.revisions.matching import Matching

_DIGITS = re.compile(r"\d+")


@dataclass(slots=True)
class Renaming:
    """Call it with a path as formulas have it: ``sel``, ``U3.Y1``, ``U3.R``."""

    matching: Matching
    old: NetlistNames = field(init=False)
    new: NetlistNames = field(init=False)

    def __post_init__(self) -> None:
        self.old = NetlistNames(self.matching.old)
        self.new = NetlistNames(self.matching.new)

    def __call__(self, path: str) -> str:
        """The path on the new board; one that means nothing there may come back as it is."""
        head, dot, rest = path.partition(".")
        part = self.old.parts.get(head)
        if part is not None:
            name = self.matching.parts.get(head, head)
            other = self.new.parts.get(name)
            if not dot or other is None:
                return f"{name}{dot}{rest}"
            return f"{name}.{self.inside(part, other, rest)}"
        return self.net(path)

    def inside(self, part: Part, other: Part, rest: str) -> str:
        """A pin, or storage, of a part: gates may have changed places."""
        pin = part.pin(rest)
        if pin is not None:
            label = self.matching.pins.get(pin.label, "")
            found = other.pin(label.removeprefix(f"{other.name}."))
            if found is None:
                return rest
            return found.name if rest == pin.name and found.name else found.number
        numbers = self.gate_numbers(part, other)
        return _DIGITS.sub(lambda m: numbers.get(m[0], m[0]), rest)

    def gate_numbers(self, part: Part, other: Part) -> Mapping[str, str]:
        """The number that names of each gate have, and have now: ``1`` to ``2`` where Q1 is Q2."""
        found: dict[str, str] = {}
        for pin in part.pins:
            label = self.matching.pins.get(pin.label, "")
            now = other.pin(label.removeprefix(f"{other.name}."))
            if now is None or not pin.kind.drives or now.name == pin.name:
                continue
            before, after = _DIGITS.findall(pin.name), _DIGITS.findall(now.name)
            found |= {a: b for a, b in zip(before, after, strict=False) if a != b}
        return found

    def net(self, path: str) -> str:
        """A net or a vector; what is on no net of the new board keeps its name."""
        nets = self.old.nets_of(path)
        if nets is None:
            return path
        now = tuple(self.matching.nets.get(net, -1) for net in nets)
        if self.new.nets_of(path) == now:
            return path
        if len(now) == 1 and path not in self.old.vectors:
            names = {net.index: net.name for net in self.matching.new.nets}
            return names.get(now[0], path)
        vectors = [v.name for v in self.matching.new.vectors if v.nets == now]
        return vectors[0] if vectors else path
