"""What hangs on an output: inputs, pull resistors and lamps, each with its current.

A resistor network is seen from the net as one source behind one resistor, branch by branch. Left
out: what is behind a diode or a contact beyond a resistor, and branches that end at another output.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from breadproof.specs.catalogue.pinlimits import Limits
from breadproof.specs.netlist.drive import Path
from breadproof.specs.netlist.loads import asked_by
from breadproof.specs.netlist.model import Closing, Lamp, Net, Part, Pin
from breadproof.specs.netlist.ways import Ways
from breadproof.verify.wiring.survey import Survey

LED_VOLTS = 2.0
"""What an LED drops (trade numbers)."""
_DEEPEST = 4
"""Elements in a row that a branch is followed through."""

Level = Callable[[Net], float | None]
"""The volts that a net is held at; None: not known, or it is not held."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A way from a net through a resistor or a lamp: ``volts`` behind ``ohms``.

    ``parts`` are its resistors, the nearest first; ``lamps`` what it lights, none for a pull.
    """

    volts: float
    ohms: float
    parts: tuple[str, ...] = ()
    lamps: tuple[Lamp, ...] = ()

    def current(self, volts: float, *, up: bool) -> float:
        """Amperes that the net loses while high (``up``), or gains while low, at ``volts``.

        Negative where the branch helps; a lamp does not.
        """
        through = (volts - self.volts if up else self.volts - volts) / self.ohms
        return max(0.0, through) if self.lamps else through


@dataclass(frozen=True, slots=True)
class _Edge:
    other: int
    ohms: float
    part: str
    lamp: Lamp | None = None
    anode: bool = False
    """Whether the lamp's anode is on this side."""


class Hanging:
    """What hangs on the nets of a board, looked up as it is asked for."""

    def __init__(self, survey: Survey) -> None:
        """Note what joins what."""
        self.survey = survey
        netlist = survey.netlist
        self.edges: dict[int, list[_Edge]] = {}
        self.links: dict[int, list[int]] = {}
        for resistor in netlist.resistors:
            if resistor.ohms:
                self._edge(resistor.a, _Edge(resistor.b, resistor.ohms, resistor.part))
                self._edge(resistor.b, _Edge(resistor.a, resistor.ohms, resistor.part))
        for lamp in netlist.lamps:
            self._edge(lamp.anode, _Edge(lamp.cathode, 0.0, "", lamp, anode=True))
            self._edge(lamp.cathode, _Edge(lamp.anode, 0.0, "", lamp))
        for link in netlist.links:
            self.links.setdefault(link.a, []).append(link.b)
            self.links.setdefault(link.b, []).append(link.a)
        self.apart = Ways(netlist).apart if netlist.contacts else frozenset()
        self._asked: dict[tuple[str, str, bool, str], tuple[float, float]] = {}
        self._loads: dict[int, tuple[tuple[Pin, float, float], ...]] = {}

    def _edge(self, net: int, edge: _Edge) -> None:
        self.edges.setdefault(net, []).append(edge)

    def linked(self, net: int) -> tuple[int, ...]:
        """A net and those that are one with it for good."""
        found = [net]
        for here in found:
            found += [other for other in self.links.get(here, ()) if other not in found]
        return tuple(found)

    def joined(self, net: int, weight: Callable[[int], float]) -> tuple[int, ...]:
        """Nets that contacts can join to a net all at once: the heaviest first, those that are
        never closed together with what is chosen left out."""
        nets = self.survey.netlist.nets
        own = self.linked(net)
        chosen: list[int] = []
        closed: set[Closing] = set()
        offered = sorted(self.survey.plans[net].joined, key=lambda one: (-weight(one[0]), one[0]))
        for end, paths in offered:
            if end in own or nets[end].rail is not None or self.survey.always_driven(nets[end]):
                continue
            path = next((path for path in paths if self._together(closed, path)), None)
            if path is not None:
                chosen.append(end)
                closed.update(path)
        return tuple(chosen)

    def _together(self, closed: set[Closing], path: Path) -> bool:
        return not any(frozenset((a, b)) in self.apart for a in closed for b in path)

    def loads(self, net: int) -> tuple[tuple[Pin, float, float], ...]:
        """The pins on a net that ask something of who drives it: amperes while low, while high."""
        if net not in self._loads:
            found: list[tuple[Pin, float, float]] = []
            for pin in self.survey.netlist.nets[net].pins:
                part = self.survey.part(pin)
                limits = part.limits
                if limits is not None and (pin.kind.reads or pin.kind.drives):
                    low, high = self._asked_by(part, limits, pin)
                    if low or high:
                        found.append((pin, low, high))
            self._loads[net] = tuple(found)
        return self._loads[net]

    def _asked_by(self, part: Part, limits: Limits, pin: Pin) -> tuple[float, float]:
        key = (part.type.key, limits.family.name, limits.family.military, pin.name)
        if key not in self._asked:
            self._asked[key] = asked_by(limits, pin)
        return self._asked[key]

    def branches(self, nets: tuple[int, ...], level: Level, *, up: bool) -> list[Branch]:
        """The branches from nets that are one; ``up``: the nets are high, lamps light to ground.

        ``level`` tells what a branch ends at. A branch of no resistance is left out
        (led-no-resistor tells it).
        """
        walk = _Walk(self, level, up)
        found = (
            walk.along(edge, frozenset(nets), 1)
            for net in nets
            for edge in self.edges.get(net, ())
            if edge.other not in nets
        )
        return [branch for branch in found if branch is not None and branch.ohms]


@dataclass(frozen=True, slots=True)
class _Walk:
    """Branches followed, `_DEEPEST` elements at most: so the recursion is bounded."""

    hanging: Hanging
    level: Level
    up: bool

    def along(self, edge: _Edge, seen: frozenset[int], deep: int) -> Branch | None:
        if edge.lamp is not None and edge.anode != self.up:
            return None
        end = self.end(edge.other, seen, deep)
        if end is None:
            return None
        if edge.lamp is not None:
            drop = LED_VOLTS if self.up else -LED_VOLTS
            return replace(end, volts=end.volts + drop, lamps=(edge.lamp, *end.lamps))
        return replace(end, ohms=end.ohms + edge.ohms, parts=(edge.part, *end.parts))

    def end(self, net: int, seen: frozenset[int], deep: int) -> Branch | None:
        survey = self.hanging.survey
        here = self.hanging.linked(net)
        for one in here:
            held = self.level(survey.netlist.nets[one])
            if held is not None:
                return Branch(volts=held, ohms=0.0)
        if deep >= _DEEPEST or any(survey.plans[one].drivers for one in here):
            return None
        further = (
            self.along(edge, seen.union(here), deep + 1)
            for one in here
            for edge in self.hanging.edges.get(one, ())
            if edge.other not in seen
        )
        return parallel([branch for branch in further if branch is not None])


def parallel(branches: list[Branch]) -> Branch | None:
    """Branches from one net as one; one of no resistance is alone. None: there are none."""
    stiff = next((branch for branch in branches if not branch.ohms), None)
    if stiff is not None or not branches:
        return stiff
    siemens = sum(1.0 / branch.ohms for branch in branches)
    return Branch(
        volts=sum(branch.volts / branch.ohms for branch in branches) / siemens,
        ohms=1.0 / siemens,
        parts=tuple(dict.fromkeys(part for branch in branches for part in branch.parts)),
        lamps=tuple(dict.fromkeys(lamp for branch in branches for lamp in branch.lamps)),
    )
