"""The chain of chips from what was moved to the pin that suffers, read off a run backwards."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Literal, assert_never

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.drive import Driver, NetPlan, plan_drives
from breadproof.specs.netlist.model import ChipSwitch, Closing, ControlBit, Pin
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.once import once
from breadproof.verify.report.insides import Insides
from breadproof.verify.report.replay import FLOAT, Replay


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A net, or the drive of one output pin (``pin``), in a round of the run."""

    net: int
    at: int
    pin: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What made a spot so: through which pins, and where it came from.

    ``into`` is the input that passed it on and ``out`` the output that put it on the net (labels;
    "" if it came through no chip). ``source`` is the spot before, or None at the beginning, which
    ``start`` names: a control, or what a chip holds since power-up.
    """

    spot: Spot
    into: str = ""
    out: str = ""
    source: Spot | None = None
    start: str = ""
    kind: Literal["control", "content", "float", "rail", "always", "pass"] = "pass"


ORDER = ("float", "control", "content", "rail", "always")
"""Which beginnings are told: an open input that decides anything is what to hear of first."""

Chain = tuple[Link, ...]
"""Links in order, from the control to the culprit."""


@once
def _plans(machine: Machine) -> tuple[NetPlan, ...]:
    return plan_drives(machine.netlist, Problems())


class Tracer:
    """Finds chains in one run of one board."""

    def __init__(self, run: Replay) -> None:
        """Plan the nets of the run's board."""
        self.run = run
        self.machine = run.machine
        self.netlist = run.machine.netlist
        self.plans = _plans(run.machine)
        self.pins = {pin.label: pin for pin in self.netlist.pins()}
        self.stores = {store.label: store.leaf for store in self.machine.stores}
        self._insides: dict[str, Insides] = {}

    def insides(self, part_name: str) -> Insides:
        """The insides of a chip, built once."""
        if part_name not in self._insides:
            part = self.netlist.part(part_name)
            if part is None:
                raise AssertionError(f"a pin of no part: {part_name}")
            self._insides[part_name] = Insides(part)
        return self._insides[part_name]

    # where to begin ---------------------------------------------------------------------------

    def last_move(self, net: int, until: int) -> int:
        """The last round up to ``until`` in which a net moved; 0 if it never did."""
        return next((at for at in range(until, 0, -1) if self.run.moved(net, at)), 0)

    def drive_move(self, label: str, until: int) -> int:
        """The last round in which an output began or ended to drive; 0 if it never did."""
        when = self.machine.drives[label].when
        level = self.run.level
        return next((at for at in range(until, 0, -1) if level(when, at) != level(when, at - 1)), 0)

    def to_net(self, net: int, until: int) -> Chain:
        """The chain to the last move of a net."""
        return self.walk(Spot(net=net, at=self.last_move(net, until)))

    def to_drive(self, pin: Pin, until: int) -> Chain:
        """The chain to what makes an output drive."""
        if pin.net is None:
            return ()
        return self.walk(Spot(net=pin.net, at=self.drive_move(pin.label, until), pin=pin.label))

    def to_pulse(self, net: int, at: int) -> list[Chain]:
        """Up to two chains to a pulse: where ways meet that move against each other, both."""
        spot, tail = Spot(net=net, at=at), tuple[Link, ...]()
        links = self.links(spot, pulsing=True)
        seen = {spot}
        while len(links) == 1 and links[0].source is not None and links[0].source not in seen:
            seen.add(links[0].source)
            tail = (links[0], *tail)
            links = self.links(links[0].source, pulsing=True)
        if len(links) == 1 or not links:
            return [(*links, *tail)] if links or tail else []
        return [(*self._search([(link, (link,))], True), *tail) for link in links[:2]]

    def to_hazard(self, net: int, at: int) -> list[Chain]:
        """Up to two chains to a pulse that starts where ways meet that move against each other, or
        where a chip or a net makes one of its own: the ways to that place, and on from there."""
        spot, tail = Spot(net=net, at=at), tuple[Link, ...]()
        seen = {spot}
        while True:
            links = self.links(spot, pulsing=True)
            on = [one for one in links if self.passes_pulse(one) and one.source not in seen]
            if not on or on[0].source is None:
                break
            spot, tail = on[0].source, (on[0], *tail)
            seen.add(spot)
        found = [(*self._search([(link, (link,))], True), *tail) for link in links[:2]]
        return found or ([tail] if tail else [])

    def passes_pulse(self, link: Link) -> bool:
        """Whether a pulse came to a chip on the way of a link, and was not made there."""
        source = link.source
        if source is None or source.at != link.spot.at:
            return False
        return self.run.pulses(self.machine.nets[source.net].level, source.at)

    # backwards --------------------------------------------------------------------------------

    def walk(self, spot: Spot) -> Chain:
        """The shortest way back from a spot to an open input, a control, content or a supply."""
        return self._search([(link, (link,)) for link in self.links(spot)], False)

    def _search(self, start: list[tuple[Link, Chain]], pulsing: bool) -> Chain:
        queue = deque(start)
        seen = {link.source for link, _ in start}
        ends: dict[str, Chain] = {}
        deepest: Chain = ()
        while queue:
            link, chain = queue.popleft()
            if len(chain) > len(deepest):
                deepest = chain
            if link.source is None:
                ends.setdefault(link.kind, chain)
                continue
            for further in self.links(link.source, pulsing=pulsing):
                if further.source is None or further.source not in seen:
                    seen.add(further.source)
                    queue.append((further, (further, *chain)))
        found = (ends[kind] for kind in ORDER if kind in ends)
        return next(found, deepest)

    def links(self, spot: Spot, *, pulsing: bool = False) -> list[Link]:
        """All that made a spot so."""
        if spot.pin:
            return self.through_chip(spot, self.pins[spot.pin], pulsing, enable_only=True)
        plan = self.plans[spot.net]
        found: list[Link] = []
        if self.netlist.nets[spot.net].rail is not None:
            return [self.start(spot, self.netlist.nets[spot.net].name, "rail")]
        # Where one output lets go and another takes over, the level is that of the latter.
        drivers = sorted(plan.drivers, key=lambda one: not pulsing and self.silent(one, spot.at))
        for driver in drivers:
            found += self.through_contacts(spot, [c for path in driver.paths for c in path])
            if self.reaches(driver, spot.at):
                found += self.from_driver(spot, driver, pulsing)
        for pull in plan.pulls:
            found += self.through_contacts(spot, list(pull.closed))
            for net in (pull.end, *pull.through):
                if self.matters(net, spot.at):
                    source = Spot(net=net, at=spot.at)
                    found.append(Link(spot=spot, into=pull.parts[0], source=source))
        return found

    def silent(self, driver: Driver, at: int) -> bool:
        """Whether a driver is an output that does not drive."""
        if driver.pin is None or driver.pin.label not in self.machine.drives:
            return False
        return not self.run.level(self.machine.drives[driver.pin.label].when, at)

    def matters(self, net: int, at: int) -> bool:
        """Whether a net can be why another is so: it moved; at power-up, always."""
        return at == 0 or self.run.moved(net, at)

    def start(
        self, spot: Spot, what: str, kind: Literal["control", "content", "float", "rail"]
    ) -> Link:
        """The link with which a chain begins."""
        return Link(spot=spot, start=what, kind=kind)

    def through_contacts(self, spot: Spot, path: list[Closing]) -> list[Link]:
        """What closes contacts on the way, and moved: controls, and inputs of analogue switches.

        At power-up those that are closed; if the net floats, all of them.
        """
        floats = spot.at == 0 and self.run.net(spot.net, 0) == FLOAT
        found: list[Link] = []
        for closing in dict.fromkeys(path):
            if not (floats or self.moved_contact(closing, spot.at)):
                continue
            match closing:
                case ControlBit():
                    found.append(self.start(spot, closing.control, "control"))
                case ChipSwitch() if finger := finger_of(closing.part):
                    found.append(self.start(spot, finger, "control"))
                case ChipSwitch():
                    found += self.through_switch(spot, closing)
                case _:
                    assert_never(closing)
        return found

    def moved_contact(self, closing: Closing, at: int) -> bool:
        """Whether a contact opened or closed; at power-up, whether it is closed."""
        node = self.machine.closed(closing)
        if at == 0:
            return bool(self.run.level(node, 0))
        return self.run.level(node, at) != self.run.level(node, at - 1)

    def through_switch(self, spot: Spot, closing: ChipSwitch) -> list[Link]:
        """The inputs of a chip that open or close one of its switches; ``out`` is its first pin."""
        inside = self.insides(closing.part)
        roots = [inside.built.switches[closing]]
        joins = inside.part.type.switches[closing.number].joins
        out = f"{closing.part}.{self.number(closing.part, joins[0])}"
        return [
            self.by_pin(spot, f"{closing.part}.{self.number(closing.part, name)}", out)
            for name in self.deciding(inside, roots, spot.at, False)
            if "[" not in name
        ]

    def reaches(self, driver: Driver, at: int) -> bool:
        """Whether a way from a driver is closed now, or was a round before."""
        rounds = {at, max(0, at - 1)}
        return any(
            all(self.run.level(self.machine.closed(closing), k) for closing in path)
            for path in driver.paths
            for k in rounds
        )

    def control_moved(self, control: str, bit: int, at: int) -> bool:
        """Whether a bit of a control changed; at power-up, whether it is on."""
        node = self.machine.controls[control][bit]
        if at == 0:
            return bool(self.run.level(node, 0))
        return self.run.level(node, at) != self.run.level(node, at - 1)

    def from_driver(self, spot: Spot, driver: Driver, pulsing: bool) -> list[Link]:
        """The links that one driver of a net gives."""
        match driver.kind:
            case "outside":
                bits = {driver.bit} if driver.always else {0, driver.bit + 1}
                moved = any(self.control_moved(driver.port, bit, spot.at) for bit in bits)
                if spot.at == 0:
                    outside = self.machine.controls[driver.port][0]
                    lets_go = not driver.always and not self.run.level(outside, 0)
                    moved = not lets_go or self.run.net(spot.net, 0) == FLOAT
                return [self.start(spot, driver.port, "control")] if moved else []
            case "rail":
                still = spot.at == 0 and driver.net != spot.net
                name = self.netlist.nets[driver.net].name
                return [self.start(spot, name, "rail")] if still else []
            case "pin":
                if driver.pin is None:
                    raise AssertionError("a pin driver without a pin")
                return self.through_chip(spot, driver.pin, pulsing)

    def through_chip(
        self, spot: Spot, pin: Pin, pulsing: bool, *, enable_only: bool = False
    ) -> list[Link]:
        """The inputs and the content of a chip that make an output so."""
        if self.netlist.part(pin.part) is None or pin.label not in self.machine.drives:
            return []
        part = self.netlist.part(pin.part)
        if part is not None and part.device in ("oscillator", "crystal"):
            moved = self.control_moved(pin.part, 0, spot.at) or spot.at == 0
            return [self.start(spot, pin.part, "control")] if moved else []
        if not (pulsing or enable_only or self.output_moved(pin.label, spot.at)):
            return []
        if spot.at == 0 and not enable_only and not self.speaks(pin.label, spot.net):
            return []
        inside = self.insides(pin.part)
        # Where it began or ended to drive, or is off, what it would drive is not the story.
        switched = not pulsing and self.drive_move(pin.label, spot.at) == spot.at > 0
        if spot.at == 0:
            switched = not self.run.level(self.machine.drives[pin.label].when, 0)
        roots = inside.output(pin.label, enable_only=enable_only or switched)
        support = inside.support(roots)
        found = [
            self.by_pin(spot, f"{pin.part}.{self.number(pin.part, name)}", pin.label)
            for name in self.deciding(inside, roots, spot.at, pulsing)
            if "[" not in name
        ]
        stores = self.content(inside, roots, support.stores, spot.at)
        if stores or (support.reads and spot.at > 0 and not found):
            found += self.by_content(spot, inside, stores, pin.label, support.reads)
        if enable_only and not found:
            found.append(Link(spot=spot, out=pin.label, start=pin.label, kind="always"))
        return found

    def speaks(self, label: str, net: int) -> bool:
        """Whether an output says anything about a net at power-up: it drives, or nobody does."""
        return bool(self.run.level(self.machine.drives[label].when, 0)) or (
            self.run.net(net, 0) == FLOAT
        )

    def output_moved(self, label: str, at: int) -> bool:
        """Whether an output drives otherwise than in the round before; at power-up, always."""
        drive, level = self.machine.drives[label], self.run.level
        return at == 0 or any(level(n, at) != level(n, at - 1) for n in (drive.when, drive.level))

    def number(self, part: str, name: str) -> str:
        """The number of the pin of that name."""
        return next(p.number for p in self.insides(part).part.pins if p.name == name)

    def levels_in(
        self, inside: Insides, at: int
    ) -> tuple[dict[str, int], dict[str, int], dict[str, int]]:
        """Levels of a chip's reading pins, their nodes, and levels of its storage in a round."""
        nodes = {
            pin.name: self.machine.pins[pin.label].level
            for pin in inside.part.pins
            if pin.label in self.machine.pins
        }
        pins = {name: self.run.level(node, at) for name, node in nodes.items()}
        mine = f"{inside.part.name}."
        stores = {
            label: self.run.level(leaf, at)
            for label, leaf in self.stores.items()
            if label.startswith(mine)
        }
        return pins, nodes, stores

    def deciding(self, inside: Insides, roots: list[int], at: int, pulsing: bool) -> list[str]:
        """The input pins (by name) that make nodes so."""
        support = inside.support(roots)
        pins, nodes, stores = self.levels_in(inside, at)
        if at == 0:
            other = {name: 1 - pins[name] for name in support.pins}
            return inside.deciding(roots, (pins, stores), other, list(support.pins))
        if pulsing:
            return [name for name in support.pins if self.run.swings(nodes[name], at)]
        other = {name: self.run.level(node, at - 1) for name, node in nodes.items()}
        moved = [name for name in support.pins if other[name] != pins[name]]
        return inside.deciding(roots, (pins, stores), other, moved)

    def content(
        self, inside: Insides, roots: list[int], stores: tuple[str, ...], at: int
    ) -> tuple[str, ...]:
        """The storage bits that make nodes so: those that changed, at power-up those that tell."""
        if not stores:
            return ()
        pins, _, held = self.levels_in(inside, at)
        if at == 0:
            other = {label: 1 - held[label] for label in stores}
            return tuple(inside.deciding(roots, (pins, held), other, list(stores)))
        return tuple(
            label for label in stores if self.run.level(self.stores[label], at - 1) != held[label]
        )

    def by_pin(self, spot: Spot, into: str, out: str) -> Link:
        """A link through one input; an open input begins the chain."""
        pin = self.pins[into]
        if pin.net is None:
            return Link(spot=spot, into=into, out=out, start=into, kind="float")
        floats = self.run.net(pin.net, spot.at) == FLOAT
        # What floats may be read another way without any move: the story is why it floats.
        at = self.last_move(pin.net, spot.at) if floats else spot.at
        return Link(spot=spot, into=into, out=out, source=Spot(net=pin.net, at=at))

    def by_content(
        self, spot: Spot, inside: Insides, stores: tuple[str, ...], out: str, reads: bool
    ) -> list[Link]:
        """Links through storage: to the clock or level that changed it in the round before."""
        if spot.at == 0:
            what = ", ".join(stores)
            return [Link(spot=spot, out=out, start=what, kind="content")]
        before = spot.at - 1
        support = inside.triggers(stores)
        names = [*support.pins, *(inside.writing().pins if reads else ())]
        found: list[Link] = []
        for name in dict.fromkeys(names):
            pin = self.pins[f"{inside.part.name}.{self.number(inside.part.name, name)}"]
            if pin.net is not None and before > 0 and self.run.moved(pin.net, before):
                source = Spot(net=pin.net, at=before)
                found.append(Link(spot=spot, into=pin.label, out=out, source=source))
        if not found and stores and self.run.instants[spot.at].step == 0:
            found.append(Link(spot=spot, out=out, start=", ".join(stores), kind="content"))
        return found
